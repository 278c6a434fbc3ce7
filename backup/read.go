package backup

import (
	"archive/tar"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"filippo.io/age"

	"lowtide/accesslog"
	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/seal"
)

const maxManifest = 1 << 20

// unpacked is a backup's content in a folder. The key stays in memory.
type unpacked struct {
	Manifest
	dir string
	key *seal.Key
}

func (u unpacked) store() string  { return filepath.Join(u.dir, storeName) }
func (u unpacked) access() string { return filepath.Join(u.dir, accessName) }

// unpack decrypts a backup into an empty folder and compares every byte with its manifest.
func unpack(file, dir string, identities []age.Identity) (unpacked, error) {
	u := unpacked{dir: dir}
	f, err := os.Open(file)
	if err != nil {
		return u, err
	}
	defer f.Close()
	plain, err := open(f, file, identities)
	if err != nil {
		return u, err
	}
	if err := u.extract(tar.NewReader(plain)); err != nil {
		return u, fmt.Errorf("%s: %w", file, err)
	}
	// To the end, where the encryption tells whether anything is missing.
	if _, err := io.Copy(io.Discard, plain); err != nil {
		return u, fmt.Errorf("%s: %w: %w", file, ErrDamaged, err)
	}
	return u, nil
}

// Look decrypts the start of a backup and returns what it says of itself. That is no proof: anybody can encrypt to a
// recipient.
func Look(file string, identities []age.Identity) (Manifest, error) {
	f, err := os.Open(file)
	if err != nil {
		return Manifest{}, fmt.Errorf("backup: %w", err)
	}
	defer f.Close()
	plain, err := open(f, file, identities)
	if err != nil {
		return Manifest{}, fmt.Errorf("backup: %w", err)
	}
	m, err := manifestOf(tar.NewReader(plain))
	if err != nil {
		return Manifest{}, fmt.Errorf("backup: %s: %w", file, err)
	}
	return m, nil
}

func open(f io.Reader, file string, identities []age.Identity) (io.Reader, error) {
	plain, err := age.Decrypt(f, identities...)
	var none *age.NoIdentityMatchError
	switch {
	case errors.As(err, &none):
		return nil, fmt.Errorf("%w: this identity does not open %s; nothing was changed", ErrOtherRecipient, file)
	case err != nil:
		return nil, fmt.Errorf("%s: %w, or it is damaged at its start: %w", file, ErrNotABackup, err)
	}
	return plain, nil
}

// manifestOf reads the first file of a backup.
func manifestOf(archive *tar.Reader) (Manifest, error) {
	head, err := archive.Next()
	if err != nil {
		return Manifest{}, fmt.Errorf("%w: it does not start as a backup does: %w", ErrDamaged, err)
	}
	if head.Name != manifestName || head.Size > maxManifest {
		return Manifest{}, fmt.Errorf("%w: it does not start with a manifest", ErrNotABackup)
	}
	text, err := io.ReadAll(archive)
	if err != nil {
		return Manifest{}, fmt.Errorf("%w: %w", ErrDamaged, err)
	}
	return readManifest(text)
}

func (u *unpacked) extract(archive *tar.Reader) error {
	var err error
	if u.Manifest, err = manifestOf(archive); err != nil {
		return err
	}
	for _, want := range u.Files {
		head, err := archive.Next()
		if err != nil {
			return fmt.Errorf("%w: before %s: %w", ErrDamaged, want.Name, err)
		}
		if head.Name != want.Name || head.Size != want.Bytes {
			return fmt.Errorf("%w: %s is not as its manifest says", ErrDamaged, want.Name)
		}
		if err := u.file(want, archive); err != nil {
			return err
		}
	}
	if _, err := archive.Next(); err != io.EOF {
		return fmt.Errorf("%w: it does not end as it should (%v)", ErrDamaged, err)
	}
	return nil
}

func (u *unpacked) file(want File, from io.Reader) (err error) {
	h := sha256.New()
	from = io.TeeReader(from, h)
	if want.Name == keyName {
		text, err := io.ReadAll(io.LimitReader(from, maxManifest))
		if err != nil {
			return fmt.Errorf("%w: %w", ErrDamaged, err)
		}
		key, err := seal.ParseKey(text)
		if err != nil || key.ID() != u.Key {
			return fmt.Errorf("%w: the key in it is not key %s (%v)", ErrDamaged, u.Key, err)
		}
		u.key = &key
	} else {
		f, err := os.OpenFile(filepath.Join(u.dir, want.Name), os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
		if err != nil {
			return err
		}
		_, err = io.Copy(f, from)
		if err == nil {
			err = f.Sync()
		}
		if err = errors.Join(err, f.Close()); err != nil {
			return fmt.Errorf("unpack %s: %w", want.Name, explain(err))
		}
	}
	if got := hex.EncodeToString(h.Sum(nil)); got != want.SHA256 {
		return fmt.Errorf("%w: %s was changed", ErrDamaged, want.Name)
	}
	return nil
}

// Keyed gives the sealer of a store in a backup; withKey is the key that was in the backup, if any. It returns
// nil, nil when there is no key at hand: then only the chain is checked.
type Keyed func(ctx context.Context, store casebook.KeyStore, withKey *seal.Key) (casebook.Sealer, error)

// Examined is what a look into a backup found.
type Examined struct {
	Manifest Manifest `json:"manifest"`
	// Opened tells whether a key was at hand, so that the contents were read.
	Opened bool            `json:"opened"`
	Store  casebook.Report `json:"store"`
	// Defects lists everything that does not hold, in the store, the access log, or against the manifest.
	Defects []string `json:"defects"`
	// Differences are the ways in which the store and its access log do not fit; they were copied as they were.
	Differences []casebook.DifferenceFound `json:"differences,omitempty"`
}

// Check unpacks a backup into scratch, a folder that it empties again, verifies it and compares it with its
// manifest. The error is for a backup that cannot be unpacked.
func Check(ctx context.Context, file, scratch string, identities []age.Identity, keyed Keyed) (x Examined, err error) {
	dir, err := os.MkdirTemp(scratch, "lowtide-check-")
	if err != nil {
		return x, fmt.Errorf("backup: %w", explain(err))
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	u, err := unpack(file, dir, identities)
	if err != nil {
		return x, fmt.Errorf("backup: %w", err)
	}
	return u.examine(ctx, keyed)
}

func (u unpacked) examine(ctx context.Context, keyed Keyed) (x Examined, err error) {
	x.Manifest = u.Manifest
	x.Defects = []string{}
	if err := upgrade(ctx, u.store()); err != nil {
		return x, fmt.Errorf("backup: %w", err)
	}
	sealer := func(ks casebook.KeyStore) (casebook.Sealer, error) {
		if keyed == nil {
			return nil, nil
		}
		s, err := keyed(ctx, ks, u.key)
		x.Opened = s != nil && err == nil
		return s, err
	}
	if x.Store, _, err = verify(ctx, u.store(), sealer); err != nil {
		return x, fmt.Errorf("backup: %w", err)
	}
	x.Defects = append(x.Defects, x.Store.Defects...)
	if got := x.Store.Counts(); got != u.Store {
		x.Defects = append(x.Defects, fmt.Sprintf("the store holds %+v; when the backup was made it held %+v", got, u.Store))
	}
	if u.Access == nil {
		return x, nil
	}
	if err := upgrade(ctx, u.access()); err != nil {
		return x, fmt.Errorf("backup: %w", err)
	}
	access, _, err := verify(ctx, u.access(), nil)
	if err != nil {
		return x, fmt.Errorf("backup: access log: %w", err)
	}
	for _, d := range access.Defects {
		x.Defects = append(x.Defects, "access log: "+d)
	}
	if got := access.Counts(); got != *u.Access {
		x.Defects = append(x.Defects, fmt.Sprintf("the access log holds %+v; when the backup was made it held %+v", got, *u.Access))
	}
	if !x.Opened {
		return x, nil
	}
	x.Differences, err = u.compare(ctx, sealer)
	return x, err
}

// compare tells whether the store and the access log of a backup fit each other.
func (u unpacked) compare(ctx context.Context, sealer func(casebook.KeyStore) (casebook.Sealer, error)) ([]casebook.DifferenceFound, error) {
	store, err := sqlite.OpenReader(ctx, u.store())
	if err != nil {
		return nil, fmt.Errorf("backup: %w", err)
	}
	defer store.Close()
	access, err := sqlite.OpenReader(ctx, u.access())
	if err != nil {
		return nil, fmt.Errorf("backup: access log: %w", err)
	}
	defer access.Close()
	own, err := sealer(store)
	if err != nil {
		return nil, fmt.Errorf("backup: %w", err)
	}
	keys, ok := own.(*seal.Keys)
	if !ok {
		return nil, nil
	}
	beside, err := keys.OpenBeside(ctx, access, casebook.AccessLog)
	if err != nil {
		return nil, fmt.Errorf("backup: access log: %w", err)
	}
	// The log was copied before the store, so what the ledger noted of it after that moment is left out.
	return accesslog.Compare(ctx, casebook.Book{Store: store, Sealer: own}, casebook.Book{Store: access, Sealer: beside}, true, u.Made)
}

// upgrade opens an unpacked store once to write: one of an older version is brought up to this one.
func upgrade(ctx context.Context, path string) error {
	s, err := sqlite.Open(ctx, path)
	if err != nil {
		return err
	}
	if err := s.Close(); err != nil {
		return err
	}
	return os.Remove(path + ".lock")
}

// Restore puts a backup into an empty place: the store at path, its access log, and its key at keyFile if the
// backup holds it. The store gets its name last, after everything was verified and is on the medium; until then
// there is no store, and a restore that was cut short is simply done again.
//
// Errors: [ErrOccupied], [ErrNotABackup], [ErrDamaged], [ErrOtherRecipient], [ErrNewer].
func Restore(ctx context.Context, file string, identities []age.Identity, path, keyFile string, keyed Keyed) (x Examined, err error) {
	for _, name := range []string{path, path + "-wal"} {
		if _, err := os.Lstat(name); err == nil {
			return x, fmt.Errorf("backup: %s is there: %w: restore to another name, or move what is there away", name, ErrOccupied)
		}
	}
	dir := path + ".restoring"
	if err := os.RemoveAll(dir); err != nil {
		return x, fmt.Errorf("backup: %w", explain(err))
	}
	if err := os.Mkdir(dir, 0o700); err != nil {
		return x, fmt.Errorf("backup: %w", explain(err))
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	u, err := unpack(file, dir, identities)
	if err != nil {
		return x, fmt.Errorf("backup: %w; nothing was restored", err)
	}
	if x, err = u.examine(ctx, keyed); err != nil {
		return x, fmt.Errorf("%w; nothing was restored", err)
	}
	if len(x.Defects) > len(u.Defects) {
		return x, fmt.Errorf("backup: %w: %s (%d in all); nothing was restored", ErrDamaged, x.Defects[0], len(x.Defects))
	}
	return x, u.install(path, keyFile)
}

// install moves the unpacked files to where they belong, the store last.
func (u unpacked) install(path, keyFile string) error {
	if u.key != nil {
		if err := placeKey(*u.key, keyFile); err != nil {
			return err
		}
	}
	if u.Access != nil {
		// One that a restore of the same backup left, which was cut short, gives way; any other does not.
		if _, err := os.Lstat(AccessPath(path)); err == nil {
			var there Manifest
			if err := there.add(accessName, AccessPath(path)); err != nil {
				return fmt.Errorf("backup: %w", err)
			}
			var ours Manifest
			if err := ours.add(accessName, u.access()); err != nil {
				return fmt.Errorf("backup: %w", err)
			}
			if there.Files[0] != ours.Files[0] {
				return fmt.Errorf("backup: %s is there: %w: move it away", AccessPath(path), ErrOccupied)
			}
		}
		if err := os.Rename(u.access(), AccessPath(path)); err != nil {
			return fmt.Errorf("backup: %w", explain(err))
		}
	}
	if err := os.Rename(u.store(), path); err != nil {
		return fmt.Errorf("backup: %w", explain(err))
	}
	return syncFolder(filepath.Dir(path))
}

func placeKey(key seal.Key, file string) error {
	there, err := seal.ReadKeyFile(file)
	switch {
	case err == nil && there.ID() == key.ID():
		return nil
	case err == nil:
		return fmt.Errorf("backup: key file %s holds another key (%s): %w: move it away, or name another with --key", file, there.ID(), ErrOccupied)
	case !errors.Is(err, fs.ErrNotExist):
		return err
	}
	return seal.WriteKeyFile(file, key)
}
