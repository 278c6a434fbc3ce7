package review

import (
	"slices"
	"strings"
	"time"

	"lowtide/casebook"
)

// Told is that somebody was told of a finding. It is shown with the finding and never makes it go away.
type Told struct {
	// Who was told, and by whom it was written down.
	Who string    `json:"who"`
	By  string    `json:"by"`
	At  time.Time `json:"at"`
	// Entry is the note that says so.
	Entry string `json:"entry"`
}

// toldOf returns the newest note that names the rule and a prescriber who was told, if it was written after
// everything that the finding rests on: who was told of the old facts was not told of the new ones. An entry
// that was corrected is as new as its last correction.
func toldOf(c *casebook.Case, f Finding) *Told {
	for i := len(c.Notes) - 1; i >= 0; i-- {
		n := c.Notes[i]
		who := strings.TrimSpace(n.Body.PrescriberTold)
		if who == "" || !slices.Contains(n.Body.About, f.Rule) || !since(c, n, f.Why) {
			continue
		}
		return &Told{Who: who, By: n.Author, At: n.At.UTC(), Entry: n.ID}
	}
	return nil
}

// since tells whether the note is at least as new as every entry of the list, by when it was and when it was
// written down.
func since(c *casebook.Case, n casebook.Dated[casebook.NoteWritten], why []Why) bool {
	for _, w := range why {
		for _, id := range w.Entries {
			l := c.Line(id)
			if l == nil {
				continue
			}
			if l.At.After(n.At) || l.Entry.Recorded.After(n.Recorded) {
				return false
			}
			for _, by := range l.By {
				if k := c.Line(by); k != nil && k.Entry.Recorded.After(n.Recorded) {
					return false
				}
			}
		}
	}
	return true
}
