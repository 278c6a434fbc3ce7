package page

import (
	"time"

	"lowtide/casebook"
	"lowtide/intake"
)

// SignOffPage is a review to be read and signed.
type SignOffPage struct {
	FormPage
	Plan     []PlanLevel
	Findings []FindingGroup
	// None is said when there is no finding.
	None string
	// About says which review this is.
	About []Part
}

// NewSignOff shows the review in in.Review; its hash and moment go with the form.
func NewSignOff(frame Frame, in FormInput) SignOffPage {
	b := newFormBuilder(in.Typed)
	id, r := in.Case.ID, in.Review
	hash := r.Hash()
	p := SignOffPage{FormPage: FormPage{Frame: frame, Heading: "Sign off", Action: CasePath(id, "sign"), Submit: "Sign this review", Back: Link{CasePath(id), "Leave without signing"}}}
	p.Hidden = []FormField{hidden("-key", in.Key), hidden("hash", hash), hidden("as_of", r.AsOf.Format(time.RFC3339Nano))}
	b.known["hash"] = "Review"
	p.Plan, p.Findings = planLevels(r, in.Clock), findingGroups(in.Case, r, in.Clock)
	if len(p.Findings) == 0 {
		p.None = "No rule has anything to say about this case now."
	}
	p.About = []Part{{"Review as of", in.Clock.At(r.AsOf)}, {"Findings", countWords(len(r.Findings), "finding", "findings")}, {"Hash", hash[:12] + "…"}, {"Rule set", r.Rules[:min(12, len(r.Rules))] + "…"}, {"Program", r.Program}}
	if r.Therapy.CountOpen {
		p.Warnings = []FormWarning{{"The filler count is open: a handover or the end of therapy cannot be signed until every piece is accounted for.",
			&Link{CasePath(id, "add", string(casebook.KindPiecesAccounted)), "Account for the pieces"}}}
	}
	p.Sections = []FormSection{{Title: "Your name to it", Lead: []string{"You sign that you read the review above, as " + frame.Author + ". Signing settles no finding."},
		Fields: b.fields(intake.FieldsOf(casebook.KindReviewSigned), "", "purpose", "note")}}
	p.Problems = b.list()
	return p
}
