package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/signal"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"lowtide/casebook"
	"lowtide/review"
	"lowtide/web"
)

func init() { commands = append(commands, newServe) }

// serveFlags are common to serve and demo.
type serveFlags struct {
	frameFlags
	listen string
	author string
}

func (f *serveFlags) add(c *cobra.Command) {
	f.frameFlags.add(c)
	c.Flags().StringVar(&f.listen, "listen", "127.0.0.1:7433", "address to listen on; only loopback is allowed; port 0 takes a free one")
	c.Flags().StringVar(&f.author, "author", "nurse", "name that entries are written under")
}

func newServe() *cobra.Command {
	var flags serveFlags
	c := &cobra.Command{
		Use:   "serve",
		Short: "Open a store and serve it to a browser on this computer",
		Args:  exactly(0, "no argument"),
	}
	flags.add(c)
	store := storeFlag(c)
	var backups backupFlags
	backups.add(c)
	c.RunE = func(c *cobra.Command, _ []string) error {
		o, err := store.write(c)
		if err != nil {
			return err
		}
		defer o.close()
		if err := warnClock(c.Context(), c, o.store); err != nil {
			return err
		}
		ctx, stop := context.WithCancel(c.Context())
		wait, err := backups.keepBackups(ctx, c, o, store.path)
		if err != nil {
			stop()
			return err
		}
		// The store is closed only when no backup reads it any more.
		defer wait()
		defer stop()
		return serve(c, flags, o.book(), false)
	}
	return c
}

// refreshEvery is how often the caseload is brought up to date when nobody asks, so that nobody waits for it.
const refreshEvery = 20 * time.Second

// serve answers requests until the program is told to stop.
func serve(c *cobra.Command, flags serveFlags, book casebook.Book, demo bool) error {
	rules, err := ruleSet(c, flags.local)
	if err != nil {
		return err
	}
	eq, err := flags.equipmentSet()
	if err != nil {
		return err
	}
	ln, err := listenLoopback(flags.listen)
	if err != nil {
		return err
	}
	defer ln.Close()
	ctx, stop := signal.NotifyContext(c.Context(), os.Interrupt, syscall.SIGTERM)
	defer stop()

	load := review.NewCaseload(book, rules, eq)
	out := c.OutOrStdout()
	srv := &web.Server{Caseload: load, Rules: rules, Equipment: eq, Now: now, Random: random, Demo: demo, Author: flags.author,
		Zone: time.Local, Log: slog.New(slog.NewTextHandler(c.ErrOrStderr(), nil))}
	print := func(words string) error {
		link, err := srv.NewLink()
		if err == nil {
			_, err = fmt.Fprintf(out, "%s: http://%s%s\n", words, ln.Addr(), link)
		}
		return err
	}
	srv.LinkUsed = func() {
		if err := print("Next link, if another browser needs one"); err != nil {
			fmt.Fprintln(c.ErrOrStderr(), "lowtide: a new link could not be made:", err)
		}
	}
	if demo {
		fmt.Fprintln(out, "Demonstration: every patient is invented. Nothing is kept after the program ends.")
	}
	if err := print("Open this link once"); err != nil {
		return err
	}
	fmt.Fprintln(out, "Stop with Ctrl-C.")
	go keepFresh(ctx, load)
	return run(ctx, srv.Handler(), ln, c.ErrOrStderr())
}

// keepFresh reviews what has become due, so that a reader finds it done.
func keepFresh(ctx context.Context, load *review.Caseload) {
	tick := time.NewTicker(refreshEvery)
	defer tick.Stop()
	for {
		// Errors show when somebody asks for a page; here there is nobody to tell.
		_, _, _ = load.Rows(ctx, now())
		select {
		case <-tick.C:
		case <-ctx.Done():
			return
		}
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

// listenLoopback listens on this computer only. To listen elsewhere takes TLS and accounts, which are not there yet.
func listenLoopback(addr string) (net.Listener, error) {
	host, port, err := net.SplitHostPort(addr)
	if err != nil {
		return nil, errUsage{fmt.Errorf("--listen %q is not an address; type for example --listen 127.0.0.1:7433", addr)}
	}
	if host == "localhost" {
		host = "127.0.0.1"
	}
	if ip := net.ParseIP(host); ip == nil || !ip.IsLoopback() {
		return nil, errUsage{fmt.Errorf("--listen %q would let other computers in; Lowtide listens on this computer only: type --listen 127.0.0.1:%s", addr, port)}
	}
	ln, err := net.Listen("tcp", net.JoinHostPort(host, port))
	if err != nil {
		return nil, fmt.Errorf("%w; is Lowtide running already? Take another port: --listen 127.0.0.1:0", err)
	}
	return ln, nil
}
