//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package seal

import (
	"fmt"
	"io/fs"
	"os"
	"syscall"
)

// ownFile refuses a key file that belongs to another user: who owns a file can always read it.
func ownFile(info fs.FileInfo) error {
	if st, ok := info.Sys().(*syscall.Stat_t); ok && int(st.Uid) != os.Geteuid() {
		return fmt.Errorf("%w: it belongs to another user (%d)", ErrOpenToOthers, st.Uid)
	}
	return nil
}
