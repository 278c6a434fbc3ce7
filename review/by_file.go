package review

import (
	"slices"

	"lowtide/casebook"
)

// byFile marks a finding that rests on an order or a signature which only a file says: wherever the finding is shown, it
// says so, until somebody who may write such an entry takes it over.
func (f *Finding) byFile(c *casebook.Case) {
	for _, w := range f.Why {
		for _, id := range w.Entries {
			l := c.Line(id)
			if l == nil || !l.Entry.Came.Claimed() || slices.Contains(f.ByFile, id) {
				continue
			}
			switch l.Entry.Kind {
			case casebook.KindOrderWritten, casebook.KindOrderStopped, casebook.KindReviewSigned:
				f.ByFile = append(f.ByFile, id)
			}
		}
	}
	if len(f.ByFile) == 0 {
		return
	}
	came := c.Line(f.ByFile[0]).Entry.Came
	f.Headline += " (By file: nobody here has taken it over.)"
	f.Why = append(f.Why, Why{Words: "what only the file " + came.File + " says", Value: "brought by " + came.By + "; compare it with the prescriber's own, then take it over in the log", Entries: f.ByFile})
}
