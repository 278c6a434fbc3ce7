package backup

import (
	"archive/tar"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"time"

	"filippo.io/age"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/seal"
)

// Plan says what to back up, and for whom.
type Plan struct {
	// Store is the path of a sealed store, which may be in use. Its access log is Store + ".access".
	Store      string
	Recipients []age.Recipient
	// Key is put into the backup when given.
	Key *seal.Key
}

// AccessPath is where a store's access log is.
func AccessPath(store string) string { return store + ".access" }

// Write writes a backup to a new file: whole under its name, or not there at all. What is left of one that was
// cut short has other names, FILE.part and FILE.snapshot*, and goes with the next that is written there.
//
// A store that does not verify is backed up all the same; the manifest and the result name its defects.
func (p Plan) Write(ctx context.Context, file string, at time.Time) (m Manifest, size int64, err error) {
	if len(p.Recipients) == 0 {
		return m, 0, fmt.Errorf("backup: a backup needs a recipient; lowtide key identity makes one")
	}
	if _, err := os.Lstat(file); err == nil {
		return m, 0, fmt.Errorf("backup: %s: %w: name a file that does not exist yet", file, fs.ErrExist)
	}
	defer func() {
		if err != nil {
			err = fmt.Errorf("backup: %s was not made, and earlier backups are as they were: %w", file, explain(err))
		}
	}()
	if err := sweep(file); err != nil {
		return m, 0, err
	}
	defer func() { err = errors.Join(err, sweep(file)) }()
	m = Manifest{Format: manifestFormat, Version: manifestVersion, Made: at}
	if err := p.snapshots(ctx, file, &m); err != nil {
		return m, 0, err
	}
	if size, err = p.encrypt(file+".part", file, m); err != nil {
		return m, 0, err
	}
	if err := os.Rename(file+".part", file); err != nil {
		return m, 0, err
	}
	return m, size, syncFolder(filepath.Dir(file))
}

// sweep removes what an earlier run that was cut short left behind.
func sweep(file string) error {
	var err error
	for _, end := range []string{".part", ".snapshot", ".snapshot-access", ".snapshot-journal", ".snapshot-access-journal"} {
		if e := os.Remove(file + end); e != nil && !errors.Is(e, fs.ErrNotExist) {
			err = errors.Join(err, e)
		}
	}
	return err
}

// snapshots copies the stores beside the backup and notes what they hold.
func (p Plan) snapshots(ctx context.Context, file string, m *Manifest) error {
	// The access log first: its lines must not have seen more of the store than is copied.
	var access casebook.Report
	_, statErr := os.Stat(AccessPath(p.Store))
	if statErr == nil {
		var err error
		if access, _, err = snapshot(ctx, AccessPath(p.Store), file+".snapshot-access"); err != nil {
			return err
		}
	}
	report, meta, err := snapshot(ctx, p.Store, file+".snapshot")
	if err != nil {
		return err
	}
	m.Store, m.Defects, m.Key, m.Holder = report.Counts(), report.Defects, meta.ID, meta.Kind
	if err := m.add(storeName, file+".snapshot"); err != nil {
		return err
	}
	if statErr == nil {
		report := access
		counts := report.Counts()
		m.Access = &counts
		for _, d := range report.Defects {
			m.Defects = append(m.Defects, "access log: "+d)
		}
		if err := m.add(accessName, file+".snapshot-access"); err != nil {
			return err
		}
	}
	if p.Key == nil {
		return nil
	}
	if p.Key.ID() != m.Key || m.Holder != seal.FromFile {
		return fmt.Errorf("the store is sealed with key %s (%s), which is not the one to put into the backup", m.Key, m.Holder)
	}
	m.WithKey = true
	sum := sha256.Sum256([]byte(p.Key.Text()))
	m.Files = append(m.Files, File{keyName, int64(len(p.Key.Text())), hex.EncodeToString(sum[:])})
	return nil
}

func snapshot(ctx context.Context, store, to string) (casebook.Report, casebook.KeyMeta, error) {
	s, err := sqlite.OpenReader(ctx, store)
	if err != nil {
		return casebook.Report{}, casebook.KeyMeta{}, err
	}
	defer s.Close()
	if err := s.Snapshot(ctx, to); err != nil {
		return casebook.Report{}, casebook.KeyMeta{}, err
	}
	return verify(ctx, to, nil)
}

// verify checks a store that stands alone. sealer may be nil.
func verify(ctx context.Context, path string, sealer func(casebook.KeyStore) (casebook.Sealer, error)) (casebook.Report, casebook.KeyMeta, error) {
	s, err := sqlite.OpenReader(ctx, path)
	if err != nil {
		return casebook.Report{}, casebook.KeyMeta{}, err
	}
	defer s.Close()
	meta, sealed, err := s.KeyMeta(ctx)
	if err != nil {
		return casebook.Report{}, meta, err
	}
	if !sealed {
		return casebook.Report{}, meta, fmt.Errorf("%s: %w: lowtide seal makes a sealed copy", path, casebook.ErrPlain)
	}
	book := casebook.Book{Store: s}
	if sealer != nil {
		if book.Sealer, err = sealer(s); err != nil {
			return casebook.Report{}, meta, err
		}
	}
	report, err := book.Verify(ctx)
	return report, meta, err
}

func (m *Manifest) add(name, path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	h := sha256.New()
	n, err := io.Copy(h, f)
	m.Files = append(m.Files, File{name, n, hex.EncodeToString(h.Sum(nil))})
	return err
}

// encrypt writes the backup's bytes and puts them onto the medium.
func (p Plan) encrypt(part, file string, m Manifest) (size int64, err error) {
	f, err := os.OpenFile(part, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	sealed, err := age.Encrypt(f, p.Recipients...)
	if err != nil {
		return 0, err
	}
	archive := tar.NewWriter(sealed)
	text, err := json.MarshalIndent(m, "", "  ")
	if err != nil {
		return 0, err
	}
	if err := put(archive, manifestName, int64(len(text)), strings.NewReader(string(text)), m.Made); err != nil {
		return 0, err
	}
	for _, entry := range m.Files {
		var from io.Reader
		switch entry.Name {
		case keyName:
			from = strings.NewReader(p.Key.Text())
		default:
			name := file + ".snapshot"
			if entry.Name == accessName {
				name += "-access"
			}
			src, err := os.Open(name)
			if err != nil {
				return 0, err
			}
			defer src.Close()
			from = src
		}
		if err := put(archive, entry.Name, entry.Bytes, from, m.Made); err != nil {
			return 0, err
		}
	}
	for _, end := range []func() error{archive.Close, sealed.Close, f.Sync} {
		if err := end(); err != nil {
			return 0, err
		}
	}
	info, err := f.Stat()
	if err != nil {
		return 0, err
	}
	return info.Size(), nil
}

func put(to *tar.Writer, name string, size int64, from io.Reader, at time.Time) error {
	if err := to.WriteHeader(&tar.Header{Name: name, Size: size, Mode: 0o600, ModTime: at}); err != nil {
		return err
	}
	_, err := io.Copy(to, from)
	return err
}

// explain adds what to do to the system's words.
func explain(err error) error {
	switch {
	case errors.Is(err, syscall.ENOSPC):
		return fmt.Errorf("the disk is full: make room and try again (%w)", err)
	case errors.Is(err, syscall.EROFS), errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("the place cannot be written to: check the rights on the folder, or take another (%w)", err)
	}
	return err
}

func syncFolder(dir string) error {
	if runtime.GOOS == "windows" {
		return nil // a folder cannot be opened there; the system keeps names by itself
	}
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}
