package sqlite

import (
	"errors"
	"os"
)

// fileLock is held on a file beside the store for as long as the file is open. It is not the store's own
// file: SQLite holds locks on that one, which POSIX drops when any handle of the process on it closes.
type fileLock struct{ f *os.File }

// takeLock does not wait: it is ErrLocked when another holds the lock. The file itself is never removed,
// since another process may be about to lock it.
func takeLock(path string) (*fileLock, error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, err
	}
	if err := lockFile(f); err != nil {
		return nil, errors.Join(err, f.Close())
	}
	return &fileLock{f}, nil
}

func (l *fileLock) release() error {
	if l == nil {
		return nil
	}
	return l.f.Close()
}
