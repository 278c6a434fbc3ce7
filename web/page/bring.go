package page

import (
	"encoding/json"
	"reflect"
	"time"

	"lowtide/casebook"
	"lowtide/wording"
)

// BringField is the name of the field that takes a file of another system.
const BringField = "file"

// Brought is what a file of another system suggests.
type Brought struct {
	Proposals []Proposal
	Unread    []Part
}

// Proposal is an entry that the file suggests.
type Proposal struct {
	Kind casebook.Kind
	At   time.Time
	Body json.RawMessage
	From []string
	// Missing are the names of fields that have to be filled in, Unsure is what was read with doubt.
	Missing, Unsure []string
	// Own tells that Lowtide wrote it.
	Own bool
}

// BringPage takes a file and shows what it suggests.
type BringPage struct {
	Frame
	Action, Wrong string
	Got           bool
	Lines         []BringLine
	Unread        []Part
}

// BringLine is one proposal.
type BringLine struct {
	Title, When, From string
	Parts             []Part
	Notes             []string
	// Action opens the form of the kind; it is empty when there is none for this person.
	Action, At, Body, Why string
}

// mostBrought is how many proposals a page shows.
const mostBrought = 200

// NewBring builds the page.
func NewBring(frame Frame, caseID string, got *Brought, wrong string, k Clock, may func(casebook.Kind) bool) BringPage {
	p := BringPage{Frame: frame, Action: CasePath(caseID, "bring"), Wrong: wrong, Got: got != nil}
	if got == nil {
		return p
	}
	p.Unread = got.Unread
	if len(p.Unread) > mostBrought {
		p.Unread = append(p.Unread[:mostBrought:mostBrought], Part{"And more", "the rest of what was not read is not shown"})
	}
	for i, x := range got.Proposals {
		if i == mostBrought {
			p.Wrong = "There are more proposals than are shown. Export fewer resources."
			break
		}
		l := BringLine{Title: wording.Kind(x.Kind), When: "time not told", Body: string(x.Body)}
		if !x.At.IsZero() {
			l.When, l.At = k.At(x.At), x.At.Format(time.RFC3339Nano)
		}
		for j, f := range x.From {
			if j > 0 {
				l.From += ", "
			}
			l.From += f
		}
		if b := casebook.NewBody(x.Kind); b != nil && json.Unmarshal(x.Body, b) == nil {
			l.Parts = Say(reflect.ValueOf(b).Elem().Interface().(casebook.Body), k).Parts
		}
		for _, m := range x.Missing {
			l.Notes = append(l.Notes, "To be filled in: "+m)
		}
		for _, u := range x.Unsure {
			l.Notes = append(l.Notes, "Not sure: "+u)
		}
		switch {
		case x.Own:
			l.Why = "Lowtide wrote this. Take the case file over instead of single entries (lowtide import)."
		case may(x.Kind):
			l.Action = CasePath(caseID, "bring", string(x.Kind))
		default:
			l.Why = "Your account may not write this."
		}
		p.Lines = append(p.Lines, l)
	}
	return p
}
