//go:build !(darwin || dragonfly || freebsd || linux || netbsd || openbsd)

package seal

import "io/fs"

func ownFile(fs.FileInfo) error { return nil }
