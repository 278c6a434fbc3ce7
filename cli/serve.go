package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/signal"
	"runtime"
	"runtime/debug"
	"syscall"
	"time"

	"lowtide/accesslog"
	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/caseload"
	"lowtide/web"

	"github.com/spf13/cobra"
)

func init() { commands = append(commands, newServe) }

// serveFlags are common to serve and demo.
type serveFlags struct {
	frameFlags
	listenFlags
	json  bool
	roads string
}

func (f *serveFlags) add(c *cobra.Command) {
	f.frameFlags.add(c)
	f.listenFlags.add(c)
	roadFlag(c, &f.roads)
	c.Flags().BoolVar(&f.json, "json", false, "print each line as a JSON object with words and, where there is one, the address to open")
}

// herald prints what a running server has to say: a line of words, with an address to open if there is one.
type herald struct {
	w    io.Writer
	json bool
}

func (h herald) say(words, address string) error {
	var err error
	switch {
	case h.json:
		err = json.NewEncoder(h.w).Encode(struct {
			Words   string `json:"words"`
			Address string `json:"address,omitempty"`
		}{words, address})
	case address == "":
		_, err = fmt.Fprintln(h.w, words)
	default:
		_, err = fmt.Fprintf(h.w, "%s: %s\n", words, address)
	}
	return err
}

func newServe() *cobra.Command {
	var flags serveFlags
	c := &cobra.Command{
		Use:   "serve",
		Short: "Open a store and serve it to browsers",
		Args:  exactly(0, "no argument"),
	}
	flags.add(c)
	flags.addWide(c)
	store := storeFlag(c)
	var backups backupFlags
	backups.add(c)
	c.RunE = func(c *cobra.Command, _ []string) error {
		o, err := store.write(c)
		if sqlite.TakesNothing(err) {
			fmt.Fprintln(c.ErrOrStderr(), "lowtide:", err)
			return serveFrozen(c, flags, store)
		}
		if err != nil {
			return err
		}
		defer o.close()
		if err := warnClock(c.Context(), c, o.store); err != nil {
			return err
		}
		if _, err := o.keys.SplitDesk(c.Context(), o.store, deed("lowtide serve", "each call at the Call desk has a key of its own now")); err != nil {
			fmt.Fprintln(c.ErrOrStderr(), "lowtide:", err)
		}
		access, err := accessBook(c.Context(), store.path, o.keys)
		if err != nil {
			return err
		}
		defer access.Store.Close()
		differences, err := watch(c, o, store.path)
		if err != nil {
			return err
		}
		// Backups start when both stores are there, and end before either is closed.
		ctx, stop := context.WithCancel(c.Context())
		wait, err := backups.keepBackups(ctx, c, o, store.path)
		if err != nil {
			stop()
			return err
		}
		defer wait()
		marked := markAccess(ctx, c, o.book(), access.Store)
		defer marked()
		defer stop()
		shelf, err := sqlite.OpenShelf(c.Context(), sqlite.ShelfOf(store.path))
		if err != nil {
			// Without it the first list after the next start takes longer, and nothing else.
			fmt.Fprintln(c.ErrOrStderr(), "lowtide:", err)
		} else {
			defer shelf.Close()
		}
		return serve(c, flags, o.book(), store.path+".tls.pem", func(ctx context.Context, srv *web.Server, d *door, out herald) error {
			if err := people(ctx, srv, o.book(), access, o.keys, eraser(o.store, o.keys)); err != nil {
				return err
			}
			if shelf != nil {
				srv.Caseload.Shelf = shelf
			}
			srv.Differences = differences
			srv.DaySeal = func(ctx context.Context) (accesslog.DaySeal, error) { return sealNow(ctx, o, access.Store) }
			return greet(ctx, srv, d, out)
		})
	}
	return c
}

// refreshEvery is how often the caseload is brought up to date when nobody asks, so that nobody waits for it.
const refreshEvery = 20 * time.Second

// greet prints where to go: to the set-up of the first account, or to sign in.
func greet(ctx context.Context, srv *web.Server, d *door, out herald) error {
	set, err := srv.Accounts.Set(ctx, now())
	if err != nil {
		return err
	}
	words, address := "Sign in", d.shown+"/"
	if set.Empty() {
		path, err := srv.NewSetUp()
		if err != nil {
			return err
		}
		words, address = "Set up the first account", d.shown+path
	}
	if err := out.say(words, address); err != nil {
		return err
	}
	return sayPhone(out, d, address)
}

// serve answers requests until the program is told to stop. start puts into the server what the command has beside
// the caseload, and prints where to go.
func serve(c *cobra.Command, flags serveFlags, book casebook.Book, certFile string, start func(ctx context.Context, srv *web.Server, d *door, out herald) error) error {
	rules, err := ruleSet(c, flags.local)
	if err != nil {
		return err
	}
	eq, err := flags.equipmentSet()
	if err != nil {
		return err
	}
	out := herald{c.OutOrStdout(), flags.json}
	d, err := flags.open(certFile, func(words string) { out.say(words, "") })
	if err != nil {
		return err
	}
	defer d.Close()
	ctx, stop := signal.NotifyContext(c.Context(), os.Interrupt, syscall.SIGTERM)
	defer stop()

	calls, err := callModel(flags.local)
	if err != nil {
		return err
	}
	own, err := ownFiles(flags.frameFlags)
	if err != nil {
		return err
	}
	load := caseload.New(book, rules, eq)
	load.Program = build()
	srv := &web.Server{Calls: calls, Caseload: load, Rules: rules, Equipment: eq, Now: now, Line: time.Now, Random: random, Zone: time.Local,
		Log: slog.New(slog.NewTextHandler(c.ErrOrStderr(), nil)), Secure: d.secure, Proxies: d.proxies, Hosts: d.hosts, PDF: paperPDF, Bundle: bundleOf, Foreign: foreignFile, Exchange: exchange{}, Program: forBrowsers(), Files: own}
	if srv.Files, err = flags.files(); err != nil {
		return err
	}
	roads, err := roadKeeper(flags.roads)
	if err != nil {
		return err
	}
	if roads != nil {
		srv.Roads = roads.Legs
	}
	if err := start(ctx, srv, d, out); err != nil {
		return err
	}
	if err := out.say("Stop with Ctrl-C.", ""); err != nil {
		return err
	}
	fresh := make(chan struct{})
	go func() { defer close(fresh); keepFresh(ctx, load) }()
	err = run(ctx, srv.Handler(), d, c.ErrOrStderr())
	stop()
	<-fresh
	return err
}

// saveTime bounds how long the rows are put on the shelf when the program stops.
const saveTime = 5 * time.Second

// keepFresh reviews what has become due, so that a reader finds it done, and puts the rows on the shelf for the next start.
// Errors show when somebody asks for a page; here there is nobody to tell.
func keepFresh(ctx context.Context, load *caseload.Caseload) {
	tick := time.NewTicker(refreshEvery)
	defer tick.Stop()
	for {
		_, _, _ = load.Rows(ctx, now())
		_ = load.SaveRows(ctx)
		giveBack()
		select {
		case <-tick.C:
		case <-ctx.Done():
			last, cancel := context.WithTimeout(context.WithoutCancel(ctx), saveTime)
			defer cancel()
			_ = load.SaveRows(last)
			return
		}
	}
}

// heldMost is how much memory for its own use the program keeps between two looks without giving any back.
const heldMost = 128 << 20

// giveBack hands back what many reviews at once have left: between them the program needs little more than its rows.
func giveBack() {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	if m.HeapSys-m.HeapReleased > max(heldMost, m.NextGC*3/4) { // half as much again as what is in use
		debug.FreeOSMemory()
	}
}

// run serves until ctx ends, then lets requests finish for a moment.
func run(ctx context.Context, h http.Handler, ln net.Listener, errOut io.Writer) error {
	server := &http.Server{Handler: h, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 30 * time.Second, WriteTimeout: 60 * time.Second,
		IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 32 << 10, ErrorLog: slog.NewLogLogger(slog.NewTextHandler(errOut, nil), slog.LevelWarn)}
	done := make(chan error, 1)
	go func() { done <- server.Serve(ln) }()
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
	}
	wait, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	err := server.Shutdown(wait)
	if errors.Is(err, context.DeadlineExceeded) {
		err = server.Close()
	}
	return err
}
