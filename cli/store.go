package cli

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/seal"
)

func init() { commands = append(commands, newCheck) }

// random is where IDs and keys come from.
var random io.Reader = rand.Reader

func newCheck() *cobra.Command {
	var asJSON bool
	var ids []string
	var seal string
	c := &cobra.Command{
		Use:   "check [STORE or BACKUP]",
		Short: "Verify a store or a backup: its chains, heads, entries and blobs, and whether it fits its access log",
		Long: "Reads everything that a store holds and computes its chains again. With the key it also reads every entry, checks the\n" +
			"keyed chain, and compares the store with its access log: each says how far the other had come, so an older copy of\n" +
			"either shows. --against compares it with a seal of the day that was kept somewhere else (lowtide dayseal).",
		Args: cobra.MaximumNArgs(1),
	}
	flags := storeFlag(c)
	c.Flags().StringArrayVar(&ids, "identity", nil, "file with the identity that opens a backup")
	c.Flags().StringVar(&seal, "against", "", "a seal of the day: its text, or a file that has it")
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
		if o.keys != nil {
			found, err := fit(c.Context(), o, flags.path, true)
			if err != nil {
				return err
			}
			for _, d := range found {
				report.Defects = append(report.Defects, d.Words)
			}
		}
		if seal != "" {
			wrong, err := against(c, o, flags.path, seal)
			if err != nil {
				return err
			}
			report.Defects = append(report.Defects, wrong...)
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
	for _, f := range r.NotBrought {
		fmt.Fprintln(w, "not brought along:", f)
	}
	_, err := fmt.Fprintf(w, "%s: %s of %s, %s (%d bytes); %s.\nHead %s\nNote this head elsewhere: compared later, it shows that nothing was cut off and nothing was made anew.\n",
		path, problemCount(int(r.Records), "entry", "entries"), problemCount(r.Cases, "case", "cases"), problemCount(r.Blobs, "photo or log", "photos and logs"), r.BlobBytes, problemCount(len(r.Defects), "defect", "defects"), r.Head)
	if r.Keyed > 0 {
		fmt.Fprintf(w, "The keyed chain holds over %s.\n", problemCount(int(r.Keyed), "record", "records"))
	}
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
		fmt.Fprintf(c.OutOrStdout(), "%s  %s%s\n", r.Case, problemCount(r.Entries, "entry", "entries"), words)
	}
	return nil
}

// writeNew writes a new file for its owner alone and refuses to overwrite one.
func writeNew(path string, write func(io.Writer) error) error {
	f, err := seal.NewFile(path)
	if err != nil {
		return errUsage{fmt.Errorf("%w; name a file that does not exist yet", err)}
	}
	err = write(f)
	if err = errors.Join(err, f.Close()); err != nil {
		// Half a file is worse than none.
		return errors.Join(err, os.Remove(path))
	}
	return nil
}
