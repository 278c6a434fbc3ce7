//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package seal

import (
	"fmt"
	"os"
	"path/filepath"
	"syscall"
)

// guarded looks at the open file, not at its name, so that it cannot be exchanged in between; and at its folder, in
// which others must not be able to put another file in its place.
func guarded(f *os.File, path string) error {
	info, err := regular(f)
	if err != nil {
		return err
	}
	folder, err := os.Stat(filepath.Dir(path))
	if err != nil {
		return err
	}
	if err := bits(info, folder, path); err != nil {
		return err
	}
	// Who owns a file can always read it.
	if st, ok := info.Sys().(*syscall.Stat_t); ok && int(st.Uid) != os.Geteuid() {
		return fmt.Errorf("%w: it belongs to another user (%d)", ErrOpenToOthers, st.Uid)
	}
	return nil
}

// NewFile makes an empty file that only its owner may read. Error: [fs.ErrExist] when the name is taken.
func NewFile(name string) (*os.File, error) {
	return os.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o600)
}
