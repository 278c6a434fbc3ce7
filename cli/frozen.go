package cli

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"

	"github.com/spf13/cobra"

	"lowtide/accesslog"
	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/casebook/sqlite"
	"lowtide/seal"
	"lowtide/web"
)

// serveFrozen serves a store whose disk takes nothing, to be read only. No backups are made, and who read what is kept in
// memory while the server runs.
func serveFrozen(c *cobra.Command, flags serveFlags, store *storeFlags) error {
	o, err := store.frozen(c)
	if err != nil {
		return err
	}
	defer o.close()
	access, err := frozenAccess(c.Context(), store.path, o.keys)
	if err != nil {
		return err
	}
	if s, ok := access.Store.(*sqlite.Store); ok {
		defer s.Close()
	}
	found, err := accesslog.Compare(c.Context(), o.book(), access, false, time.Time{})
	if err != nil {
		return err
	}
	fmt.Fprintln(c.ErrOrStderr(), "lowtide: the store can only be read: pages are shown, nothing is saved. Mend the disk, then start Lowtide again.")
	return serve(c, flags, o.book(), store.path+".tls.pem", func(ctx context.Context, srv *web.Server, d *door, out herald) error {
		if err := people(ctx, srv, o.book(), access, o.keys, nil); err != nil {
			return err
		}
		srv.Frozen = true
		for _, f := range found {
			srv.Differences = append(srv.Differences, f.Words)
		}
		srv.DaySeal = func(ctx context.Context) (accesslog.DaySeal, error) { return sealNow(ctx, o, access.Store) }
		return greet(ctx, srv, d, out)
	})
}

// frozen opens a store whose disk takes nothing.
func (f *storeFlags) frozen(c *cobra.Command) (*opened, error) {
	s, err := sqlite.OpenFrozen(c.Context(), f.path)
	if err != nil {
		return nil, err
	}
	o := &opened{store: s, source: f.source(c)}
	if o.keys, err = o.source.Unlock(c.Context(), s, false); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return o, nil
}

// frozenAccess opens the access log beside it. Where there is none, lines are kept in memory.
func frozenAccess(ctx context.Context, path string, keys *seal.Keys) (casebook.Book, error) {
	if _, err := os.Stat(accessFile(path)); errors.Is(err, fs.ErrNotExist) {
		return casebook.Book{Store: memory.New()}, nil
	}
	s, err := sqlite.OpenFrozen(ctx, accessFile(path))
	if err != nil {
		return casebook.Book{}, err
	}
	return besideBook(ctx, s, keys)
}
