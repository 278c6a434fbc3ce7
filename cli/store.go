package cli

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"
	"sort"

	"github.com/spf13/cobra"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/intake"
)

func init() { commands = append(commands, newCheck, newImport, newExport) }

// random is where IDs and keys come from.
var random io.Reader = rand.Reader

func newCheck() *cobra.Command {
	var asJSON bool
	var ids []string
	c := &cobra.Command{
		Use:   "check [STORE or BACKUP]",
		Short: "Verify a store or a backup: its hash chain, heads, entries and blobs",
		Args:  cobra.MaximumNArgs(1),
	}
	flags := storeFlag(c)
	c.Flags().StringArrayVar(&ids, "identity", nil, "file with the identity that opens a backup")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.RunE = func(c *cobra.Command, args []string) error {
		if len(args) == 1 {
			flags.path = args[0]
		}
		if isBackup(flags.path) {
			return checkBackup(c, flags, ids, asJSON)
		}
		o, err := flags.readAny(c)
		if err != nil {
			return err
		}
		defer o.close()
		report, err := o.book().Verify(c.Context())
		if err != nil {
			return err
		}
		if asJSON {
			err = printJSON(c.OutOrStdout(), report)
		} else {
			err = printCheck(c.OutOrStdout(), flags.path, report)
		}
		if err == nil && !report.Sound() {
			return errQuiet
		}
		return err
	}
	return c
}

// readAny is read, but without a key at hand it opens a sealed store all the same: its chain can be checked.
func (f *storeFlags) readAny(c *cobra.Command) (*opened, error) {
	o, err := f.read(c)
	if !noKey(err) {
		return o, err
	}
	s, err := sqlite.OpenReader(c.Context(), f.path)
	if err != nil {
		return nil, err
	}
	return &opened{store: s}, nil
}

func printCheck(w io.Writer, path string, r casebook.Report) error {
	for _, d := range r.Defects {
		fmt.Fprintln(w, "defect:", d)
	}
	_, err := fmt.Fprintf(w, "%s: %d entries of %d cases, %d blobs (%d bytes); %s.\nHead %s\nNote this head elsewhere: compared later, it shows that nothing was cut off and nothing was made anew.\n",
		path, r.Records, r.Cases, r.Blobs, r.BlobBytes, problemCount(len(r.Defects), "defect", "defects"), r.Head)
	if r.Unopened > 0 {
		fmt.Fprintf(w, "%d entries are sealed and no key was at hand: the chain was checked, the contents were not read.\n", r.Unopened)
	}
	if r.Erased > 0 {
		fmt.Fprintf(w, "%d entries belong to erased cases: the chain over them holds, nobody can read them again.\n", r.Erased)
	}
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
	flags := storeFlag(c)
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.RunE = func(c *cobra.Command, args []string) error {
		raw, err := readInput(c.InOrStdin(), args[0], mostInput)
		if err != nil {
			return errUsage{fmt.Errorf("%s cannot be read: %w", args[0], err)}
		}
		o, err := flags.write(c)
		if err != nil {
			return err
		}
		defer o.close()
		// What the store has already may be what the file refers to: wounds, corrected entries, canister sizes.
		alone, _ := intake.ReadCaseFile(raw, now())
		if casebook.Reserved(alone.Case) {
			return errUsage{fmt.Errorf("%s is case %q, and %w; nothing was imported", args[0], alone.Case, casebook.ErrReserved)}
		}
		known, _, err := o.book().Entries(c.Context(), alone.Case)
		if err != nil {
			return err
		}
		file, err := checkedFile(c, args[0], raw, asJSON, intake.Options{Now: now(), Known: known})
		if err != nil {
			return err
		}
		res, err := importEntries(c.Context(), o.book(), file)
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
	flags := storeFlag(c)
	c.Flags().StringVar(&out, "out", "-", "file to write; - is standard output")
	c.Flags().BoolVar(&asJSON, "json", false, "print the list of cases as JSON (a case file is always JSON)")
	c.RunE = func(c *cobra.Command, args []string) error {
		if len(args) == 0 {
			o, err := flags.readAny(c)
			if err != nil {
				return err
			}
			defer o.close()
			return listCases(c, o, asJSON)
		}
		o, err := flags.read(c)
		if err != nil {
			return err
		}
		defer o.close()
		entries, _, err := o.book().Entries(c.Context(), args[0])
		if err != nil {
			return err
		}
		if len(entries) == 0 {
			return errUsage{fmt.Errorf("there is no case %q in %s; type: lowtide export --store %s", args[0], flags.path, flags.path)}
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

// listCases lists the cases; which of them were erased is known without a key.
func listCases(c *cobra.Command, o *opened, asJSON bool) error {
	heads, err := o.store.Cases(c.Context())
	if err != nil {
		return err
	}
	keys, err := o.store.CaseKeys(c.Context())
	if err != nil {
		return err
	}
	erased := map[string]bool{}
	for _, k := range keys {
		erased[k.Case] = k.ErasedBy != ""
	}
	type row struct {
		Case    string `json:"case"`
		Entries int    `json:"entries"`
		Head    string `json:"head"`
		Erased  bool   `json:"erased,omitempty"`
	}
	rows := []row{}
	for _, h := range heads {
		if !casebook.Reserved(h.Case) {
			rows = append(rows, row{h.Case, h.Count, h.Head, erased[h.Case]})
		}
	}
	if asJSON {
		return printJSON(c.OutOrStdout(), rows)
	}
	for _, r := range rows {
		words := ""
		if r.Erased {
			words = ", erased"
		}
		fmt.Fprintf(c.OutOrStdout(), "%s  %d entries%s\n", r.Case, r.Entries, words)
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
