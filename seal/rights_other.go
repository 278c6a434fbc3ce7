//go:build !(darwin || dragonfly || freebsd || linux || netbsd || openbsd || windows)

package seal

import (
	"os"
	"path/filepath"
)

// guarded looks at the open file and its folder; who owns them is not known here.
func guarded(f *os.File, path string) error {
	info, err := regular(f)
	if err != nil {
		return err
	}
	folder, err := os.Stat(filepath.Dir(path))
	if err != nil {
		return err
	}
	return bits(info, folder, path)
}

// NewFile makes an empty file that only its owner may read. Error: [fs.ErrExist] when the name is taken.
func NewFile(name string) (*os.File, error) {
	return os.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o600)
}
