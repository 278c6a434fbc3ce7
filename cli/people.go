package cli

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"time"

	"github.com/spf13/cobra"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/casebook/sqlite"
	"lowtide/demo"
	"lowtide/passkey"
	"lowtide/seal"
	"lowtide/web"
)

func init() { commands = append(commands, newAccess, newAccount) }

const (
	// hashesAtOnce bounds what signing in takes of memory: two times 64 MiB, however many people sign in.
	hashesAtOnce = 2
	// hashesWaiting is how many more may wait; each takes a fraction of a second.
	hashesWaiting = 20
	// requests of one account at one address: far above what a person does.
	requestsPerSec, requestsAtOnce = 20, 200
)

// accessFile is where the access log of a store is kept.
func accessFile(store string) string { return store + ".access" }

// accessBook opens the access log of a store with the key that is derived from the store's.
func accessBook(ctx context.Context, path string, keys *seal.Keys) (casebook.Book, error) {
	s, err := sqlite.Open(ctx, accessFile(path))
	if err != nil {
		return casebook.Book{}, fmt.Errorf("the access log cannot be opened, and without it no page may be shown: %w", err)
	}
	book, err := sealedAccess(ctx, s, keys)
	if err != nil {
		return casebook.Book{}, errors.Join(fmt.Errorf("the access log %s: %w", accessFile(path), err), s.Close())
	}
	return book, nil
}

func sealedAccess(ctx context.Context, s seal.Store, keys *seal.Keys) (casebook.Book, error) {
	key, err := keys.Derived(ctx, casebook.AccessLog)
	if err != nil {
		return casebook.Book{}, err
	}
	own, err := seal.Open(ctx, s, key, random)
	if errors.Is(err, casebook.ErrPlain) {
		own, err = seal.Start(ctx, s, key, random)
	}
	if err == nil {
		_, err = own.KeyChain(ctx)
	}
	return casebook.Book{Store: s, Sealer: own}, err
}

// readAccess opens the access log of a store to read; [fs.ErrNotExist] when there is none.
func readAccess(ctx context.Context, path string, keys *seal.Keys) (casebook.Book, error) {
	s, err := sqlite.OpenReader(ctx, accessFile(path))
	if err != nil {
		return casebook.Book{}, err
	}
	return besideBook(ctx, s, keys)
}

// besideBook is an access log that is only read; the store is closed when the keys do not open it.
func besideBook(ctx context.Context, s *sqlite.Store, keys *seal.Keys) (casebook.Book, error) {
	own, err := keys.OpenBeside(ctx, s, casebook.AccessLog)
	if err != nil {
		return casebook.Book{}, errors.Join(err, s.Close())
	}
	return casebook.Book{Store: s, Sealer: own}, nil
}

// people puts accounts, the access log, erasing and the key of drafts into a server.
func people(ctx context.Context, srv *web.Server, book casebook.Book, access casebook.Book, keys *seal.Keys, erase func(ctx context.Context, caseID, by, reason string) error) error {
	srv.Accounts = account.NewDirectory(book, random)
	srv.Hasher = account.NewHasher(account.UsualCost, hashesAtOnce, hashesWaiting)
	srv.Passkeys = passkey.New(random)
	srv.Access = accesslog.New(access, random)
	srv.Access.Beside(book.Store)
	srv.Erase = erase
	srv.SetPace(requestsPerSec, requestsAtOnce)
	var err error
	srv.DraftKey, err = keys.Secret(ctx, "drafts")
	return err
}

// eraser destroys the key of a case.
func eraser(store casebook.Store, keys *seal.Keys) func(ctx context.Context, caseID, by, reason string) error {
	return func(ctx context.Context, caseID, by, reason string) error {
		return keys.Erase(ctx, store, caseID, deed(by, reason))
	}
}

// demoPeople are the invented people of a demonstration. The first is who a link opens for; her list has every
// patient, that of the second only one team's, so that the question for a reason can be seen.
var demoPeople = []struct {
	name, shown string
	roles       []account.Role
	teams       []string
}{
	{"m.thorne", "M. Thorne", []account.Role{account.Nurse}, []string{"Quayside", "Hill"}},
	{"j.okafor", "J. Okafor", []account.Role{account.Nurse}, []string{"Hill"}},
	{"i.vance", "Dr I. Vance", []account.Role{account.Prescriber}, []string{"Quayside", "Hill"}},
	{"l.brandt", "L. Brandt", []account.Role{account.Reader}, []string{"Quayside"}},
	{"s.amani", "S. Amani", []account.Role{account.Stores}, nil},
	{"a.quill", "A. Quill", []account.Role{account.Admin}, nil},
}

// fillPeople makes the invented accounts. None has a password.
func fillPeople(ctx context.Context, d *account.Directory) error {
	_, err := d.Change(ctx, now(), demo.Author, "demonstration", func(s *account.Set) ([]casebook.Body, error) {
		var out []casebook.Body
		for _, p := range demoPeople {
			b, err := s.Create(p.name, p.shown, p.roles, p.teams)
			if err != nil {
				return nil, err
			}
			out = append(out, b)
		}
		return out, nil
	})
	return err
}

// demoAccess is the access log of a demonstration: in memory, and gone with it.
func demoAccess() casebook.Book { return casebook.Book{Store: memory.New()} }

func newAccess() *cobra.Command {
	var asJSON, asCSV, verify bool
	var q accesslog.Query
	var from, to string
	c := &cobra.Command{
		Use:   "access",
		Short: "Print or verify the access log: who read or changed which case, when and why",
		Args:  exactly(0, "no argument"),
	}
	flags := storeFlag(c)
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.Flags().BoolVar(&asCSV, "csv", false, "print CSV")
	c.Flags().BoolVar(&verify, "verify", false, "verify the chain instead")
	c.Flags().StringVar(&q.Case, "case", "", "only this case")
	c.Flags().StringVar(&q.Account, "account", "", "only this account")
	c.Flags().StringVar(&from, "from", "", "from this day on, such as 2026-03-01 (UTC)")
	c.Flags().StringVar(&to, "to", "", "up to this day, included (UTC)")
	c.RunE = func(c *cobra.Command, _ []string) error {
		var err error
		if q.From, err = dayFlag("--from", from); err != nil {
			return err
		}
		if q.To, err = dayFlag("--to", to); err != nil {
			return err
		}
		o, err := flags.read(c)
		if err != nil {
			return err
		}
		defer o.close()
		if o.keys == nil {
			return fmt.Errorf("%s is not sealed, so it has no access log", flags.path)
		}
		book, err := readAccess(c.Context(), flags.path, o.keys)
		if errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("there is no access log beside %s yet: it begins with the first lowtide serve", flags.path)
		}
		if err != nil {
			return err
		}
		defer book.Store.Close()
		log := accesslog.New(book, random)
		out := c.OutOrStdout()
		if verify {
			report, err := log.Verify(c.Context())
			if err == nil && asJSON {
				err = printJSON(out, report)
			} else if err == nil {
				err = printCheck(out, accessFile(flags.path), report)
			}
			if err == nil && !report.Sound() {
				err = errQuiet
			}
			return err
		}
		lines, _, err := log.Find(c.Context(), q)
		switch {
		case err != nil:
			return err
		case asJSON:
			return accesslog.WriteJSON(out, lines)
		case asCSV:
			return accesslog.WriteCSV(out, lines)
		}
		for _, l := range lines {
			fmt.Fprintf(out, "%s  %s  %s  %s  %s\n", l.At.UTC().Format("2006-01-02 15:04:05"), l.Account, l.What, l.Case, l.Why)
		}
		return nil
	}
	return c
}

func newAccount() *cobra.Command {
	c := &cobra.Command{Use: "account", Short: "List accounts, or make a one-time link for a forgotten password"}
	c.AddCommand(newAccountList(), newAccountLink())
	return c
}

// accountInfo is what the list tells about an account: nothing secret.
type accountInfo struct {
	Name         string         `json:"name"`
	Shown        string         `json:"shown"`
	Roles        []account.Role `json:"roles"`
	Teams        []string       `json:"teams"`
	Disabled     bool           `json:"disabled"`
	SecondFactor bool           `json:"second_factor"`
}

func newAccountList() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{Use: "list", Short: "List the accounts", Args: exactly(0, "no argument")}
	flags := storeFlag(c)
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.RunE = func(c *cobra.Command, _ []string) error {
		o, err := flags.read(c)
		if err != nil {
			return err
		}
		defer o.close()
		set, err := account.NewDirectory(o.book(), random).Set(c.Context(), now())
		if err != nil {
			return err
		}
		list := []accountInfo{}
		for _, a := range set.All() {
			list = append(list, accountInfo{a.Name, a.Shown, a.Roles, append([]string{}, a.Teams...), a.Disabled, a.SecondFactor()})
		}
		if asJSON {
			return printJSON(c.OutOrStdout(), list)
		}
		for _, a := range list {
			fmt.Fprintf(c.OutOrStdout(), "%s  %s  %v  %v  disabled: %v  second factor: %v\n", a.Name, a.Shown, a.Roles, a.Teams, a.Disabled, a.SecondFactor)
		}
		return nil
	}
	return c
}

func newAccountLink() *cobra.Command {
	var second, asJSON bool
	c := &cobra.Command{
		Use:   "link NAME",
		Short: "Make a one-time link with which a password is set: for an administrator who forgot hers",
		Long:  "Whoever has the store and its key can do this, and it is kept in the accounts' log. Stop the server first, and start it again\nbefore the link is used.",
		Args:  exactly(1, "the sign-in NAME"),
	}
	flags := storeFlag(c)
	c.Flags().BoolVar(&second, "second", false, "take passkeys and one-time codes away too")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.RunE = func(c *cobra.Command, args []string) error {
		o, err := flags.write(c)
		if err != nil {
			return err
		}
		defer o.close()
		key := ""
		_, err = account.NewDirectory(o.book(), random).Change(c.Context(), now(), "command line", "account link", func(s *account.Set) (out []casebook.Body, err error) {
			if second {
				b, err := s.ResetSecond("command line", args[0], "asked for at the command line")
				if err != nil {
					return nil, err
				}
				out = append(out, b)
			}
			b, k, err := s.MakeLink(args[0], now(), random)
			key = k
			return append(out, b), err
		})
		var refused *account.Refused
		if errors.As(err, &refused) {
			return errUsage{err}
		}
		if err != nil {
			return err
		}
		if asJSON {
			return printJSON(c.OutOrStdout(), map[string]string{"name": args[0], "path": "/link?key=" + key})
		}
		_, err = fmt.Fprintf(c.OutOrStdout(), "Open this path at the server's address within a day, once: /link?key=%s\n", key)
		return err
	}
	return c
}

// dayFlag reads a day; the empty text is the zero time.
func dayFlag(name, text string) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	t, err := time.Parse("2006-01-02", text)
	if err != nil {
		return t, errUsage{fmt.Errorf("%s %q is not a day; type for example %s 2026-03-01", name, text, name)}
	}
	return t, nil
}
