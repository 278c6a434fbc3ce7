package page

import (
	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/wording"
)

// What a correction can do.
const (
	DoWithdraw = "withdraw"
	DoReplace  = "replace"
	DoMove     = "move"
)

// CorrectionPage asks what is wrong with an entry, before the form that corrects it.
type CorrectionPage struct {
	Frame
	Heading string
	Entry   []Part
	// Note says why there is nothing to choose.
	Note    string
	Choices []MenuLine
	Log     Link
}

// CorrectionWays lists what can be done about a line of the log.
func CorrectionWays(l *casebook.Line) []string {
	switch l.State {
	case casebook.Correction, casebook.MovedIn:
		return []string{DoWithdraw}
	case casebook.InForce, casebook.Replaced:
		if _, unknown := l.Now.(casebook.Unknown); unknown {
			return []string{DoWithdraw, DoMove}
		}
		if l.Entry.Kind == casebook.KindReviewSigned {
			return []string{DoWithdraw} // a signature is withdrawn, never rewritten
		}
		if l.Entry.Kind == casebook.KindOutlineTraced {
			return []string{DoWithdraw} // drawn again on the photo, never typed; it moves with its photo
		}
		if l.Entry.Kind == casebook.KindLogImported {
			return []string{DoWithdraw, DoMove} // what it says is read from the file, never typed
		}
		return []string{DoReplace, DoWithdraw, DoMove}
	}
	return nil
}

// NewCorrection asks what is wrong.
func NewCorrection(frame Frame, c *casebook.Case, l *casebook.Line, k Clock) CorrectionPage {
	here := CasePath(c.ID, "correct", l.Entry.ID)
	p := CorrectionPage{Frame: frame, Heading: "Correct an entry", Entry: entryParts(l, k), Log: Link{LogPath(c.ID, l.Entry.ID), "Back to the log"}}
	for _, way := range CorrectionWays(l) {
		line := MenuLine{Href: here + "?do=" + way}
		switch way {
		case DoReplace:
			line.Words, line.For = "Something in it is wrong", "correct the content or the time"
		case DoWithdraw:
			line.Words, line.For = "It should not count", "withdraw it: it never happened, or was written twice"
			if l.State == casebook.Correction {
				line.Words, line.For = "Undo this correction", "the entry counts again as before it"
			} else if l.State == casebook.MovedIn {
				line.Words, line.For = "It does not belong here", "undo the move: it goes back to the case that it came from"
			}
		case DoMove:
			line.Words, line.For = "It belongs to another patient", "it is moved to that case; both cases show it"
		}
		p.Choices = append(p.Choices, line)
	}
	if len(p.Choices) == 0 {
		p.Note = "This entry does not count any more. To make it count again, undo the correction that took it out."
		for _, id := range l.By {
			if by := c.Line(id); by != nil && by.State == casebook.Correction {
				p.Choices = append(p.Choices, MenuLine{CasePath(c.ID, "correct", id), Say(by.Entry.Body, k).Title, "because: " + by.Entry.Reason})
			}
		}
	}
	return p
}

// entryParts says what the entry says now, or what it said when it does not count any more.
func entryParts(l *casebook.Line, k Clock) []Part {
	body := l.Now
	if body == nil {
		body = original(l.Entry)
	}
	said := Say(body, k)
	out := []Part{{"Entry", said.Title}, {"Time", k.At(l.At)}, {"Written by", l.Entry.Author}}
	return append(out, said.Parts...)
}

// CorrectionInput is what the form of a correction is drawn from.
type CorrectionInput struct {
	FormInput
	Line *casebook.Line
	Do   string
	// Cases are the other cases to choose from, when the entry moves.
	Cases []Option
	Who   string
	More  bool
}

// NewCorrectionForm draws the form of one correction.
func NewCorrectionForm(frame Frame, in CorrectionInput) FormPage {
	b := newFormBuilder(in.Typed)
	l, id := in.Line, in.Case.ID
	here := CasePath(id, "correct", l.Entry.ID)
	p := FormPage{Frame: frame, Action: here, Hidden: []FormField{hidden("-key", in.Key), hidden("-do", in.Do)}, Back: Link{LogPath(id, l.Entry.ID), "Leave without saving"}}
	if in.Do != DoReplace {
		p.Before = entryParts(l, in.Clock)
	}
	switch in.Do {
	case DoWithdraw:
		p.Heading, p.Submit = "Withdraw an entry", "Withdraw"
		p.Lead = []string{"The entry stays in the log, marked as withdrawn, with your reason. Nothing is erased."}
		if l.State == casebook.Correction {
			p.Heading, p.Submit = "Undo a correction", "Undo"
			p.Lead = []string{"The entry counts again as before. The log shows the correction and that it was undone."}
		} else if l.State == casebook.MovedIn {
			p.Heading, p.Submit = "Undo a move", "Move it back"
			p.Lead = []string{"The entry goes back to the case that it came from. Both cases show that it was here."}
		}
	case DoReplace:
		p.Heading, p.Submit = "Correct: "+wording.Kind(l.Entry.Kind), "Save the correction"
		p.Lead = []string{"Change what is wrong. The log shows both versions with your reason."}
		b.prepare(in.FormInput, "body/")
		p.Sections = b.sections(l.Entry.Kind, "body/", in.FormInput)
		p.Sections = append(p.Sections, FormSection{Title: "When", Fields: []FormField{b.when("at", "When it happened", in.Clock)}})
	case DoMove:
		p.Heading, p.Submit = "Move to another patient's case", "Move the entry"
		p.Lead = []string{"The entry is withdrawn here and counts there. Both cases show it, with your reason."}
		p.Search = &FormSearch{here, in.Do, in.Who, in.More}
		f := FormField{Control: ControlSelect, Name: "other_case", Pointer: "other_case", Label: "The patient that it belongs to", Needed: true, Value: b.get("other_case"), Problems: b.wrong("other_case")}
		f.Options = append([]Option{{Value: "", Words: "Choose"}}, mark(in.Cases, f.Value, true)...)
		b.known["other_case"] = f.Label
		p.Sections = []FormSection{{Fields: []FormField{f}}}
	}
	why := FormField{Control: ControlLines, Name: "reason", Pointer: "reason", Label: "Reason", Needed: true, Wide: true, Value: b.get("reason"), Problems: b.wrong("reason"), Hint: "Readers see it beside both versions."}
	b.known["reason"] = why.Label
	p.Sections = append(p.Sections, FormSection{Title: "Why", Fields: []FormField{why}})
	p.Problems = b.list()
	return p
}

// StartCorrection fills the form of a replacement with what counts now: here that is right.
func StartCorrection(l *casebook.Line, k Clock) Typed {
	t := Typed{Values: map[string][]string{}}
	if l.Now == nil || intake.FieldsOf(l.Now.Kind()) == nil {
		return t
	}
	for name, values := range Flatten(l.Now, k.Zone) {
		t.Values["body/"+name] = values
	}
	t.Values.Set("at", LocalValue(l.At, k.Zone))
	return t
}
