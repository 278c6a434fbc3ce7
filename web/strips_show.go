package web

import (
	"net/http"
	"strconv"

	"lowtide/state"
)

// showStrips sends the printable sheet of scale strips.
func (s *Server) showStrips(w http.ResponseWriter, r *http.Request) {
	paper := r.PathValue("paper")
	pdf, ok := state.StripsPDF(paper)
	if !ok {
		s.missing(w, r)
		return
	}
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Content-Disposition", `inline; filename="lowtide-strips.pdf"`)
	w.Header().Set("Content-Length", strconv.Itoa(len(pdf)))
	w.Write(pdf)
}
