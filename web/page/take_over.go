package page

import (
	"lowtide/casebook"
	"lowtide/wording"
)

// TakeOver is the page on which an entry that came by file is taken over.
func TakeOver(frame Frame, c *casebook.Case, l *casebook.Line, k Clock, why string, ps []AskProblem) Ask {
	said := lineSaid(l, k)
	p := Ask{Frame: frame, Heading: "Take over: " + said.Title, Problems: ps,
		Lead:  []string{wording.Came(l.Entry.Came, k.At), "Compare what it says with what you know: the prescriber's own order, a telephone call, the other team's paper. When you take it over, you stand in for it with your name."},
		Facts: append([]Part{{Label: "Said to be by", Text: l.Entry.Author}, {Label: "Time", Text: k.At(l.At)}}, said.Parts...),
		Forms: []AskForm{{Action: TakePath(c.ID, l.Entry.ID), Submit: "Take it over", Fields: []AskField{{Name: "why", Label: "What you compared it with", Hint: "For example: read back to the prescriber on the telephone; the signed order is in the folder.", Type: "text", Value: why, Needed: true}}}},
		Links: []Link{{Href: LogPath(c.ID, l.Entry.ID), Words: "Back to the log"}}}
	p.Frame.Case = c.ID
	if len(ps) > 0 {
		p.Forms[0].Fields[0].Problem = ps[0].Text
	}
	return p
}
