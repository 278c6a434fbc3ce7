// Package static shows: the style sheets and scripts of the pages, each under a name that changes with the content, so that
// browsers may keep them.
package static

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"io/fs"
)

// FS are the files.
//
//go:embed *.css *.js *.svg
var FS embed.FS

// Mark names this state of all the files together: they load each other by name, so they change together.
var Mark = mark()

func mark() string {
	h := sha256.New()
	list, err := fs.ReadDir(FS, ".")
	if err != nil {
		panic("static: " + err.Error())
	}
	for _, f := range list {
		raw, err := FS.ReadFile(f.Name())
		if err != nil {
			panic("static: " + err.Error())
		}
		h.Write([]byte(f.Name()))
		h.Write(raw)
	}
	return hex.EncodeToString(h.Sum(nil)[:8])
}

// Path is the address of a file.
func Path(name string) string { return "/static/" + Mark + "/" + name }
