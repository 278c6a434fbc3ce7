package backup_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"filippo.io/age"

	"lowtide/backup"
	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/seal"
)

// kept is an open sealed store with known content.
type kept struct {
	dir, path string
	s         *sqlite.Store
	keys      *seal.Keys
	book      casebook.Book
	id        *age.X25519Identity
	heads     map[string]string
}

func newKept(t testing.TB) *kept {
	t.Helper()
	ctx := context.Background()
	k := &kept{dir: t.TempDir(), heads: map[string]string{}}
	k.path = at(k.dir, "s.db")
	var err error
	if k.s, err = sqlite.Open(ctx, k.path); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { k.s.Close() })
	if k.keys, err = source(k.dir).Begin(ctx, k.s); err != nil {
		t.Fatal(err)
	}
	k.book = casebook.Book{Store: k.s, Sealer: k.keys}
	if k.id, err = age.GenerateX25519Identity(); err != nil {
		t.Fatal(err)
	}
	return k
}

func (k *kept) add(t testing.TB, caseID string, body casebook.Body, blobs ...string) {
	t.Helper()
	id, err := casebook.NewID(morning, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	e := casebook.Entry{ID: id, Case: caseID, Kind: body.Kind(), Version: casebook.Version(body.Kind()), At: morning, Recorded: morning, Author: "nurse Ingrid Tallow", Body: body, Blobs: blobs}
	if k.heads[caseID], err = k.book.Append(context.Background(), k.heads[caseID], e); err != nil {
		t.Fatal(err)
	}
}

func (k *kept) plan(withKey bool) backup.Plan {
	p := backup.Plan{Store: k.path, Recipients: []age.Recipient{k.id.Recipient()}}
	if withKey {
		key := k.keys.Key()
		p.Key = &key
	}
	return p
}

func (k *kept) ids() []age.Identity { return []age.Identity{k.id} }

// atHand opens with the key file beside the store.
func (k *kept) atHand(ctx context.Context, store casebook.KeyStore, key *seal.Key) (casebook.Sealer, error) {
	if key != nil {
		return seal.Open(ctx, store, *key, rand.Reader)
	}
	return source(k.dir).Unlock(ctx, store, false)
}

// secrets are what nobody without the key may find: a name, a number, an address, a telephone number, a note, an
// author, a reason, and the bytes of a photo.
var secrets = []string{"Cordelia Brightwater", "REC-774411", "12 Heron Quay", "0555 010 444", "granulating well, edges pink", "Ingrid Tallow",
	"the family has asked", "JFIF-of-a-wound-0123456789", "person.registered", "note.written"}

// TestNothingShows looks for them in every byte of every file that a store in use, a backup and a restore leave: the
// database, its WAL, the snapshot, the backup's part, the inbox.
func TestNothingShows(t *testing.T) {
	ctx := context.Background()
	k := newKept(t)
	photo := []byte(strings.Repeat("JFIF-of-a-wound-0123456789", 2000))
	hash, err := k.book.PutBlob(ctx, "c1", photo)
	if err != nil {
		t.Fatal(err)
	}
	k.add(t, "c1", casebook.PersonRegistered{Name: "Cordelia Brightwater", Record: "REC-774411", Place: "home", Address: "12 Heron Quay", Zone: "Europe/London",
		Contacts: []casebook.Contact{{Role: "carer", Phone: "0555 010 444"}}})
	k.add(t, "c1", casebook.NoteWritten{Text: "granulating well, edges pink"}, hash)
	k.add(t, "c2", casebook.PersonRegistered{Name: "Cordelia Brightwater", Place: "ward", Zone: "UTC"})
	if err := k.keys.Erase(ctx, k.s, "c2", seal.Deed{At: morning, Author: "Ingrid Tallow", Reason: "the family has asked"}); err != nil {
		t.Fatal(err)
	}
	k.add(t, "c1", casebook.NoteWritten{Text: "granulating well, edges pink still"})
	note := casebook.NewLedgerEntry("0199a3c0-0000-7000-8000-000000000001", morning, "Ingrid Tallow", "the family has asked", casebook.BackupMade{File: "x"})
	if err := backup.Leave(ctx, k.path, k.keys, note); err != nil {
		t.Fatal(err)
	}
	if err := k.s.Snapshot(ctx, at(k.dir, "snapshot")); err != nil {
		t.Fatal(err)
	}
	if _, _, err := k.plan(false).Write(ctx, at(k.dir, "b.age"), morning); err != nil {
		t.Fatal(err)
	}
	if _, err := backup.Restore(ctx, at(k.dir, "b.age"), k.ids(), at(k.dir, "r.db"), at(k.dir, "none.key"), nil); err != nil {
		t.Fatal(err)
	}
	// A backup that was cut short by a full disk, with what it had written.
	temp := watch(t, k)
	files := grep(t, k.dir, temp)
	for _, want := range []string{"s.db", "s.db-wal", "snapshot", "b.age", "r.db", ".note", ".part", ".snapshot"} {
		if !strings.Contains(files, want) {
			t.Errorf("%s was not looked at: %s", want, files)
		}
	}
	// The same search finds everything in a plain store: it does not look past it.
	plain, err := sqlite.Open(ctx, at(t.TempDir(), "p.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer plain.Close()
	entries, _, err := k.book.Entries(ctx, "c1")
	if err == nil {
		_, err = (casebook.Book{Store: plain}).Append(ctx, "", entries...)
	}
	if err != nil {
		t.Fatal(err)
	}
	if err := plain.Snapshot(ctx, at(k.dir, "plain")); err != nil {
		t.Fatal(err)
	}
	content, _ := os.ReadFile(at(k.dir, "plain"))
	for _, secret := range []string{"Cordelia Brightwater", "REC-774411", "granulating well, edges pink", "note.written"} {
		if !bytes.Contains(content, []byte(secret)) {
			t.Errorf("%q is not found in a plain store either", secret)
		}
	}
}

// watch copies the temporary files of a backup while it is being written: a hard link keeps what is removed. Who looks and
// who writes take turns as the machine likes, so backups are written until both files were seen.
func watch(t *testing.T, k *kept) string {
	t.Helper()
	temp := t.TempDir()
	target := at(k.dir, "watched.age")
	var copies []string
	for _, end := range []string{".part", ".snapshot"} {
		copies = append(copies, filepath.Join(temp, "watched.age"+end))
	}
	caught := func() bool {
		return !slices.ContainsFunc(copies, func(name string) bool { _, err := os.Stat(name); return err != nil })
	}
	for range 200 {
		stop, done := make(chan struct{}), make(chan struct{})
		go func() {
			defer close(done)
			for {
				for _, name := range copies {
					_ = os.Link(filepath.Join(k.dir, filepath.Base(name)), name) // there or not yet
				}
				select {
				case <-stop:
					return
				default:
				}
			}
		}()
		_, _, err := k.plan(true).Write(context.Background(), target, morning)
		close(stop)
		<-done
		if err != nil {
			t.Fatal(err)
		}
		if caught() {
			return temp
		}
		if err := os.Remove(target); err != nil {
			t.Fatal(err)
		}
	}
	t.Fatal("no temporary file of 200 backups was seen")
	return ""
}

func grep(t *testing.T, dirs ...string) string {
	t.Helper()
	var seen []string
	for _, dir := range dirs {
		err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
			if err != nil || !d.Type().IsRegular() || strings.HasSuffix(path, "s.db.key") {
				return err
			}
			content, err := os.ReadFile(path)
			seen = append(seen, fmt.Sprintf("%s(%d)", filepath.Base(path), len(content)))
			for _, secret := range secrets {
				if bytes.Contains(content, []byte(secret)) {
					t.Errorf("%s shows %q", path, secret)
				}
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return strings.Join(seen, " ")
}

// TestErasedKeyIsGone: after an erasure, the wrapped key stands in no byte of the database or its WAL, nor in a
// backup made after.
func TestErasedKeyIsGone(t *testing.T) {
	ctx := context.Background()
	k := newKept(t)
	for i := range 40 {
		k.add(t, fmt.Sprintf("c%d", i), casebook.NoteWritten{Text: "text"})
	}
	wrapped := map[string][]byte{}
	all, err := k.s.CaseKeys(ctx)
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range all {
		wrapped[key.Case] = key.Wrapped
	}
	where := func(name string, id string) int {
		content, err := os.ReadFile(at(k.dir, name))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			t.Fatal(err)
		}
		return bytes.Count(content, wrapped[id])
	}
	if where("s.db", "c7")+where("s.db-wal", "c7") == 0 {
		t.Fatal("the wrapped key is not found before the erasure: the search looks past it")
	}
	if err := k.keys.Erase(ctx, k.s, "c7", seal.Deed{At: morning, Author: "x", Reason: "y"}); err != nil {
		t.Fatal(err)
	}
	if n := where("s.db", "c7") + where("s.db-wal", "c7"); n != 0 {
		t.Errorf("the erased key still stands in %d places", n)
	}
	if where("s.db", "c8") == 0 {
		t.Errorf("the key of another case is gone as well")
	}
	// A rotation takes the old wrappings away in the same manner.
	if err := source(k.dir).Rotate(ctx, k.s, k.keys, seal.FromFile, seal.Deed{At: morning, Author: "x", Reason: "y"}); err != nil {
		t.Fatal(err)
	}
	for id := range wrapped {
		if n := where("s.db", id) + where("s.db-wal", id); n != 0 {
			t.Errorf("the old wrapping of %s still stands in %d places", id, n)
		}
	}
}

func TestWriteCheckRestore(t *testing.T) {
	ctx := context.Background()
	k := newKept(t)
	hash, err := k.book.PutBlob(ctx, "c1", []byte("photo"))
	if err != nil {
		t.Fatal(err)
	}
	k.add(t, "c1", casebook.NoteWritten{Text: "one"}, hash)
	k.add(t, "c2", casebook.NoteWritten{Text: "two"})
	// The access log is a second store, sealed with a key of the first.
	access, err := sqlite.Open(ctx, backup.AccessPath(k.path))
	if err != nil {
		t.Fatal(err)
	}
	derived, err := k.keys.Derived(ctx, casebook.AccessLog)
	if err != nil {
		t.Fatal(err)
	}
	accessKeys, err := seal.Start(ctx, access, derived, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	seen := casebook.Entry{ID: "x1", Case: "2026-03-04", Kind: "case.opened", Version: 1, At: morning, Recorded: morning, Author: "a nurse"}
	if _, err := (casebook.Book{Store: access, Sealer: accessKeys}).Append(ctx, "", seen); err != nil {
		t.Fatal(err)
	}
	defer access.Close()
	file := at(k.dir, "b.age")
	m, size, err := k.plan(true).Write(ctx, file, morning)
	if err != nil || m.Store.Records != 2 || m.Store.Cases != 2 || m.Store.Blobs != 1 || m.Access == nil || m.Access.Records != 1 || !m.WithKey || size == 0 {
		t.Fatalf("%+v, %d, %v", m, size, err)
	}
	if info, err := os.Stat(file); err != nil || info.Mode().Perm() != 0o600 || info.Size() != size {
		t.Errorf("%v, %v", info, err)
	}
	if left, _ := filepath.Glob(at(k.dir, "b.age.*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
	if _, _, err := k.plan(true).Write(ctx, file, morning); !errors.Is(err, fs.ErrExist) {
		t.Errorf("a backup was overwritten: %v", err)
	}
	x, err := backup.Check(ctx, file, k.dir, k.ids(), withKey)
	if err != nil || len(x.Defects) > 0 || !x.Opened || x.Store.Sealed != 2 {
		t.Errorf("%+v, %v", x, err)
	}
	place := at(t.TempDir(), "r.db")
	x, err = backup.Restore(ctx, file, k.ids(), place, place+".key", withKey)
	if err != nil || !x.Opened {
		t.Fatalf("%+v, %v", x, err)
	}
	if _, err := backup.Restore(ctx, file, k.ids(), place, place+".key", withKey); !errors.Is(err, backup.ErrOccupied) {
		t.Errorf("over a store: %v", err)
	}
	s, err := sqlite.Open(ctx, place)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	keys, err := seal.Source{File: place + ".key", Random: rand.Reader}.Begin(ctx, s)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := (casebook.Book{Store: s, Sealer: keys}).Blob(ctx, "c1", hash); err != nil || string(got) != "photo" {
		t.Errorf("%q, %v", got, err)
	}
	// The restored access log opens with the key that is derived from the restored store.
	restored, err := sqlite.OpenReader(ctx, backup.AccessPath(place))
	if err != nil {
		t.Fatal(err)
	}
	defer restored.Close()
	derived, err = keys.Derived(ctx, casebook.AccessLog)
	if err != nil {
		t.Fatal(err)
	}
	if accessKeys, err = seal.Open(ctx, restored, derived, rand.Reader); err != nil {
		t.Fatal(err)
	}
	if entries, _, err := (casebook.Book{Store: restored, Sealer: accessKeys}).Entries(ctx, "2026-03-04"); err != nil || len(entries) != 1 {
		t.Errorf("%v, %v", entries, err)
	}
}

// TestBackupWhileWriting: backups that are made while entries come in hold a state that was, whole.
func TestBackupWhileWriting(t *testing.T) {
	ctx := context.Background()
	k := newKept(t)
	stop, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		for i := 0; ; i++ {
			select {
			case <-stop:
				return
			default:
				k.add(t, fmt.Sprintf("c%d", i%7), casebook.NoteWritten{Text: strings.Repeat("text ", i%50)})
			}
		}
	}()
	var last int64
	for i := range 5 {
		file := at(k.dir, fmt.Sprintf("b%d.age", i))
		if _, _, err := k.plan(false).Write(ctx, file, morning); err != nil {
			t.Fatal(err)
		}
		d, err := backup.Drill(ctx, file, k.dir, k.path, k.ids(), k.atHand, morning.Add(36*time.Hour))
		if err != nil || !d.Good() || d.AgeH != 36 || d.Store.Records < last || d.Behind < 0 {
			t.Errorf("%+v, %v", d, err)
		}
		last = d.Store.Records
	}
	close(stop)
	<-done
}

// TestBadBackups: what is damaged, cut off, for somebody else or of another kind is refused in words, and leaves
// nothing behind.
func TestBadBackups(t *testing.T) {
	ctx := context.Background()
	k := newKept(t)
	k.add(t, "c1", casebook.NoteWritten{Text: "one"})
	file := at(k.dir, "b.age")
	if _, _, err := k.plan(false).Write(ctx, file, morning); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	other, _ := age.GenerateX25519Identity()
	dir := t.TempDir()
	for _, c := range []struct {
		name    string
		content []byte
		ids     []age.Identity
		want    error
	}{
		{"for another", whole, []age.Identity{other}, backup.ErrOtherRecipient},
		{"empty", nil, k.ids(), backup.ErrNotABackup},
		{"a letter", []byte("Dear diary"), k.ids(), backup.ErrNotABackup},
		{"cut in the middle", whole[:len(whole)/2], k.ids(), backup.ErrDamaged},
		{"cut by a byte", whole[:len(whole)-1], k.ids(), backup.ErrDamaged},
		{"a byte changed", flip(whole, len(whole)-100), k.ids(), backup.ErrDamaged},
		{"a byte changed in the middle", flip(whole, len(whole)/2), k.ids(), backup.ErrDamaged},
		{"longer", append(bytes.Clone(whole), 1), k.ids(), backup.ErrDamaged},
	} {
		bad := at(dir, "bad.age")
		if err := os.WriteFile(bad, c.content, 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := backup.Restore(ctx, bad, c.ids, at(dir, "r.db"), at(dir, "r.key"), nil)
		if !errors.Is(err, c.want) || !strings.Contains(err.Error(), "nothing was") {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
		d, err := backup.Drill(ctx, bad, dir, k.path, c.ids, k.atHand, morning)
		if err != nil || d.Good() || len(d.Defects) != 1 {
			t.Errorf("%s: a drill: %+v, %v", c.name, d, err)
		}
	}
	if left, _ := filepath.Glob(at(dir, "*")); len(left) != 1 {
		t.Errorf("left behind: %v", left)
	}
}

func flip(b []byte, i int) []byte {
	b = bytes.Clone(b)
	b[i] ^= 1
	return b
}

// TestDrillSays: a backup of another store, without its key, or from the future is no good drill.
func TestDrillSays(t *testing.T) {
	ctx := context.Background()
	k, other := newKept(t), newKept(t)
	k.add(t, "c1", casebook.NoteWritten{Text: "one"})
	other.add(t, "c1", casebook.NoteWritten{Text: "one"})
	file := at(k.dir, "b.age")
	if _, _, err := k.plan(false).Write(ctx, file, morning); err != nil {
		t.Fatal(err)
	}
	d, err := backup.Drill(ctx, file, k.dir, other.path, k.ids(), k.atHand, morning)
	if err != nil || d.Good() || !strings.Contains(strings.Join(d.Defects, ""), "belongs to another store") {
		t.Errorf("another store: %+v, %v", d, err)
	}
	d, err = backup.Drill(ctx, file, k.dir, k.path, k.ids(), nil, morning)
	if err != nil || d.Good() || d.Opened || len(d.Defects) > 0 {
		t.Errorf("without a key: %+v, %v", d, err)
	}
	d, err = backup.Drill(ctx, file, k.dir, k.path, k.ids(), k.atHand, morning.AddDate(-1, 0, 0))
	if err != nil || d.Good() || !strings.Contains(strings.Join(d.Defects, ""), "clock") {
		t.Errorf("a year back: %+v, %v", d, err)
	}
	// After a rotation the old backup needs the old key.
	if err := source(k.dir).Rotate(ctx, k.s, k.keys, seal.FromFile, seal.Deed{At: morning, Author: "x", Reason: "y"}); err != nil {
		t.Fatal(err)
	}
	if _, err := backup.Check(ctx, file, k.dir, k.ids(), k.atHand); !errors.Is(err, seal.ErrWrongKey) {
		t.Errorf("with the new key: %v", err)
	}
}

func TestSchedule(t *testing.T) {
	ctx := context.Background()
	k := newKept(t)
	k.add(t, "c1", casebook.NoteWritten{Text: "one"})
	dir := t.TempDir()
	s := backup.Schedule{Dir: dir, Every: 24 * time.Hour, Keep: 3}
	os.WriteFile(at(dir, "letter.txt"), []byte("not ours"), 0o600)
	os.WriteFile(at(dir, "lowtide-000001-20260304T083000Z.age.part"), []byte("cut short"), 0o600)
	now := morning
	if due, err := s.Due(now); err != nil || due.After(now) {
		t.Errorf("the first is due at %v, %v", due, err)
	}
	for range 5 {
		if _, _, _, err := s.Run(ctx, k.plan(false), now); err != nil {
			t.Fatal(err)
		}
		if due, _ := s.Due(now.Add(time.Hour)); !due.Equal(now.Add(24 * time.Hour)) {
			t.Errorf("the next is due at %v", due)
		}
		now = now.Add(24 * time.Hour)
	}
	// The clock is set back by a year: the next is due at once, is kept, and comes after the others.
	back := now.AddDate(-1, 0, 0)
	if due, err := s.Due(back); err != nil || due.After(back) {
		t.Errorf("a year back, the next is due at %v, %v", due, err)
	}
	file, _, _, err := s.Run(ctx, k.plan(false), back)
	if err != nil {
		t.Fatal(err)
	}
	list, err := s.List()
	if err != nil || len(list) != 3 || list[2].Path != file || list[2].Number != 6 || list[0].Number != 4 {
		t.Errorf("%v, %v", list, err)
	}
	if due, _ := s.Due(back.Add(time.Hour)); !due.Equal(back.Add(24 * time.Hour)) {
		t.Errorf("then the next is due at %v", due)
	}
	names, _ := filepath.Glob(at(dir, "*"))
	if len(names) != 4 {
		t.Errorf("in the folder: %v", names)
	}
}

func TestInbox(t *testing.T) {
	ctx := context.Background()
	k := newKept(t)
	reader, err := sqlite.OpenReader(ctx, k.path)
	if err != nil {
		t.Fatal(err)
	}
	defer reader.Close()
	beside, err := source(k.dir).Unlock(ctx, reader, false)
	if err != nil {
		t.Fatal(err)
	}
	e := casebook.NewLedgerEntry("0199a3c0-0000-7000-8000-000000000001", morning, "lowtide drill", "", casebook.BackupDrilled{File: "b.age", Made: morning, Opened: true})
	for range 2 { // taken in twice, kept once
		if err := backup.Leave(ctx, k.path, beside, e); err != nil {
			t.Fatal(err)
		}
		if n, err := backup.TakeIn(ctx, k.path, k.book); n != 1 || err != nil {
			t.Errorf("%d, %v", n, err)
		}
	}
	os.WriteFile(at(backup.Inbox(k.path), "forged.note"), []byte(`{"id":"x","bytes":"eyJib2R5Ijp7fX0="}`), 0o600)
	if n, err := backup.TakeIn(ctx, k.path, k.book); n != 0 || !errors.Is(err, casebook.ErrBroken) {
		t.Errorf("a forged note: %d, %v", n, err)
	}
	if n, err := backup.TakeIn(ctx, k.path, k.book); n != 0 || err != nil {
		t.Errorf("a refused note came again: %d, %v", n, err)
	}
	entries, _, err := casebook.Register{Book: k.book, ID: casebook.Ledger}.Entries(ctx)
	if err != nil || len(entries) != 1 || !entries[0].Body.(casebook.BackupDrilled).Good() {
		t.Errorf("%v, %v", entries, err)
	}
}

// onSmallDisk mounts a file system of so many KiB; only root can.
func onSmallDisk(t *testing.T, kib int) string {
	t.Helper()
	if os.Geteuid() != 0 {
		t.Skip("mounting a small file system takes root")
	}
	dir := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", fmt.Sprintf("size=%dk,mode=700", kib), "tmpfs", dir).CombinedOutput(); err != nil {
		t.Skipf("a small file system cannot be mounted here: %v %s", err, out)
	}
	t.Cleanup(func() {
		if out, err := exec.Command("umount", "-l", dir).CombinedOutput(); err != nil {
			t.Errorf("%v %s", err, out)
		}
	})
	return dir
}

// TestDiskFull: no room for a backup, its snapshot or a restore is said in words; nothing half is left under a name.
func TestDiskFull(t *testing.T) {
	ctx := context.Background()
	k := newKept(t)
	if _, err := k.book.PutBlob(ctx, "c1", bytes.Repeat([]byte("photo"), 100_000)); err != nil {
		t.Fatal(err)
	}
	k.add(t, "c1", casebook.NoteWritten{Text: "one"})
	if _, _, err := k.plan(true).Write(ctx, at(k.dir, "b.age"), morning); err != nil {
		t.Fatal(err)
	}
	// The store takes 600 KiB: no room for the snapshot, and room for it but not for what is made of it.
	for _, kib := range []int{300, 900} {
		small := onSmallDisk(t, kib)
		_, _, err := k.plan(false).Write(ctx, at(small, "b.age"), morning)
		if err == nil || !strings.Contains(err.Error(), "the disk is full") || !strings.Contains(err.Error(), "earlier backups are as they were") {
			t.Errorf("%d KiB: %v", kib, err)
		}
		if left, _ := filepath.Glob(at(small, "*")); len(left) > 0 {
			t.Errorf("%d KiB: left behind: %v", kib, left)
		}
	}
	small := onSmallDisk(t, 300)
	_, err := backup.Restore(ctx, at(k.dir, "b.age"), k.ids(), at(small, "r.db"), at(small, "r.key"), withKey)
	if err == nil || !strings.Contains(err.Error(), "the disk is full") || !strings.Contains(err.Error(), "nothing was restored") {
		t.Errorf("a restore: %v", err)
	}
	if left, _ := filepath.Glob(at(small, "*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// TestStoreDiskFull: a sealed store on a full disk loses nothing of what it acknowledged; rotation and erasure are
// done whole or not at all.
func TestStoreDiskFull(t *testing.T) {
	ctx := context.Background()
	small := onSmallDisk(t, 1000)
	s, err := sqlite.Open(ctx, at(small, "s.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	src := source(small)
	keys, err := src.Begin(ctx, s)
	if err != nil {
		t.Fatal(err)
	}
	book, head, acknowledged := casebook.Book{Store: s, Sealer: keys}, "", 0
	var full error
	for i := 0; full == nil && i < 10_000; i++ {
		var newHead string
		e := entryOf(i, 0)
		e.Case = "a"
		if newHead, full = book.Append(ctx, head, e); full == nil {
			head, acknowledged = newHead, acknowledged+1
		}
	}
	if full == nil || !strings.Contains(full.Error(), "the disk is full and nothing was written: make room and try again") {
		t.Fatalf("after %d entries: %v", acknowledged, full)
	}
	before := keys.Key().ID()
	rotateErr := src.Rotate(ctx, s, keys, seal.FromFile, seal.Deed{At: morning, Author: "x", Reason: "y"})
	eraseErr := keys.Erase(ctx, s, "a", seal.Deed{At: morning, Author: "x", Reason: "y"})
	if rotateErr == nil && eraseErr == nil {
		t.Errorf("there was room after all: the test shows nothing")
	}
	if (rotateErr == nil) == (keys.Key().ID() == before) {
		t.Errorf("the rotation said %v, and the key went from %s to %s", rotateErr, before, keys.Key().ID())
	}
	report, err := book.Verify(ctx)
	if err != nil || !report.Sound() {
		t.Errorf("%v %v", report.Defects, err)
	}
	if entries, _, err := book.Entries(ctx, "a"); eraseErr != nil && (err != nil || len(entries) != acknowledged) {
		t.Errorf("%d entries of %d are left, %v", len(entries), acknowledged, err)
	}
	if err := s.Close(); err != nil {
		t.Log("close:", err)
	}
	t.Logf("%d entries; rotation: %v; erasure: %v", acknowledged, rotateErr, eraseErr)
}

// TestReadOnlyPlace: a place that cannot be written to is said in words.
func TestReadOnlyPlace(t *testing.T) {
	ctx := context.Background()
	k := newKept(t)
	k.add(t, "c1", casebook.NoteWritten{Text: "one"})
	dir := onSmallDisk(t, 2000)
	if _, _, err := k.plan(true).Write(ctx, at(dir, "b.age"), morning); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("cp", k.path, at(dir, "s.db")).CombinedOutput(); err != nil {
		t.Fatal(err, string(out))
	}
	if out, err := exec.Command("mount", "-o", "remount,ro", dir).CombinedOutput(); err != nil {
		t.Skipf("%v %s", err, out)
	}
	if _, _, err := k.plan(false).Write(ctx, at(dir, "c.age"), morning); err == nil || !strings.Contains(err.Error(), "cannot be written to") {
		t.Errorf("a backup: %v", err)
	}
	if _, err := backup.Restore(ctx, at(dir, "b.age"), k.ids(), at(dir, "r.db"), at(dir, "r.key"), withKey); err == nil || !strings.Contains(err.Error(), "cannot be written to") {
		t.Errorf("a restore: %v", err)
	}
	if _, err := sqlite.Open(ctx, at(dir, "s.db")); err == nil || !strings.Contains(err.Error(), "read-only") {
		t.Errorf("opening to write: %v", err)
	}
	// It can still be restored from, to another place.
	to := at(t.TempDir(), "r.db")
	if _, err := backup.Restore(ctx, at(dir, "b.age"), k.ids(), to, to+".key", withKey); err != nil {
		t.Errorf("from there: %v", err)
	}
}

// TestCorruptPages: a sealed store with any page overwritten is found out, with the key and without, and never
// opens to something else. A backup of it says so and removes no older one.
func TestCorruptPages(t *testing.T) {
	ctx := context.Background()
	k := newKept(t)
	for i := range 12 {
		k.add(t, fmt.Sprintf("c%d", i%4), casebook.NoteWritten{Text: strings.Repeat("text ", 100)})
	}
	if err := k.s.Close(); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(k.path)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	const page = 4096
	for i := range len(whole) / page {
		bad := bytes.Clone(whole)
		for j := range page {
			bad[i*page+j] ^= 0x5a
		}
		path := at(dir, "bad.db")
		if err := os.WriteFile(path, bad, 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := sqlite.OpenReader(ctx, path)
		if err != nil {
			continue
		}
		keys, err := source(k.dir).Unlock(ctx, s, false)
		if err == nil {
			var report casebook.Report
			report, err = casebook.Book{Store: s, Sealer: keys}.Verify(ctx)
			if err == nil && report.Sound() {
				t.Errorf("page %d of %d overwritten: nothing found", i+1, len(whole)/page)
			}
		}
		s.Close()
	}
}

func TestDrillOverdue(t *testing.T) {
	at := func(days int, body casebook.Body) casebook.Entry {
		return casebook.NewLedgerEntry("x", morning.AddDate(0, 0, days), "x", "", body)
	}
	good, bad := casebook.BackupDrilled{Opened: true}, casebook.BackupDrilled{Opened: true, Defects: []string{"x"}}
	month := 30 * 24 * time.Hour
	for _, c := range []struct {
		name   string
		ledger []casebook.Entry
		want   string
	}{
		{"never", nil, "No backup of this store was ever tried out"},
		{"only backups", []casebook.Entry{at(-1, casebook.BackupMade{})}, "No backup of this store was ever tried out"},
		{"in time", []casebook.Entry{at(-30, good)}, ""},
		{"just too old", []casebook.Entry{at(-31, good)}, "31 days ago; one is due every 30 days"},
		{"without a key is not good", []casebook.Entry{at(-1, casebook.BackupDrilled{})}, "cannot be used"},
		{"a bad one after a good one", []casebook.Entry{at(-2, good), at(-1, bad)}, "cannot be used"},
		{"a good one after a bad one", []casebook.Entry{at(-2, bad), at(-1, good)}, ""},
		{"from the future", []casebook.Entry{at(20, good)}, "set the clock"},
	} {
		got := casebook.DrillOverdue(c.ledger, morning, month)
		if (c.want == "") != (got == "") || !strings.Contains(got, c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// TestClockSetBack: with the clock a year back, entries go in and come out as ever, and the program says that the
// clock is wrong.
func TestClockSetBack(t *testing.T) {
	ctx := context.Background()
	k := newKept(t)
	k.add(t, "c1", casebook.NoteWritten{Text: "one"})
	if words, err := casebook.ClockBehind(ctx, k.s, morning.Add(time.Minute)); words != "" || err != nil {
		t.Errorf("%q, %v", words, err)
	}
	back := morning.AddDate(-1, 0, 0)
	words, err := casebook.ClockBehind(ctx, k.s, back)
	if err != nil || !strings.Contains(words, "2025-03-04") || !strings.Contains(words, "2026-03-04") || !strings.Contains(words, "set the clock") {
		t.Errorf("%q, %v", words, err)
	}
	id, _ := casebook.NewID(back, rand.Reader)
	e := casebook.Entry{ID: id, Case: "c1", Kind: casebook.KindNoteWritten, Version: 1, At: back, Recorded: back, Author: "x", Body: casebook.NoteWritten{Text: "two"}}
	if _, err := k.book.Append(ctx, k.heads["c1"], e); err != nil {
		t.Error(err)
	}
	if err := k.keys.Erase(ctx, k.s, "c1", seal.Deed{At: back, Author: "x", Reason: "y"}); err != nil {
		t.Error(err)
	}
	if report, err := k.book.Verify(ctx); err != nil || !report.Sound() || report.Records != 3 {
		t.Errorf("%+v, %v", report, err)
	}
}
