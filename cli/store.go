package cli

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sort"

	"github.com/spf13/cobra"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/intake"
)

func init() { commands = append(commands, newCheck, newImport, newExport) }

// random is where IDs and keys come from.
var random io.Reader = rand.Reader

// storeFlag adds --store with its default: lowtide.db in the user's own configuration folder.
func storeFlag(c *cobra.Command) *string {
	return c.Flags().String("store", defaultStore(), "the store's file")
}

func defaultStore() string {
	if dir, err := os.UserConfigDir(); err == nil {
		return filepath.Join(dir, "lowtide", "lowtide.db")
	}
	return "lowtide.db"
}

// openStore opens a store to write, making its folder (for its owner alone) when it is the default one.
func openStore(ctx context.Context, path string) (*sqlite.Store, error) {
	if path == defaultStore() {
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			return nil, err
		}
	}
	return sqlite.Open(ctx, path)
}

func newCheck() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "check [STORE]",
		Short: "Verify a store: its hash chain, heads, entries and blobs",
		Args:  cobra.MaximumNArgs(1),
	}
	path := storeFlag(c)
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.RunE = func(c *cobra.Command, args []string) error {
		if len(args) == 1 {
			*path = args[0]
		}
		s, err := sqlite.OpenReader(c.Context(), *path)
		if err != nil {
			return err
		}
		defer s.Close()
		report, err := casebook.Verify(c.Context(), s)
		if err != nil {
			return err
		}
		if asJSON {
			err = printJSON(c.OutOrStdout(), report)
		} else {
			err = printCheck(c.OutOrStdout(), *path, report)
		}
		if err == nil && !report.Sound() {
			return errQuiet
		}
		return err
	}
	return c
}

func printCheck(w io.Writer, path string, r casebook.Report) error {
	for _, d := range r.Defects {
		fmt.Fprintln(w, "defect:", d)
	}
	_, err := fmt.Fprintf(w, "%s: %d entries of %d cases, %d blobs (%d bytes); %s.\nHead %s\nNote this head elsewhere: compared later, it shows that nothing was cut off and nothing was made anew.\n",
		path, r.Records, r.Cases, r.Blobs, r.BlobBytes, problemCount(len(r.Defects), "defect", "defects"), r.Head)
	if r.Unread > 0 {
		fmt.Fprintf(w, "%d entries are of kinds or versions that this program does not know; they are kept and shown as unknown.\n", r.Unread)
	}
	return err
}

// importResult says what an import did.
type importResult struct {
	Case    string `json:"case"`
	Entries int    `json:"entries"`
	New     int    `json:"new"`
	Head    string `json:"head"`
}

func newImport() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "import FILE",
		Short: "Take the entries of a case file into a store",
		Long:  "Takes a case file (docs/format/case.md) into a store. Entries that are there already are left alone, so the same\nfile can be imported again, and files from two devices can be merged.",
		Args:  exactly(1, "a FILE or -"),
	}
	path := storeFlag(c)
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.RunE = func(c *cobra.Command, args []string) error {
		raw, err := readInput(c.InOrStdin(), args[0])
		if err != nil {
			return errUsage{fmt.Errorf("%s cannot be read: %w", args[0], err)}
		}
		s, err := openStore(c.Context(), *path)
		if err != nil {
			return err
		}
		defer s.Close()
		// What the store has already may be what the file refers to: wounds, corrected entries, canister sizes.
		alone, _ := intake.ReadCaseFile(raw, now())
		known, _, err := (casebook.Book{Store: s}).Entries(c.Context(), alone.Case)
		if err != nil {
			return err
		}
		file, err := checkedFile(c, args[0], raw, asJSON, intake.Options{Now: now(), Known: known})
		if err != nil {
			return err
		}
		res, err := importEntries(c.Context(), casebook.Book{Store: s}, file)
		if err != nil {
			return err
		}
		if asJSON {
			return printJSON(c.OutOrStdout(), res)
		}
		_, err = fmt.Fprintf(c.OutOrStdout(), "Case %s: %d entries in the file, %d of them new.\n", res.Case, res.Entries, res.New)
		return err
	}
	return c
}

// importEntries appends what is new, trying again when somebody else wrote to the case meanwhile. What the file
// says is checked against what is kept: a correction may name an entry that only the store has.
func importEntries(ctx context.Context, book casebook.Book, file intake.CaseFile) (importResult, error) {
	res := importResult{Case: file.Case, Entries: len(file.Entries)}
	for try := 0; ; try++ {
		known, head, err := book.Entries(ctx, file.Case)
		if err != nil {
			return res, err
		}
		have := map[string]bool{}
		for _, e := range known {
			have[e.ID] = true
		}
		res.New = 0
		for _, e := range file.Entries {
			if !have[e.ID] {
				res.New++
			}
		}
		res.Head, err = book.Append(ctx, head, file.Entries...)
		if errors.Is(err, casebook.ErrStale) && try < 5 {
			continue
		}
		if errors.Is(err, casebook.ErrConflict) {
			return res, fmt.Errorf("%w; nothing was imported. The file and the store disagree about what one entry says: export the case and compare", err)
		}
		return res, err
	}
}

func newExport() *cobra.Command {
	var out string
	var asJSON bool
	c := &cobra.Command{
		Use:   "export [CASE]",
		Short: "Write a case of a store as a case file; without CASE, list the cases",
		Args:  cobra.MaximumNArgs(1),
	}
	path := storeFlag(c)
	c.Flags().StringVar(&out, "out", "-", "file to write; - is standard output")
	c.Flags().BoolVar(&asJSON, "json", false, "print the list of cases as JSON (a case file is always JSON)")
	c.RunE = func(c *cobra.Command, args []string) error {
		s, err := sqlite.OpenReader(c.Context(), *path)
		if err != nil {
			return err
		}
		defer s.Close()
		if len(args) == 0 {
			return listCases(c, s, asJSON)
		}
		entries, _, err := (casebook.Book{Store: s}).Entries(c.Context(), args[0])
		if err != nil {
			return err
		}
		if len(entries) == 0 {
			return errUsage{fmt.Errorf("there is no case %q in %s; type: lowtide export --store %s", args[0], *path, *path)}
		}
		sort.Slice(entries, func(i, j int) bool { return entries[i].ID < entries[j].ID })
		file := intake.CaseFile{Format: intake.Format, Version: intake.FormatVersion, Case: args[0], Entries: entries}
		if out == "-" {
			return intake.WriteCaseFile(c.OutOrStdout(), file)
		}
		return writeNew(out, func(w io.Writer) error { return intake.WriteCaseFile(w, file) })
	}
	return c
}

func listCases(c *cobra.Command, s casebook.Store, asJSON bool) error {
	heads, err := s.Cases(c.Context())
	if err != nil {
		return err
	}
	if asJSON {
		type row struct {
			Case    string `json:"case"`
			Entries int    `json:"entries"`
			Head    string `json:"head"`
		}
		rows := []row{}
		for _, h := range heads {
			rows = append(rows, row{h.Case, h.Count, h.Head})
		}
		return printJSON(c.OutOrStdout(), rows)
	}
	for _, h := range heads {
		fmt.Fprintf(c.OutOrStdout(), "%s  %d entries\n", h.Case, h.Count)
	}
	return nil
}

// writeNew writes a new file for its owner alone and refuses to overwrite one.
func writeNew(path string, write func(io.Writer) error) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return errUsage{fmt.Errorf("%w; name a file that does not exist yet", err)}
	}
	if err := write(f); err != nil {
		f.Close()
		return err
	}
	return f.Close()
}
