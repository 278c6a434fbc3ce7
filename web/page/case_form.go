package page

import (
	"lowtide/casebook"
)

// NewCaseForm draws the form that starts a case: the patient and the first wound.
func NewCaseForm(frame Frame, in FormInput) FormPage {
	b := newFormBuilder(in.Typed)
	b.prepare(in, "person/")
	b.prepare(in, "wound/")
	p := FormPage{Frame: frame, Heading: "New case", Action: "/case/new", Submit: "Start the case", Hidden: []FormField{hidden("-key", in.Key)}, Back: Link{"/", "Leave without saving"},
		Lead: []string{"The patient and the first wound. Screening, order and pump follow in the case."}}
	p.Sections = append(b.sections(casebook.KindPersonRegistered, "person/", in), b.sections(casebook.KindWoundFound, "wound/", in)...)
	end := FormSection{Title: "When", Fields: []FormField{b.when("at", "When it was", in.Clock)}}
	if len(b.wrong("-same")) > 0 || b.get("-same") != "" {
		same := FormField{Control: ControlTick, Name: "-same", Pointer: "-same", Label: "This is another person, or a therapy of its own", Value: b.get("-same"), Problems: b.wrong("-same"), Wide: true}
		b.known["-same"] = same.Label
		end.Fields = append(end.Fields, same)
	}
	p.Sections = append(p.Sections, end)
	p.Problems = b.list()
	return p
}
