package cli

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/demo"
	"lowtide/seal"
	"lowtide/web"
)

func init() { commands = append(commands, newDemo) }

// newDemo serves the invented caseload. It always has a store of its own, made for this run and removed at its end,
// so that invented patients never come near real ones.
func newDemo() *cobra.Command {
	var flags serveFlags
	var seed uint64
	var at string
	c := &cobra.Command{
		Use:   "demo",
		Short: "Serve an invented caseload of 24 patients, on a morning that is always now",
		Args:  exactly(0, "no argument"),
	}
	flags.add(c)
	c.Flags().Uint64Var(&seed, "seed", 1, "seed of the invented numbers; the same seed tells the same story")
	c.Flags().StringVar(&at, "at", "", "let the clock start at this time instead of now, for a lesson or a test (RFC 3339)")
	c.RunE = func(c *cobra.Command, _ []string) error {
		back, err := startClock(at)
		if err != nil {
			return err
		}
		defer back()
		dir, err := os.MkdirTemp("", "lowtide-demo-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(dir)
		s, err := sqlite.Open(c.Context(), filepath.Join(dir, "demo.db"))
		if err != nil {
			return err
		}
		defer s.Close()
		// Sealed like any store, with a key that only this run has.
		key, err := seal.NewKey(random)
		if err != nil {
			return err
		}
		keys, err := seal.Start(c.Context(), s, key, random)
		if err != nil {
			return err
		}
		book := casebook.Book{Store: s, Sealer: keys}
		if err := demo.Fill(c.Context(), book, now(), seed); err != nil {
			return fmt.Errorf("the invented caseload could not be written: %w", err)
		}
		return serve(c, flags, book, "", func(ctx context.Context, srv *web.Server, d *door, out herald) error {
			if err := people(ctx, srv, book, demoAccess(), keys, eraser(s, keys)); err != nil {
				return err
			}
			srv.Demo, srv.Author = true, demoPeople[0].name
			if err := fillPeople(ctx, srv.Accounts); err != nil {
				return err
			}
			return links(c, srv, d, out)
		})
	}
	return c
}

// startClock lets the program's clock start at a time and go on from there; the function it returns puts the real one
// back. No time leaves the real one.
func startClock(at string) (back func(), err error) {
	real := now
	if at != "" {
		start, err := instant("--at", at)
		if err != nil {
			return nil, err
		}
		began := real()
		now = func() time.Time { return start.Add(real().Sub(began)) }
	}
	return func() { now = real }, nil
}

// links prints the one-time link, and the next one after each use.
func links(c *cobra.Command, srv *web.Server, d *door, out herald) error {
	print := func(words string) error {
		link, err := srv.NewLink()
		if err != nil {
			return err
		}
		return out.say(words, "http://"+d.Addr().String()+link)
	}
	srv.LinkUsed = func() {
		if err := print("Next link, if another browser needs one"); err != nil {
			fmt.Fprintln(c.ErrOrStderr(), "lowtide: a new link could not be made:", err)
		}
	}
	if err := out.say("Demonstration: every patient is invented. Nothing is kept after the program ends.", ""); err != nil {
		return err
	}
	return print("Open this link once")
}
