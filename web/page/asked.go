package page

import (
	"strings"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/review"
	"lowtide/state"
)

// AskedPage settles what the entries tell in two ways.
type AskedPage struct {
	Frame
	Action, Key string
	Back        Link
	Questions   []AskedView
}

// AskedView is one question with the entries that cannot all be so, side by side.
type AskedView struct {
	ID, Words, Counts string
	About             string
	Entries           []string
	Sides             []AskedSide
	// Settles tells that the question can be answered here; else one of the entries has to be corrected.
	Settles bool
	// Right and How are what was typed, and Problems what is wrong with it.
	Right, How string
	Problems   []string
}

// AskedSide is one of the entries.
type AskedSide struct {
	ID, Title, When, Written, Who string
	// From names the file by which it came; empty when it was written here.
	From         string
	Parts        []Part
	Log, Correct Link
}

// AskedKey names a question in a form.
func AskedKey(q state.Question) string { return q.About + " " + strings.Join(q.Entries, " ") }

// NewAsked builds the page; answered is the question that was sent with problems, if one was.
func NewAsked(frame Frame, c *casebook.Case, r *review.Review, k Clock, key, answered string, typed Typed) AskedPage {
	p := AskedPage{Frame: frame, Action: CasePath(c.ID, "asked"), Key: key, Back: Link{CasePath(c.ID), "Back to the case"}}
	for i, q := range r.Asked {
		v := AskedView{ID: "q" + string(rune('a'+i%26)), Words: q.Words, Counts: q.Counts, About: q.About, Entries: q.Entries, Settles: q.About != state.AskedContent}
		sides := q.Entries
		if q.About == state.AskedCorrection {
			sides = sides[1:]
		}
		for _, id := range sides {
			v.Sides = append(v.Sides, askedSide(c, id, k))
		}
		if AskedKey(q) == answered {
			v.Right, v.How = typed.Values.Get("right"), typed.Values.Get("how")
			v.Problems = problemWords(typed.Problems)
		}
		p.Questions = append(p.Questions, v)
	}
	return p
}

// askedMissing says what is missing in the form, by its field.
var askedMissing = map[string]string{"right": "It is not said which is right. Choose one of the entries, or both.", "how": "It is not said how that is known. Write who found out, and how."}

func problemWords(ps intake.Problems) []string {
	var out []string
	for _, p := range ps {
		words := p.Message + " " + p.Remedy
		if missing := askedMissing[p.Pointer]; p.Code == intake.CodeMissing && missing != "" {
			words = missing
		}
		out = append(out, words)
	}
	return out
}

func askedSide(c *casebook.Case, id string, k Clock) AskedSide {
	s := AskedSide{ID: id, Log: Link{LogPath(c.ID, id), "In the log"}, Correct: Link{CasePath(c.ID, "correct", id), "Neither: correct this entry"}}
	l := c.Line(id)
	if l == nil {
		s.Title = "An entry that is not there"
		return s
	}
	said := lineSaid(l, k)
	s.Title, s.Parts = said.Title, said.Parts
	s.When, s.Written, s.Who = k.At(l.At), k.At(l.Entry.Recorded), l.Entry.Author
	switch came := l.Entry.Came; {
	case came == nil:
	case came.Phone != "":
		s.From = "on " + came.Phone + ", without a network"
	default:
		s.From = "by file " + came.File + ", brought by " + came.By
	}
	return s
}
