package cli

import (
	"time"

	"lowtide/casebook"
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

func (exchange) Resources(c *casebook.Case, r *review.Review) ([]web.Resource, error) {
	list, err := fhir.Resources(fhir.Input{Case: c, Review: r})
	out := make([]web.Resource, len(list))
	for i, x := range list {
		out[i] = web.Resource{Type: x.Type, ID: x.ID, JSON: x.JSON}
	}
	return out, err
}

func (exchange) SearchSet(found []web.Resource, base string) ([]byte, error) {
	list := make([]fhir.Resource, len(found))
	for i, x := range found {
		list[i] = fhir.Resource{Type: x.Type, ID: x.ID, JSON: x.JSON}
	}
	return fhir.SearchSet(list, base)
}

func (exchange) Metadata() ([]byte, error) {
	return fhir.Metadata(review.Version, now().UTC().Format(time.RFC3339))
}
