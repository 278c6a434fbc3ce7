package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

	"lowtide/casebook"
)

// TakesNothing tells that opening a store to write failed because its medium takes nothing: it can be read all the same,
// by [OpenFrozen].
func TakesNothing(err error) bool {
	return casebook.TakesNothing(err) || errors.Is(err, fs.ErrPermission) || errors.Is(err, syscall.EROFS) || errors.Is(err, syscall.ENOSPC)
}

// OpenFrozen opens a store to read on a medium that takes nothing: not even the files that a reader shares with a writer
// are made there. Nobody may write to the store meanwhile. Entries that stand in a WAL are read from a copy, made in the
// system's folder for temporary files and removed by Close; they are sealed there as they are here. Appending is
// [casebook.ErrReadOnly]. Errors: those of [OpenReader], and [ErrLocked].
func OpenFrozen(ctx context.Context, path string) (*Store, error) {
	if _, err := os.Stat(path); err != nil {
		return nil, fmt.Errorf("sqlite: open %s to read: %w", path, err)
	}
	lock, err := lookLock(path + ".lock")
	if err != nil {
		return nil, fmt.Errorf("sqlite: %s: %w", path, err)
	}
	s := &Store{path: path, readOnly: true, lock: lock}
	from, mode := path, "ro&immutable=1"
	if wal, err := os.Stat(path + "-wal"); err == nil && wal.Size() > 0 {
		if s.copied, err = copyOf(path); err != nil {
			return nil, errors.Join(fmt.Errorf("sqlite: %s was not closed in order, and can only be read from a copy: %w", path, err), s.lock.release())
		}
		from, mode = filepath.Join(s.copied, filepath.Base(path)), "ro"
	}
	s.read = openPool(from, mode, readers)
	s.write = s.read
	if err := s.begin(ctx, func(ctx context.Context, db *sql.DB) error { return checkSchema(ctx, db) }); err != nil {
		return nil, fmt.Errorf("sqlite: open %s to read: %w", path, err)
	}
	return s, nil
}

// lookLock takes the write lock if its file is there and can be opened, so that nobody begins to write meanwhile.
func lookLock(path string) (*fileLock, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, nil // without its file nobody has the lock
	}
	if err := lockFile(f); err != nil {
		if !errors.Is(err, ErrLocked) {
			err = nil // a file system without locks
		}
		return nil, errors.Join(err, f.Close())
	}
	return &fileLock{f}, nil
}

// copyOf copies a store with its WAL into a folder of its own.
func copyOf(path string) (dir string, err error) {
	if dir, err = os.MkdirTemp("", "lowtide-"); err != nil {
		return "", err
	}
	for _, end := range []string{"", "-wal"} {
		if err := copyFile(path+end, filepath.Join(dir, filepath.Base(path)+end)); err != nil {
			return "", errors.Join(err, os.RemoveAll(dir))
		}
	}
	return dir, nil
}

func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Close())
}
