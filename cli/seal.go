package cli

import (
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/seal"
)

func newSealCommand() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "seal OLD NEW",
		Short: "Make a sealed copy NEW of a plain store OLD, and verify it",
		Args:  exactly(2, "a plain store OLD and a name NEW that is not there yet"),
	}
	flags := storeFlag(c)
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.RunE = func(c *cobra.Command, args []string) error {
		flags.path = args[1]
		if _, err := os.Lstat(args[1]); err == nil {
			return errUsage{fmt.Errorf("%s is there already; name a file that does not exist yet", args[1])}
		}
		// Opened to write, so that nobody else writes to it meanwhile.
		old, err := sqlite.Open(c.Context(), args[0])
		if err != nil {
			return err
		}
		defer old.Close()
		if _, sealed, err := old.KeyMeta(c.Context()); err != nil || sealed {
			return errors.Join(err, errUsage{fmt.Errorf("%s is sealed already", args[0])})
		}
		res, err := sealInto(c, old, flags, args[1])
		if err != nil {
			return err
		}
		if asJSON {
			return printJSON(c.OutOrStdout(), res)
		}
		_, err = fmt.Fprintf(c.OutOrStdout(), "%s is the sealed copy of %s: %d entries, %d blobs, compared one by one.\nKeep a copy of %s apart from it: without the key nobody can read the store.\n%s is still readable by anybody: destroy it when the copy has been looked at.\n",
			args[1], args[0], res.Entries, res.Blobs, flags.keyFile(), args[0])
		return err
	}
	return c
}

// sealInto makes the copy under another name and gives it its own when it has been verified.
func sealInto(c *cobra.Command, old *sqlite.Store, flags *storeFlags, to string) (res seal.Copied, err error) {
	ctx := c.Context()
	part := to + ".part"
	for _, end := range []string{"", "-wal", "-shm"} {
		if err := os.Remove(part + end); err != nil && !errors.Is(err, os.ErrNotExist) {
			return res, err
		}
	}
	s, err := sqlite.Open(ctx, part)
	if err != nil {
		return res, err
	}
	keys, err := flags.source(c).Begin(ctx, s)
	if err == nil {
		res, err = seal.Copy(ctx, casebook.Book{Store: s, Sealer: keys}, old, now(), random)
	}
	if err = errors.Join(err, s.Close()); err != nil {
		return res, fmt.Errorf("%w; %s was left as it is", err, to)
	}
	if err := os.Rename(part, to); err != nil {
		return res, err
	}
	return res, os.Remove(part + ".lock")
}

// writeNewText writes a new file for its owner alone.
func writeNewText(path, text string) error {
	return writeNew(path, func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	})
}
