package backup_test

import (
	"bufio"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	mathrand "math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"filippo.io/age"

	"lowtide/backup"
	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/seal"
)

// A child of this test binary works on a sealed store: it appends, keeps photos, backs up, restores, rotates the key,
// erases a case, migrates a store of the first version. It says before each what it does and after each that it is
// done. The parent kills it (SIGKILL) somewhere in a step of the kind that it picked, and looks at what is left.
//
// A killed process loses nothing that the operating system took in: this shows that steps are whole and acknowledged
// only when done, not that the medium keeps them when the power fails.

const crashEnv = "LOWTIDE_BACKUP_CRASH"

func TestMain(m *testing.M) {
	if dir := os.Getenv(crashEnv); dir != "" {
		if err := work(dir); err != nil {
			fmt.Println("error", err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

var morning = time.Date(2026, 3, 4, 8, 30, 0, 0, time.UTC)

func at(dir, name string) string { return filepath.Join(dir, name) }

func source(dir string) seal.Source {
	return seal.Source{File: at(dir, "s.db.key"), Prefer: seal.FromFile, Random: rand.Reader}
}

func identity(dir string) (*age.X25519Identity, error) {
	text, err := os.ReadFile(at(dir, "identity"))
	if err != nil {
		return nil, err
	}
	return age.ParseX25519Identity(string(text))
}

const workCases = 5

// entryOf is the i-th entry that any child appends.
func entryOf(i, generation int) casebook.Entry {
	id := fmt.Sprintf("entry-%06d", i)
	return casebook.Entry{ID: id, Case: fmt.Sprintf("case-%d-%d", i%workCases, generation), Kind: casebook.KindNoteWritten,
		Version: casebook.Version(casebook.KindNoteWritten), At: morning, Recorded: morning, Author: "a nurse",
		Body: casebook.NoteWritten{Text: "granulating well, text of " + id}}
}

// turn is what a child does, one after the other.
var turn = []string{"append", "append", "append", "photo", "append", "backup", "append", "rotate", "append", "append", "restore", "append", "erase", "append", "migrate"}

func work(dir string) error {
	ctx := context.Background()
	fmt.Println("start")
	s, err := sqlite.Open(ctx, at(dir, "s.db"))
	if err != nil {
		return err
	}
	src := source(dir)
	keys, err := src.Begin(ctx, s)
	if err != nil {
		return err
	}
	if _, err := keys.KeyChain(ctx); err != nil {
		return err
	}
	w := worker{dir: dir, s: s, src: src, keys: keys, book: casebook.Book{Store: s, Sealer: keys}}
	if w.id, err = identity(dir); err != nil {
		return err
	}
	feed, err := s.Feed(ctx, 0, 1<<20)
	if err != nil {
		return err
	}
	for _, l := range feed {
		if n, ok := strings.CutPrefix(l.ID, "entry-"); ok {
			if i, err := strconv.Atoi(n); err == nil {
				w.next = max(w.next, i+1)
			}
		}
	}
	// After each kill another generation of cases, so that erased ones are left alone; and another place in the turn.
	w.generation = w.next
	for i := w.next; ; i++ {
		what := turn[i%len(turn)]
		fmt.Println("doing", what)
		done, err := w.do(ctx, what)
		if err != nil {
			return fmt.Errorf("%s: %w", what, err)
		}
		fmt.Println("done", what, done)
	}
}

type worker struct {
	dir              string
	s                *sqlite.Store
	src              seal.Source
	keys             *seal.Keys
	book             casebook.Book
	id               *age.X25519Identity
	next, generation int
	backups          int
	last             string
}

func (w *worker) do(ctx context.Context, what string) (string, error) {
	deed := seal.Deed{At: morning, Author: "an administrator", Reason: "a test patient"}
	switch what {
	case "append", "photo":
		e := entryOf(w.next, w.generation)
		w.last = e.Case
		w.next++
		if what == "photo" {
			hash, err := w.book.PutBlob(ctx, e.Case, []byte(strings.Repeat("photo of "+e.ID, 3000)))
			if err != nil {
				return "", err
			}
			e.Blobs = []string{hash}
		}
		_, head, err := w.book.Entries(ctx, e.Case)
		if err == nil {
			_, err = w.book.Append(ctx, head, e)
		}
		return e.Case + " " + e.ID, err
	case "backup":
		key := w.keys.Key()
		w.backups++
		name := fmt.Sprintf("b-%06d-%d-%d.age", w.next, w.backups, os.Getpid())
		_, _, err := backup.Plan{Store: at(w.dir, "s.db"), Recipients: []age.Recipient{w.id.Recipient()}, Key: &key}.Write(ctx, at(w.dir, name), morning)
		return name, err
	case "rotate":
		err := w.src.Rotate(ctx, w.s, w.keys, seal.FromFile, deed)
		return w.keys.Key().ID(), err
	case "erase":
		if w.last == "" {
			return "", nil
		}
		// The next entries go to other cases.
		erased := w.last
		w.last, w.generation = "", w.next
		return erased, w.keys.Erase(ctx, w.s, erased, deed)
	case "restore":
		names, err := filepath.Glob(at(w.dir, "b-*.age"))
		if err != nil || len(names) == 0 {
			return "", err
		}
		to := fmt.Sprintf("r-%d-%d.db", w.next, os.Getpid())
		_, err = backup.Restore(ctx, names[len(names)-1], []age.Identity{w.id}, at(w.dir, to), at(w.dir, to+".key"), nil)
		return to, err
	case "migrate":
		to := fmt.Sprintf("m-%d-%d.db", w.next, os.Getpid())
		content, err := os.ReadFile(fixture)
		if err != nil {
			return "", err
		}
		// The copy itself is whole or not there: it is the upgrade that is killed here.
		if err := os.WriteFile(at(w.dir, to+".part"), content, 0o600); err != nil {
			return "", err
		}
		if err := os.Rename(at(w.dir, to+".part"), at(w.dir, to)); err != nil {
			return "", err
		}
		fmt.Println("doing", "migrate-now")
		s, err := sqlite.Open(ctx, at(w.dir, to))
		if err != nil {
			return "", err
		}
		return to, s.Close()
	}
	return "", fmt.Errorf("no such step")
}

// fixture is a store of schema 1; tests run in their package's folder.
const fixture = "../casebook/sqlite/testdata/store-v1.db"

const fixtureHead = "1d23c27fc23a3b94c0c5d7128c488f1ca73811762893e8f4fd17136ba9ab8764"

func TestKilled(t *testing.T) {
	rounds := 12
	if os.Getenv("LOWTIDE_DEEP") == "1" {
		rounds = 500
	}
	if testing.Short() {
		rounds = 6
	}
	rng := mathrand.New(mathrand.NewPCG(3, 1))
	targets := []string{"append", "backup", "rotate", "restore", "erase", "migrate-now"}
	// About as long as a step takes, so that kills fall all over it.
	span := map[string]time.Duration{"append": 4, "backup": 60, "rotate": 12, "restore": 80, "erase": 10, "migrate-now": 40}
	var k *killed
	tally, sum := map[string]int{}, [3]int{}
	for round := range rounds {
		if round%12 == 0 {
			k.addTo(&sum)
			k = newKilled(t)
		}
		target := targets[round%len(targets)]
		wait := time.Duration(rng.Int64N(int64(span[target]) * int64(time.Millisecond)))
		during := k.run(t, target, 1+rng.IntN(2), wait)
		tally[during]++
		k.check(t)
		if t.Failed() {
			t.Fatalf("round %d, killed %v into %s (while doing %q)", round, wait, target, during)
		}
	}
	k.addTo(&sum)
	t.Logf("%d rounds; killed while doing: %v; %d entries acknowledged, %d cases erased, %d backups, none lost", rounds, tally, sum[0], sum[1], sum[2])
}

// killed is what the children acknowledged.
type killed struct {
	dir     string
	entries map[string]string // ID -> case
	erased  map[string]bool
	backups map[string]bool
	// restored and migrated are stores that were acknowledged as such.
	places map[string]bool
	// seen are the files that were looked at already.
	seen map[string]bool
}

func (k *killed) addTo(sum *[3]int) {
	if k != nil {
		sum[0], sum[1], sum[2] = sum[0]+len(k.entries), sum[1]+len(k.erased), sum[2]+len(k.backups)
	}
}

func newKilled(t *testing.T) *killed {
	t.Helper()
	k := &killed{dir: t.TempDir(), entries: map[string]string{}, erased: map[string]bool{}, backups: map[string]bool{}, places: map[string]bool{}, seen: map[string]bool{}}
	id, err := age.GenerateX25519Identity()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(at(k.dir, "identity"), []byte(id.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	return k
}

// run starts a child and kills it wait after the nth time that it begins the target. It returns what the child was
// doing when it died.
func (k *killed) run(t *testing.T, target string, nth int, wait time.Duration) string {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	child := exec.Command(self)
	child.Env = append(os.Environ(), crashEnv+"="+k.dir)
	child.Stderr = os.Stderr
	out, err := child.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewReader(out)
	doing := "nothing"
	read := func() bool {
		line, err := lines.ReadString('\n')
		if err == io.EOF {
			return false // a line without its end was never said in full
		}
		if err != nil {
			t.Fatal(err)
		}
		f := strings.Fields(line)
		switch f[0] {
		case "start":
		case "doing":
			doing = f[1]
		case "done":
			doing = "nothing"
			k.acknowledge(f[1:])
		default:
			t.Fatalf("the child said %q", line)
		}
		return true
	}
	for n := 0; n < nth && read(); {
		if doing == target {
			n++
			if n < nth {
				doing = ""
			}
		}
	}
	time.Sleep(wait)
	if err := child.Process.Kill(); err != nil && !errors.Is(err, os.ErrProcessDone) {
		t.Fatal(err)
	}
	for read() {
	}
	_ = child.Wait() // it says that the child was killed, as asked
	return doing
}

func (k *killed) acknowledge(f []string) {
	switch f[0] {
	case "append", "photo":
		k.entries[f[2]] = f[1]
	case "erase":
		if len(f) > 1 {
			k.erased[f[1]] = true
		}
	case "backup":
		k.backups[f[1]] = true
	case "restore", "migrate":
		if len(f) > 1 {
			k.places[f[1]] = true
		}
	}
}

func (k *killed) check(t *testing.T) {
	t.Helper()
	ctx := context.Background()
	s, err := sqlite.Open(ctx, at(k.dir, "s.db"))
	if err != nil {
		t.Errorf("opening what the kill left: %v", err)
		return
	}
	defer s.Close()
	keys, err := source(k.dir).Begin(ctx, s)
	if err != nil {
		t.Errorf("unlocking what the kill left: %v", err)
		return
	}
	if _, err := os.Stat(at(k.dir, "s.db.key.next")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("the next key file is still there: %v", err)
	}
	book := casebook.Book{Store: s, Sealer: keys}
	report, err := book.Verify(ctx)
	if err != nil || !report.Sound() {
		t.Errorf("%v %v", report.Defects, err)
	}
	// Only a kill before the first entry can leave a store without its keyed chain.
	if report.Keyed != report.Records && (report.Keyed != 0 || len(k.entries) > 0) {
		t.Errorf("the keyed chain holds %d of %d records", report.Keyed, report.Records)
	}
	k.checkEntries(t, book)
	k.checkBackups(t)
	k.checkPlaces(t)
}

func (k *killed) checkEntries(t *testing.T, book casebook.Book) {
	ctx := context.Background()
	erased, err := book.Erased(ctx)
	if err != nil {
		t.Error(err)
	}
	gone := map[string]bool{}
	for _, e := range erased {
		gone[e.Case] = true
	}
	for c := range k.erased {
		if !gone[c] {
			t.Errorf("case %s was erased, and the ledger does not say so", c)
		}
	}
	byCase := map[string]map[string]bool{}
	for id, c := range k.entries {
		if gone[c] {
			if _, _, err := book.Entries(ctx, c); !errors.Is(err, casebook.ErrErased) {
				t.Errorf("case %s is erased and reads: %v", c, err)
			}
			continue
		}
		if byCase[c] == nil {
			entries, _, err := book.Entries(ctx, c)
			if err != nil {
				t.Errorf("case %s: %v", c, err)
			}
			byCase[c] = map[string]bool{}
			for _, e := range entries {
				if e.Body.(casebook.NoteWritten).Text != "granulating well, text of "+e.ID {
					t.Errorf("entry %s says %v", e.ID, e.Body)
				}
				byCase[c][e.ID] = true
			}
		}
		if !byCase[c][id] {
			t.Errorf("entry %s was acknowledged and is lost", id)
		}
	}
}

func (k *killed) checkBackups(t *testing.T) {
	ctx := context.Background()
	id, err := identity(k.dir)
	if err != nil {
		t.Fatal(err)
	}
	for name := range k.backups {
		if _, err := os.Stat(at(k.dir, name)); err != nil {
			t.Errorf("backup %s was acknowledged: %v", name, err)
		}
	}
	names, _ := filepath.Glob(at(k.dir, "b-*.age"))
	for _, name := range names {
		if k.seen[name] {
			continue
		}
		k.seen[name] = true
		// Acknowledged or not: what has its name is whole.
		x, err := backup.Check(ctx, name, k.dir, []age.Identity{id}, withKey)
		if err != nil || len(x.Defects) > 0 || !x.Opened {
			t.Errorf("backup %s: %v %v, opened: %v", name, x.Defects, err, x.Opened)
		}
	}
}

func withKey(ctx context.Context, store casebook.KeyStore, key *seal.Key) (casebook.Sealer, error) {
	if key == nil {
		return nil, nil
	}
	return seal.Open(ctx, store, *key, rand.Reader)
}

// checkPlaces looks at restored and migrated stores. One that was cut short is not there, or done again.
func (k *killed) checkPlaces(t *testing.T) {
	ctx := context.Background()
	for name := range k.places {
		if _, err := os.Stat(at(k.dir, name)); err != nil {
			t.Errorf("%s was acknowledged: %v", name, err)
		}
	}
	half, _ := filepath.Glob(at(k.dir, "r-*.db.restoring"))
	for _, dir := range half {
		k.again(t, strings.TrimSuffix(dir, ".restoring"))
	}
	names, _ := filepath.Glob(at(k.dir, "[rm]-*.db"))
	for _, name := range names {
		if k.seen[name] {
			continue
		}
		k.seen[name] = true
		s, err := sqlite.Open(ctx, name)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		book := casebook.Book{Store: s}
		if filepath.Base(name)[0] == 'r' {
			keys, err := seal.Source{File: name + ".key", Random: rand.Reader}.Begin(ctx, s)
			if err != nil {
				t.Errorf("%s: %v", name, err)
			}
			book.Sealer = keys
		}
		report, err := book.Verify(ctx)
		if err != nil || !report.Sound() {
			t.Errorf("%s: %v %v", name, report.Defects, err)
		}
		if filepath.Base(name)[0] == 'm' && report.Head != fixtureHead {
			t.Errorf("%s: head %s", name, report.Head)
		}
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}
}

// again restores to where a restore was cut short.
func (k *killed) again(t *testing.T, path string) {
	if _, err := os.Stat(path); err == nil {
		// Cut short after the store got its name: only the folder was left to remove.
		if err := os.RemoveAll(path + ".restoring"); err != nil {
			t.Error(err)
		}
		return
	}
	id, err := identity(k.dir)
	if err != nil {
		t.Fatal(err)
	}
	names, _ := filepath.Glob(at(k.dir, "b-*.age"))
	os.Remove(path + ".key") // it may be of another backup than the one taken now
	if _, err := backup.Restore(context.Background(), names[len(names)-1], []age.Identity{id}, path, path+".key", nil); err != nil {
		t.Errorf("restoring again: %v", err)
	}
}
