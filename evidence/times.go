package evidence

import (
	"fmt"
	"io"
	"io/fs"
)

// PrintTimes writes the table of times beside SciPy as it was measured and committed: a machine's times are not
// measured anew whenever the page is made.
func PrintTimes(w io.Writer, root fs.FS) error {
	table, err := fs.ReadFile(root, "suction/testdata/ref/scipy-1-10-stiff/times.md")
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w, "\n## How fast the pressure path is\n\n%s", table)
	return err
}
