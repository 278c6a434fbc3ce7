package web

import (
	"net/http"
	"strings"

	"lowtide/casebook"
	"lowtide/web/page"
)

// chooseErase asks which case is to be erased, by its number: an administrator sees no names. It also lists the cases
// that were erased.
func (s *Server) chooseErase(r *Request) (Answer, error) {
	if s.Erase == nil {
		return nil, errMissing
	}
	id := strings.TrimSpace(r.URL.Query().Get("case"))
	p := page.Ask{Frame: s.frame(r, "Erase a case", ""), Heading: "Erase a case",
		Lead:  []string{"For a request of the patient, a court, or a test patient. The number stands at the end of the case's page, where a nurse can read it out."},
		Forms: []page.AskForm{{Get: true, Action: "/erase", Submit: "Go on", Fields: []page.AskField{{Name: "case", Label: "Number of the case", Type: "text", Value: id, Needed: true}}}}}
	status := http.StatusOK
	if id != "" {
		entries, _, err := s.Caseload.Book.Entries(r.Context(), id)
		switch {
		case err == nil && len(entries) > 0 && !casebook.Reserved(id):
			return goTo(page.CasePath(id, "erase"))
		default:
			// Erased, reserved and unknown numbers get the same answer: there is nothing that could be erased.
			status = http.StatusNotFound
			p.Problems = []page.AskProblem{{Field: "case", Text: "There is no case with this number that could be erased.", Remedy: "Copy the whole number from the case's page."}}
		}
	}
	return show(status, page.AskPage(p))
}
