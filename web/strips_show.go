package web

import (
	"net/http"

	"lowtide/state"
)

// showStrips sends the printable sheet of scale strips.
func (s *Server) showStrips(r *Request) (Answer, error) {
	paper := r.PathValue("paper")
	pdf, ok := state.StripsPDF(paper)
	if !ok {
		return nil, errMissing
	}
	r.header.Set("Content-Disposition", `inline; filename="lowtide-strips.pdf"`)
	return content{http.StatusOK, "application/pdf", "", pdf}, nil
}
