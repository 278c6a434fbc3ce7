package web

import (
	"net/http"
	"strconv"
)

// showStrips sends the printable scale strips. The command plugs in who makes them.
func (s *Server) showStrips(w http.ResponseWriter, r *http.Request) {
	paper := r.PathValue("paper")
	if s.Strips == nil || paper != "a4" && paper != "letter" {
		s.missing(w, r)
		return
	}
	pdf, err := s.Strips(paper)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Content-Disposition", `inline; filename="lowtide-strips-`+paper+`.pdf"`)
	w.Header().Set("Content-Length", strconv.Itoa(len(pdf)))
	w.Write(pdf)
}
