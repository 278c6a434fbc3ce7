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
	for _, name := range Names() {
		raw, err := FS.ReadFile(name)
		if err != nil {
			panic("static: " + err.Error())
		}
		h.Write([]byte(name))
		h.Write(raw)
	}
	return hex.EncodeToString(h.Sum(nil)[:8])
}

// Names lists the files, in order.
func Names() []string {
	list, err := fs.ReadDir(FS, ".")
	if err != nil {
		panic("static: " + err.Error())
	}
	names := make([]string, len(list))
	for i, f := range list {
		names[i] = f.Name()
	}
	return names
}

// Path is the address of a file.
func Path(name string) string { return "/static/" + Mark + "/" + name }
