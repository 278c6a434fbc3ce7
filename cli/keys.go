package cli

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"lowtide/backup"
	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/seal"
)

// passphraseEnv holds the passphrase when nobody is there to type it.
const passphraseEnv = "LOWTIDE_PASSPHRASE"

// storeFlags say which store, and where its key comes from.
type storeFlags struct {
	path       string
	key        string
	passphrase bool
}

// storeFlag adds --store with its default, lowtide.db in the user's own configuration folder, and the flags of its
// key.
func storeFlag(c *cobra.Command) *storeFlags {
	var f storeFlags
	c.Flags().StringVar(&f.path, "store", defaultStore(), "the store's file")
	c.Flags().StringVar(&f.key, "key", "", "the store's key file; without it, the store's name and .key")
	c.Flags().BoolVar(&f.passphrase, "passphrase", false, "the store's key is a passphrase: asked for, or taken from "+passphraseEnv)
	return &f
}

func defaultStore() string {
	if dir, err := os.UserConfigDir(); err == nil {
		return filepath.Join(dir, "lowtide", "lowtide.db")
	}
	return "lowtide.db"
}

func (f *storeFlags) keyFile() string {
	if f.key != "" {
		return f.key
	}
	return f.path + ".key"
}

func (f *storeFlags) source(c *cobra.Command) seal.Source {
	s := seal.Source{File: f.keyFile(), Prefer: seal.FromFile, Random: random}
	_, fromEnv := os.LookupEnv(passphraseEnv)
	if f.passphrase {
		s.Prefer = seal.FromPassphrase
	}
	if f.passphrase || fromEnv {
		s.Passphrase = func(again bool) (string, error) { return askPassphrase(c, again) }
	}
	return s
}

// askPassphrase takes the passphrase from the environment, or asks for it; a new one is asked for twice.
func askPassphrase(c *cobra.Command, again bool) (string, error) {
	if text, ok := os.LookupEnv(passphraseEnv); ok {
		return text, nil
	}
	return typePassphrase(c, again)
}

func typePassphrase(c *cobra.Command, again bool) (string, error) {
	read := readLine(c.InOrStdin(), c.ErrOrStderr())
	words := "Passphrase of the store: "
	if again {
		words = fmt.Sprintf("New passphrase of the store (at least %d characters): ", seal.MinPassphrase)
	}
	text, err := read(words)
	if err != nil || !again {
		return text, err
	}
	second, err := read("The same again: ")
	if err == nil && second != text {
		err = errUsage{errors.New("the two passphrases differ; nothing was changed")}
	}
	return text, err
}

// readLine asks on w and reads a line of r: without showing it when r is a terminal.
func readLine(r io.Reader, w io.Writer) func(words string) (string, error) {
	if f, ok := r.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		return func(words string) (string, error) {
			fmt.Fprint(w, words)
			text, err := term.ReadPassword(int(f.Fd()))
			fmt.Fprintln(w)
			return string(text), err
		}
	}
	lines := bufio.NewReader(r)
	return func(words string) (string, error) {
		fmt.Fprint(w, words)
		text, err := lines.ReadString('\n')
		text = strings.TrimRight(text, "\r\n")
		if errors.Is(err, io.EOF) && text != "" {
			err = nil
		}
		if err != nil {
			return "", errUsage{fmt.Errorf("no passphrase came: type it, or set %s (%w)", passphraseEnv, err)}
		}
		return text, nil
	}
}

// opened is an open store with its book. Keys is nil for a plain store, which only readers open.
type opened struct {
	store  *sqlite.Store
	keys   *seal.Keys
	source seal.Source
}

func (o *opened) book() casebook.Book {
	if o.keys == nil {
		return casebook.Book{Store: o.store}
	}
	return casebook.Book{Store: o.store, Sealer: o.keys}
}

func (o *opened) close() error { return o.store.Close() }

// write opens a store to write, making and sealing it when there is none, and its folder (for its owner alone) when
// it is the default one. What other commands noted meanwhile is taken into the ledger.
func (f *storeFlags) write(c *cobra.Command) (*opened, error) {
	if f.path == defaultStore() {
		if err := os.MkdirAll(filepath.Dir(f.path), 0o700); err != nil {
			return nil, err
		}
	}
	ctx := c.Context()
	s, err := sqlite.Open(ctx, f.path)
	if err != nil {
		return nil, err
	}
	o := &opened{store: s, source: f.source(c)}
	if o.keys, err = o.source.Begin(ctx, s); err == nil {
		if err := beginChain(c, o); err != nil {
			return nil, errors.Join(err, s.Close())
		}
		if _, err := backup.TakeIn(ctx, f.path, o.book()); err != nil {
			fmt.Fprintln(c.ErrOrStderr(), "lowtide:", err)
		}
		return o, nil
	}
	if errors.Is(err, casebook.ErrPlain) {
		err = fmt.Errorf("%s holds plain entries, and Lowtide only works on sealed stores. Make a sealed copy and use that: lowtide seal %s NEW (%w)", f.path, f.path, casebook.ErrPlain)
	}
	return nil, errors.Join(err, s.Close())
}

// beginChain has the store keep the keyed chain. One of an older version has none: that its records get theirs now is
// kept in the ledger and said, because a chain that was taken away would look the same.
func beginChain(c *cobra.Command, o *opened) error {
	filled, err := o.keys.KeyChain(c.Context())
	if err != nil || filled == 0 {
		return err
	}
	fmt.Fprintf(c.ErrOrStderr(), "lowtide: the keyed chain was begun over the %d records that the store holds. That is done once, when a store of an older version is opened. If it was said before, somebody took the chain away: compare the store with a seal of the day that was kept elsewhere (lowtide check --against).\n", filled)
	return noteNow(c.Context(), o.book(), "lowtide "+c.Name(), "", casebook.ChainKeyed{Records: filled})
}

// noteNow writes an entry into the ledger of a book that is open for writing.
func noteNow(ctx context.Context, book casebook.Book, author, reason string, body casebook.Body) error {
	at := now()
	id, err := casebook.NewID(at, random)
	if err != nil {
		return err
	}
	return backup.Note(ctx, book, casebook.NewLedgerEntry(id, at, author, reason, body))
}

// read opens a store to read. A plain store opens without a key.
func (f *storeFlags) read(c *cobra.Command) (*opened, error) {
	ctx := c.Context()
	s, err := sqlite.OpenReader(ctx, f.path)
	if err != nil {
		return nil, err
	}
	o := &opened{store: s, source: f.source(c)}
	_, sealed, err := s.KeyMeta(ctx)
	if err == nil && sealed {
		o.keys, err = o.source.Unlock(ctx, s, false)
	}
	if err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return o, nil
}

// noKey tells that an error is about a key that is not at hand, rather than about a wrong one.
func noKey(err error) bool { return errors.Is(err, seal.ErrNoKey) }

// deed is what the user does to the store now.
func deed(author, reason string) seal.Deed {
	return seal.Deed{At: now(), Author: author, Reason: reason}
}

// warnClock says on stderr when the computer's clock is behind the store's last entry.
func warnClock(ctx context.Context, c *cobra.Command, s casebook.Store) error {
	words, err := casebook.ClockBehind(ctx, s, now())
	if err == nil && words != "" {
		fmt.Fprintln(c.ErrOrStderr(), "lowtide:", words)
	}
	return err
}
