package sqlite

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// hardLinks is how many names a file has; here the system does not tell with the file's other properties.
func hardLinks(os.FileInfo) uint64 { return 1 }

func lockFile(f *os.File) error {
	err := windows.LockFileEx(windows.Handle(f.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY,
		0, 1, 0, new(windows.Overlapped))
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return ErrLocked
	}
	return err
}
