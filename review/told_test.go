package review_test

import (
	"testing"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/state"
)

// TestTold: a note that somebody was told shows with the finding it names, does not make it go away, and ends
// when what the finding rests on is newer.
func TestTold(t *testing.T) {
	rules, eq := builtin(t), equipment.BuiltIn()
	told := func(h float64, who string, about ...string) step {
		return at(h, casebook.NoteWritten{Text: "Called.", PrescriberTold: who, About: about})
	}
	fever := func(h, degrees float64) step {
		return at(h, note(casebook.Seen{Signs: []string{"none"}, TemperatureC: num(degrees)}))
	}
	for _, x := range []struct {
		name  string
		steps []step
		who   string
	}{
		{"told", []step{fever(-3, 39.1), told(-2, "Dr I. Vance", "SGN-FEVER-01")}, "Dr I. Vance"},
		{"told of several", []step{fever(-3, 39.1), told(-2, " Dr I. Vance ", "SGN-SPREAD-01", "SGN-FEVER-01")}, "Dr I. Vance"},
		{"the newest counts", []step{fever(-3, 39.1), told(-2, "Dr I. Vance", "SGN-FEVER-01"), told(-1, "Dr O. Reyes", "SGN-FEVER-01")}, "Dr O. Reyes"},
		{"about something else", []step{fever(-3, 39.1), told(-2, "Dr I. Vance", "SGN-PUS-01")}, ""},
		{"nobody named", []step{fever(-3, 39.1), told(-2, "  ", "SGN-FEVER-01")}, ""},
		{"before it was seen", []step{told(-4, "Dr I. Vance", "SGN-FEVER-01"), fever(-3, 39.1)}, ""},
		{"of an older one", []step{fever(-3, 39.1), told(-2, "Dr I. Vance", "SGN-FEVER-01"), fever(-1, 39.4)}, ""},
		{"written down after the call", []step{{atH: -3, writtenH: -1, body: note(casebook.Seen{Signs: []string{"none"}, TemperatureC: num(39.1)})}, told(-2, "Dr I. Vance", "SGN-FEVER-01")}, ""},
		{"corrected since", []step{fever(-3, 38.9).called("f"), told(-2, "Dr I. Vance", "SGN-FEVER-01"), replaces(-1, "f", note(casebook.Seen{Signs: []string{"none"}, TemperatureC: num(40.1)}))}, ""},
		{"taken back", []step{fever(-3, 39.1), told(-2, "Dr I. Vance", "SGN-FEVER-01").called("t"), withdraws(-1, "t")}, ""},
	} {
		r := review.Of(state.Of(casebook.Fold("tidy", entries(join(tidy(), x.steps)...)), rules, eq, nil, noon), rules)
		f := find(r, "SGN-FEVER-01", "")
		switch {
		case f == nil:
			t.Errorf("%s: the finding went away", x.name)
		case f.Told == nil && x.who != "":
			t.Errorf("%s: not shown as told", x.name)
		case f.Told != nil && (f.Told.Who != x.who || f.Told.By != "M. Thorne" || f.Told.At.After(noon) || f.Told.Entry == ""):
			t.Errorf("%s: told %+v, want %q", x.name, *f.Told, x.who)
		}
	}
}
