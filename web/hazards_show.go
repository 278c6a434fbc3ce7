package web

import (
	"net/http"

	"lowtide/web/page"
)

// showHazards lists the ways in which the program could hurt somebody.
func (s *Server) showHazards(r *Request) (Answer, error) {
	return show(http.StatusOK, page.Hazards(page.NewHazards(s.frame(r, "Hazards", "About"))))
}
