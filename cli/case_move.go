package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os/user"
	"path/filepath"
	"sort"

	"github.com/spf13/cobra"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/pumplog"
	"lowtide/state"
)

func init() { commands = append(commands, newImport, newExport) }

// importResult says what an import did.
type importResult struct {
	Case    string `json:"case"`
	Entries int    `json:"entries"`
	New     int    `json:"new"`
	// Files counts the photos and logs that came along, NewFiles those that were not there before. NotBrought lists
	// those that the file's entries name and that neither came along nor are kept.
	Files      int      `json:"files"`
	NewFiles   int      `json:"new_files"`
	NotBrought []string `json:"not_brought,omitempty"`
	Head       string   `json:"head"`
}

func newImport() *cobra.Command {
	var asJSON bool
	var by string
	c := &cobra.Command{
		Use:   "import FILE",
		Short: "Take the entries of a case file, and its photos and logs, into a store",
		Long: "Takes a case file, or an archive of one with its photos and pump logs (docs/format/case.md), into a store. Entries\n" +
			"that are there already are left alone, so the same file can be imported again, and files from two devices can be\n" +
			"merged. Photos and logs that did not come along can be brought later, with an archive of the same case.\n\n" +
			"Every entry that comes so is shown as having come by file, with the file's name and who brought it. Its author, and\n" +
			"an order or a signature in it, is what the file says, until somebody here takes it over.",
		Args: exactly(1, "a FILE or -"),
	}
	flags := storeFlag(c)
	c.Flags().StringVar(&by, "by", "", "who brings the file; the name of the computer's user if left out")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.RunE = func(c *cobra.Command, args []string) error {
		in, err := openCase(c, args[0], asJSON)
		if err != nil {
			return err
		}
		defer in.close()
		o, err := flags.write(c)
		if err != nil {
			return err
		}
		defer o.close()
		// What the store has already may be what the file refers to: wounds, corrected entries, canister sizes.
		alone, _ := intake.ReadCaseFile(in.raw, now())
		if casebook.Reserved(alone.Case) {
			return errUsage{fmt.Errorf("%s is case %q, and %w; nothing was imported", args[0], alone.Case, casebook.ErrReserved)}
		}
		known, _, err := o.book().Entries(c.Context(), alone.Case)
		if err != nil {
			return err
		}
		file, err := checkedFile(c, in, asJSON, intake.Options{Now: now(), Known: known})
		if err != nil {
			return err
		}
		files, err := checkedFiles(c, in, asJSON, file)
		if err != nil {
			return err
		}
		if by == "" {
			by = computerUser()
		}
		brought := broughtFile{name: filepath.Base(in.name), sha256: casebook.BlobHash(in.raw), by: by}
		res, err := importFiles(c.Context(), o.book(), file, files, by)
		if err != nil {
			return err
		}
		if err := importEntries(c.Context(), o.book(), file, brought, &res); err != nil {
			return err
		}
		if asJSON {
			return printJSON(c.OutOrStdout(), res)
		}
		return printImport(c.OutOrStdout(), res)
	}
	return c
}

// broughtFile is a file that somebody brings.
type broughtFile struct{ name, sha256, by string }

// computerUser names who sits at the computer, as far as it can be told.
func computerUser() string {
	if u, err := user.Current(); err == nil && u.Username != "" {
		return u.Username + " (command line)"
	}
	return "command line"
}

func printImport(w io.Writer, r importResult) error {
	fmt.Fprintf(w, "Case %s: %s in the file, %d of them new.\n", r.Case, problemCount(r.Entries, "entry", "entries"), r.New)
	if r.New > 0 {
		fmt.Fprintln(w, "They are shown as having come by file. Orders and signatures in it are claimed, not given here, until somebody takes them over in the log.")
	}
	if r.Files > 0 {
		fmt.Fprintf(w, "%s came along, %d of them new.\n", problemCount(r.Files, "photo or log", "photos and logs"), r.NewFiles)
	}
	if n := len(r.NotBrought); n > 0 {
		fmt.Fprintf(w, "%s that entries name did not come along. The case can be used without; to bring them later, export it there with\nlowtide export %s --with-files --out case.zip, and import that here.\n", problemCount(n, "photo or log", "photos and logs"), r.Case)
	}
	return nil
}

// movedFile reads a file of an archive as it is to be kept.
type movedFile func() ([]byte, error)

// checkedFiles looks through the files of an archive: a photo is kept as one from a camera would be, without the place
// where it was taken, and a log must be one. All problems are listed.
func checkedFiles(c *cobra.Command, in *caseInput, asJSON bool, file intake.CaseFile) (map[string]movedFile, error) {
	files := map[string]movedFile{}
	var problems intake.Problems
	for i, e := range file.Entries {
		for _, name := range e.Blobs {
			if !in.archive.Has(name) || files[name] != nil {
				continue
			}
			read := func() ([]byte, error) { return in.archive.Content(name) }
			wrong := func(message, remedy string) {
				problems = append(problems, intake.Problem{Pointer: fmt.Sprintf("/case.json/entries/%d/blobs", i), Entry: e.ID, Code: intake.CodeFormat, Value: name, Message: message, Remedy: remedy})
			}
			raw, err := read()
			if err != nil {
				return nil, err
			}
			switch e.Kind {
			case casebook.KindPhotoTaken:
				read = func() ([]byte, error) { return cleanPhoto(in.archive.Content(name)) }
				if _, err := cleanPhoto(raw, nil); err != nil {
					wrong("The photo cannot be used: "+err.Error(), "Export the case again, or import its case.json alone.")
				}
			case casebook.KindLogImported:
				if _, err := pumplog.Unpack(raw); err != nil {
					wrong("The pump log in the archive cannot be read: "+err.Error()+".", "Export the case again, or import its case.json alone.")
				}
			}
			files[name] = read
		}
	}
	return files, tellProblems(c, in.name, asJSON, problems)
}

func cleanPhoto(raw []byte, err error) ([]byte, error) {
	if err != nil {
		return nil, err
	}
	kept, _, _, refused := state.CleanPhoto(raw)
	if refused != nil {
		return nil, errors.New(refused.Words)
	}
	return kept, nil
}

// importFiles keeps the files before the entries that name them: an import that is cut short leaves no entry that
// looks as if its photo was lost.
func importFiles(ctx context.Context, book casebook.Book, file intake.CaseFile, files map[string]movedFile, by string) (importResult, error) {
	res := importResult{Case: file.Case, Entries: len(file.Entries), Files: len(files)}
	for _, name := range intake.FilesNamed(file.Entries) {
		if files[name] == nil {
			_, err := book.Blob(ctx, file.Case, name)
			if errors.Is(err, casebook.ErrNotFound) {
				res.NotBrought = append(res.NotBrought, name)
				err = nil
			}
			if err != nil {
				return res, err
			}
			continue
		}
		content, err := files[name]()
		if err != nil {
			return res, err
		}
		fresh, err := book.Bring(ctx, file.Case, name, content, now(), by)
		if errors.Is(err, casebook.ErrConflict) {
			return res, fmt.Errorf("%w: a file of this name and other content is kept; no entry was imported", err)
		}
		if err != nil {
			return res, err
		}
		if fresh {
			res.NewFiles++
		}
	}
	return res, nil
}

// importEntries appends what is new, trying again when somebody else wrote to the case meanwhile. What the file
// says is checked against what is kept: a correction may name an entry that only the store has.
func importEntries(ctx context.Context, book casebook.Book, file intake.CaseFile, brought broughtFile, res *importResult) error {
	for try := 0; ; try++ {
		known, head, err := book.Entries(ctx, file.Case)
		if err != nil {
			return err
		}
		have := map[string]bool{}
		for _, e := range known {
			have[e.ID] = true
		}
		var fresh []casebook.Entry
		for _, e := range file.Entries {
			if !have[e.ID] {
				fresh = append(fresh, e)
			}
		}
		res.New = len(fresh)
		if err := awaitFiles(ctx, book, file.Case, fresh, res.NotBrought, brought.by); err != nil {
			return err
		}
		ids := make([]string, len(fresh))
		for i, e := range fresh {
			ids[i] = e.ID
		}
		if err := book.Imported(ctx, file.Case, casebook.CaseImported{File: brought.name, SHA256: brought.sha256, Entries: ids}, now(), brought.by); err != nil {
			return err
		}
		res.Head, err = book.Append(ctx, head, file.Entries...)
		if errors.Is(err, casebook.ErrStale) && try < 5 {
			continue
		}
		if errors.Is(err, casebook.ErrConflict) {
			return fmt.Errorf("%w; nothing was imported. The file and the store disagree about what one entry says: export the case and compare", err)
		}
		return err
	}
}

// awaitFiles notes which files new entries name that did not come along. What an entry names that was here before is
// not noted: if it is not kept, it was lost here.
func awaitFiles(ctx context.Context, book casebook.Book, caseID string, fresh []casebook.Entry, notBrought []string, by string) error {
	missing := map[string]bool{}
	for _, name := range notBrought {
		missing[name] = true
	}
	for _, name := range intake.FilesNamed(fresh) {
		if !missing[name] {
			continue
		}
		if err := book.Await(ctx, caseID, name, now(), by); err != nil {
			return err
		}
	}
	return nil
}

func newExport() *cobra.Command {
	var out string
	var asJSON, withFiles bool
	c := &cobra.Command{
		Use:   "export [CASE]",
		Short: "Write a case of a store as a case file, or with its photos and logs as an archive; without CASE, list the cases",
		Long: "Writes a case as a case file (docs/format/case.md), or with --with-files as an archive (ZIP) that holds its photos and\n" +
			"pump logs too. What is written is not encrypted: whoever has the file can read it.",
		Args: cobra.MaximumNArgs(1),
	}
	flags := storeFlag(c)
	c.Flags().StringVar(&out, "out", "-", "file to write; - is standard output")
	c.Flags().BoolVar(&withFiles, "with-files", false, "write an archive with the photos and pump logs of the case")
	c.Flags().BoolVar(&asJSON, "json", false, "print the list of cases as JSON (a case file is always JSON)")
	c.RunE = func(c *cobra.Command, args []string) error {
		if len(args) == 0 {
			if withFiles || out != "-" {
				return errUsage{errors.New("name the case to write; lowtide export lists the cases")}
			}
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
		return writeCase(c, o.book(), file, out, withFiles)
	}
	return c
}

// writeCase writes the file and says on standard error what is not in it.
func writeCase(c *cobra.Command, book casebook.Book, file intake.CaseFile, out string, withFiles bool) error {
	var missing []string
	write := func(w io.Writer) error { return intake.WriteCaseFile(w, file) }
	if withFiles {
		write = func(w io.Writer) (err error) {
			missing, err = intake.WriteArchive(w, file, func(name string) ([]byte, error) { return book.Blob(c.Context(), file.Case, name) })
			return err
		}
	}
	var err error
	if out == "-" {
		err = write(c.OutOrStdout())
	} else {
		err = writeNew(out, write)
	}
	if err != nil {
		return err
	}
	switch named := len(intake.FilesNamed(file.Entries)); {
	case withFiles && len(missing) > 0:
		fmt.Fprintf(c.ErrOrStderr(), "%d of the %d photos and logs are not kept in this store and not in the archive; lowtide check tells why.\n", len(missing), named)
	case !withFiles && named > 0:
		fmt.Fprintf(c.ErrOrStderr(), "%s of this case are not in the case file. With them: lowtide export %s --with-files --out case.zip\n", problemCount(named, "photo or log", "photos and logs"), file.Case)
	}
	return nil
}
