package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"lowtide/accesslog"
	"lowtide/casebook"
	"lowtide/casebook/sqlite"
)

// A store that was put back, or lost its last entries, and an access log that was: how it is seen, told and settled.

func init() { commands = append(commands, newDaySeal, newSettle) }

// markEvery is how often a running server notes in the ledger how far the access log has come.
const markEvery = time.Hour

// fit compares a store with its access log, which may be read only.
func fit(ctx context.Context, o *opened, path string, all bool) ([]casebook.DifferenceFound, error) {
	access, err := readAccess(ctx, path, o.keys)
	if errors.Is(err, fs.ErrNotExist) {
		return accesslog.Missing(ctx, o.book())
	}
	if err != nil {
		return nil, err
	}
	defer access.Store.Close()
	return accesslog.Compare(ctx, o.book(), access, all, time.Time{})
}

// watch compares the two at the start of a server, notes what does not fit in the ledger, and says it.
func watch(c *cobra.Command, o *opened, path string) (words []string, err error) {
	found, err := fit(c.Context(), o, path, false)
	if err != nil {
		return nil, err
	}
	ledger, _, err := casebook.Register{Book: o.book(), ID: casebook.Ledger}.Entries(c.Context())
	if err != nil {
		return nil, err
	}
	for _, d := range found {
		words = append(words, d.Words)
		fmt.Fprintln(c.ErrOrStderr(), "lowtide:", d.Words, settleRemedy)
		noted := slices.ContainsFunc(ledger, func(e casebook.Entry) bool {
			b, ok := e.Body.(casebook.DifferenceFound)
			return ok && b.Older == d.Older && b.Seen.Equal(d.Seen)
		})
		if noted {
			continue
		}
		if err := noteNow(c.Context(), o.book(), "lowtide serve", "", d); err != nil {
			return nil, err
		}
	}
	return words, nil
}

const settleRemedy = "Entries may be missing. Look for a newer copy of the store, ask who wrote what, run lowtide check; when it is understood, stop the server and run lowtide settle."

// markAccess notes how far the access log has come, now, now and then, and once more when ctx ends.
func markAccess(ctx context.Context, c *cobra.Command, book casebook.Book, log casebook.Store) (wait func()) {
	done := make(chan struct{})
	go func() {
		defer close(done)
		var last casebook.Mark
		tick := time.NewTicker(markEvery)
		defer tick.Stop()
		for going := true; going; {
			if err := markOnce(context.WithoutCancel(ctx), book, log, &last); err != nil {
				fmt.Fprintln(c.ErrOrStderr(), "lowtide:", err)
			}
			select {
			case <-tick.C:
			case <-ctx.Done():
				going = false
			}
		}
		if err := markOnce(context.WithoutCancel(ctx), book, log, &last); err != nil {
			fmt.Fprintln(c.ErrOrStderr(), "lowtide:", err)
		}
	}()
	return func() { <-done }
}

// markOnce notes the end of the access log when it has moved since the last time.
func markOnce(ctx context.Context, book casebook.Book, log casebook.Store, last *casebook.Mark) error {
	m, err := log.Mark(ctx)
	if err != nil || m == *last {
		return err
	}
	*last = m
	return noteNow(ctx, book, "lowtide serve", "", casebook.AccessMarked{Access: m})
}

func newSettle() *cobra.Command {
	var by, reason string
	c := &cobra.Command{
		Use:   "settle",
		Short: "Say that a difference between a store and its access log is understood",
		Long: "Every page says so while a store does not fit its access log: because an older copy was put in the place of one of\n" +
			"them, or because a damaged disk lost the last entries. When you know what happened, this keeps the reason in the\n" +
			"ledger, and the pages say it no more. Nothing that was lost comes back. Stop the server first.",
		Args: exactly(0, "no argument"),
	}
	flags := storeFlag(c)
	c.Flags().StringVar(&by, "by", "", "who looked into it (required)")
	c.Flags().StringVar(&reason, "reason", "", "what happened (required)")
	c.RunE = func(c *cobra.Command, _ []string) error {
		if by == "" || reason == "" {
			return errUsage{errors.New("say who and why: lowtide settle --by \"A. Admin\" --reason \"power cut on 12 March; the evening's visits were typed in again\"")}
		}
		o, err := flags.write(c)
		if err != nil {
			return err
		}
		defer o.close()
		ctx := c.Context()
		found, err := fit(ctx, o, flags.path, true)
		if err != nil {
			return err
		}
		if len(found) == 0 {
			_, err = fmt.Fprintln(c.OutOrStdout(), "The store and its access log fit: there is nothing to settle.")
			return err
		}
		var s casebook.DifferenceSettled
		if s.Store, err = o.store.Mark(ctx); err != nil {
			return err
		}
		access, err := accessBook(ctx, flags.path, o.keys)
		if err != nil {
			return err
		}
		defer access.Store.Close()
		if s.Access, err = access.Store.Mark(ctx); err != nil {
			return err
		}
		if err := noteNow(ctx, o.book(), by, reason, s); err != nil {
			return err
		}
		for _, d := range found {
			fmt.Fprintln(c.OutOrStdout(), "Settled:", d.Words)
		}
		return nil
	}
	return c
}

// sealNow makes the seal of the day of an open store and its access log, which may be nil.
func sealNow(ctx context.Context, o *opened, access casebook.Store) (accesslog.DaySeal, error) {
	return accesslog.SealOf(ctx, o.store, access, o.keys.Key().ID(), now())
}

func newDaySeal() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "dayseal",
		Short: "Print the seal of the day: how far the store has come, to be kept somewhere else",
		Long: "Prints one line and the same as a QR code. Keep it on paper or send it to somebody: later, lowtide check --against\n" +
			"shows with it that the store and its access log were not put back to an older copy and not made anew, which nothing\n" +
			"beside the store can show for certain. It holds nothing about a patient.",
		Args: exactly(0, "no argument"),
	}
	flags := storeFlag(c)
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.RunE = func(c *cobra.Command, _ []string) error {
		o, err := flags.read(c)
		if err != nil {
			return err
		}
		defer o.close()
		if o.keys == nil {
			return fmt.Errorf("%s: %w: lowtide seal makes a sealed copy", flags.path, casebook.ErrPlain)
		}
		access, err := readAccess(c.Context(), flags.path, o.keys)
		if err == nil {
			defer access.Store.Close()
		} else if !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		s, err := sealNow(c.Context(), o, access.Store)
		if err != nil {
			return err
		}
		if asJSON {
			return printJSON(c.OutOrStdout(), map[string]any{"seal": s.Text(), "at": s.At, "key": s.Key, "store": s.Store, "access": s.Access})
		}
		if _, err := fmt.Fprintln(c.OutOrStdout(), s.Text()); err != nil {
			return err
		}
		return printCode(c.OutOrStdout(), s)
	}
	return c
}

// printCode draws a code with half blocks, dark on light: two rows a line, with the quiet zone of four that readers need.
func printCode(w io.Writer, s accesslog.DaySeal) error {
	rows, err := s.Code()
	if err != nil {
		return err
	}
	const quiet = 4
	dark := func(y, x int) bool {
		y, x = y-quiet, x-quiet
		return y >= 0 && x >= 0 && y < len(rows) && x < len(rows) && rows[y][x]
	}
	for y := 0; y < len(rows)+2*quiet; y += 2 {
		line := make([]rune, 0, len(rows)+2*quiet)
		for x := range len(rows) + 2*quiet {
			line = append(line, map[[2]bool]rune{{false, false}: '█', {false, true}: '▀', {true, false}: '▄', {true, true}: ' '}[[2]bool{dark(y, x), dark(y+1, x)}])
		}
		if _, err := fmt.Fprintln(w, string(line)); err != nil {
			return err
		}
	}
	return nil
}

// against compares a store with a seal of the day, given as text or as a file that has it.
func against(c *cobra.Command, o *opened, path, given string) ([]string, error) {
	ctx, text := c.Context(), given
	if raw, err := os.ReadFile(given); err == nil {
		text = string(raw)
	}
	s, err := accesslog.ParseSeal(text)
	if err != nil {
		return nil, errUsage{fmt.Errorf("--against: %w; name the file that has it, or put its text in quotes", err)}
	}
	meta, sealed, err := o.store.KeyMeta(ctx)
	if err != nil {
		return nil, err
	}
	if sealed && meta.ID != s.Key {
		// A rotation changes the key, so this is no defect by itself.
		fmt.Fprintf(c.ErrOrStderr(), "lowtide: the store is sealed with key %s, and was with key %s when the seal was made: its key was changed since, or it is another store\n", meta.ID, s.Key)
	}
	var access casebook.Store
	if a, err := sqlite.OpenReader(ctx, accessFile(path)); err == nil {
		defer a.Close()
		access = a
	} else if !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	return s.Against(ctx, o.store, access)
}
