package cli

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"sync"

	"lowtide/bedside/packed"
	"lowtide/web"
)

// forBrowsers gives Lowtide built for browsers: what was embedded, or what the Go command makes of the source where the
// program is run from it, once, at the first request.
func forBrowsers() func(context.Context) (web.Program, error) {
	make := sync.OnceValues(func() (packed.Program, error) {
		if p, ok := packed.Embedded(); ok {
			return p, nil
		}
		here, err := os.Getwd()
		if err != nil {
			return packed.Program{}, err
		}
		source := packed.Source(here)
		if source == "" {
			return packed.Program{}, errors.New("this program was built without the part for browsers, and its source is not here")
		}
		return packed.Make(context.Background(), source)
	})
	return func(context.Context) (web.Program, error) {
		p, err := make()
		return web.Program(p), err
	}
}

// mostOwn bounds the agency's own files, in bytes: they go to every phone.
const mostOwn = 4 << 20

// ownFiles are the agency's own: the local protocol and the equipment, which a phone needs to judge as the server does.
func ownFiles(flags frameFlags) (map[string][]byte, error) {
	files, size := map[string][]byte{}, 0
	keep := func(name string, raw []byte) error {
		if size += len(raw); size > mostOwn {
			return fmt.Errorf("the local protocol and the equipment together are larger than %d MB, too large for a phone", mostOwn>>20)
		}
		files[name] = raw
		return nil
	}
	if flags.local != "" {
		own := os.DirFS(flags.local)
		err := fs.WalkDir(own, ".", func(path string, d fs.DirEntry, err error) error {
			if err != nil || !d.Type().IsRegular() {
				return err
			}
			raw, err := fs.ReadFile(own, path)
			if err != nil {
				return err
			}
			return keep("local/"+path, raw)
		})
		if err != nil {
			return nil, err
		}
	}
	if flags.equipment != "" {
		raw, err := os.ReadFile(flags.equipment)
		if err == nil {
			err = keep("equipment.toml", raw)
		}
		if err != nil {
			return nil, err
		}
	}
	return files, nil
}
