package web

import (
	"net/http"

	"lowtide/web/page"
)

// showEdge lays two outlines of a wound over each other.
func (s *Server) showEdge(w http.ResponseWriter, r *http.Request) {
	o, ok := s.openCase(w, r)
	if !ok {
		return
	}
	wound := o.c.Wound(r.PathValue("wound"))
	if wound == nil {
		s.missing(w, r)
		return
	}
	q := r.URL.Query()
	s.render(w, r, http.StatusOK, page.Edge(page.NewEdge(s.caseFrame(r, o, "Edge of wound "+wound.Name), o.c, wound, q.Get("from"), q.Get("to"), o.clock)))
}
