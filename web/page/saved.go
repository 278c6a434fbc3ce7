package page

import (
	"fmt"
	"strings"

	"lowtide/casebook"
	"lowtide/wording"
)

// SavedWords says what was just written, from the entry itself: a filler count that does not add up comes first. It is
// empty when the case has no such entry.
func SavedWords(c *casebook.Case, entry string) string {
	l := c.Line(entry)
	if l == nil {
		return ""
	}
	var out []string
	for i := range c.Wounds {
		w := &c.Wounds[i]
		for _, u := range w.Count.Missing {
			if u.Entry == entry {
				out = append(out, fmt.Sprintf("Wound %s: %s missing from the count.", w.Name, isAre(u.Count, u.Filler)))
			}
		}
		for _, u := range w.Count.Surplus {
			if u.Entry == entry {
				out = append(out, fmt.Sprintf("Wound %s: %s came out beyond what was recorded as put in.", w.Name, pieceCount(u.Count, u.Filler)))
			}
		}
		for _, u := range w.Count.Unsure {
			if u.Entry == entry {
				out = append(out, fmt.Sprintf("Wound %s: the pieces were not all counted, so nobody can tell whether all are out.", w.Name))
				break
			}
		}
	}
	kind := l.Entry.Kind
	switch b := l.Entry.Body.(type) {
	case casebook.EntryCorrected:
		switch b.Action {
		case "moved in":
			out = append(out, "The entry is in this case now, and marked as moved in the other.")
		case "moved out":
			out = append(out, "The entry is in the other patient's case now, and marked here.")
		case "withdraw":
			out = append(out, "Withdrawn. The log shows the entry and the reason.")
		default:
			out = append(out, "Corrected. The log shows both versions and the reason.")
		}
	case casebook.ReviewSigned:
		out = append(out, "Review signed for "+b.Purpose+".")
	default:
		out = append(out, "Saved: "+strings.ToLower(wording.Kind(kind))+".")
	}
	return strings.Join(out, " ")
}
