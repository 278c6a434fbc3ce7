package page

import (
	"fmt"
	"strings"

	"lowtide/casebook"
)

// formWarnings are what a nurse should know before she fills in a form of the kind.
func formWarnings(kind casebook.Kind, in FormInput) []FormWarning {
	switch kind {
	case casebook.KindTherapyEnded:
		if in.Review != nil && in.Review.Therapy.CountOpen {
			w := FormWarning{Text: "The filler count is open: " + strings.Join(countLines(in.Case, in.Clock), " ") + " You can record that therapy ended, but it cannot be signed until every piece is accounted for.",
				Link: &Link{CasePath(in.Case.ID, "add", string(casebook.KindPiecesAccounted)), "Account for the pieces"}}
			return []FormWarning{w}
		}
	case casebook.KindPiecesAccounted:
		lines := countLines(in.Case, in.Clock)
		if len(lines) == 0 {
			return []FormWarning{{Text: "No count of this patient is open."}}
		}
		var out []FormWarning
		for _, l := range lines {
			out = append(out, FormWarning{Text: l})
		}
		return out
	}
	return nil
}

// countLines says what does not add up, wound by wound.
func countLines(c *casebook.Case, k Clock) []string {
	var out []string
	for i := range c.Wounds {
		w := &c.Wounds[i]
		for _, u := range w.Count.Missing {
			out = append(out, fmt.Sprintf("Wound %s: %s missing since the change of %s.", w.Name, isAre(u.Count, u.Filler), k.At(u.At)))
		}
		for _, u := range w.Count.Surplus {
			out = append(out, fmt.Sprintf("Wound %s: %s came out beyond what was recorded as put in, at the change of %s.", w.Name, pieceCount(u.Count, u.Filler), k.At(u.At)))
		}
		for _, u := range w.Count.Unsure {
			out = append(out, fmt.Sprintf("Wound %s: pieces were not counted on %s, so nobody can tell whether all are out.", w.Name, k.At(u.At)))
		}
	}
	return out
}

// pieceCount says a count: "1 foam piece", "2 gauze pieces".
func pieceCount(n int, filler string) string {
	if n == 1 {
		return "1 " + filler + " piece"
	}
	return fmt.Sprintf("%d %s pieces", n, filler)
}

func isAre(n int, filler string) string {
	if n == 1 {
		return pieceCount(n, filler) + " is"
	}
	return pieceCount(n, filler) + " are"
}
