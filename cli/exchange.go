package cli

import (
	"time"

	"lowtide/report"
	"lowtide/report/fhir"
	"lowtide/review"
	"lowtide/web"
)

// exchange answers other systems in FHIR R4.
type exchange struct{}

func (exchange) Kinds() []string                  { return fhir.Kinds }
func (exchange) PatientID(caseID string) string   { return fhir.PatientID(caseID) }
func (exchange) PatientOf(kind, id string) string { return fhir.PatientOf(kind, id) }
func (exchange) Outcome(code, words string) []byte {
	return fhir.Outcome(code, words)
}

func (exchange) Resources(in report.Input, kind string) ([]web.Resource, error) {
	from := fhir.Input{Review: in.Review}
	if kind == "DocumentReference" {
		var err error
		if from.Papers, err = progressPaper(in); err != nil {
			return nil, err
		}
	}
	list, err := fhir.Resources(from)
	out := make([]web.Resource, len(list))
	for i, x := range list {
		out[i] = web.Resource{Type: x.Type, ID: x.ID, JSON: x.JSON}
	}
	return out, err
}

func (exchange) SearchSet(p web.SearchPage) ([]byte, error) {
	list := make([]fhir.Resource, len(p.Found))
	for i, x := range p.Found {
		list[i] = fhir.Resource{Type: x.Type, ID: x.ID, JSON: x.JSON}
	}
	return fhir.SearchSet(list, p.Total, p.Base, p.Self, p.Next)
}

func (exchange) Metadata() ([]byte, error) {
	return fhir.Metadata(review.Version, now().UTC().Format(time.RFC3339))
}
