package cli

import (
	"context"
	"errors"
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
