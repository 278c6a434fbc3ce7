package web

import (
	"net/http"

	"lowtide/web/page"
)

// showEdge lays two outlines of a wound over each other.
func (s *Server) showEdge(r *Request) (Answer, error) {
	o := r.opened
	wound := o.c.Wound(r.PathValue("wound"))
	if wound == nil {
		return nil, errMissing
	}
	q := r.URL.Query()
	return show(http.StatusOK, page.Edge(page.NewEdge(s.caseFrame(r, o, "Edge of wound "+wound.Name), o.c, wound, q.Get("from"), q.Get("to"), o.clock)))
}
