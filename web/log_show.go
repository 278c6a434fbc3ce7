package web

import (
	"net/http"
	"strconv"

	"lowtide/casebook"
	"lowtide/web/page"
)

// showLog shows everything that was written in a case.
func (s *Server) showLog(w http.ResponseWriter, r *http.Request) {
	now := s.Now()
	c, rev, _, err := s.Caseload.Case(r.Context(), r.PathValue("case"), now)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if c == nil {
		s.missing(w, r)
		return
	}
	q := r.URL.Query()
	f := page.LogFilter{Entry: q.Get("entry")}
	if kind := casebook.Kind(q.Get("kind")); page.KindWords[kind] != "" {
		f.Kind = kind
	}
	f.Page, _ = strconv.Atoi(q.Get("page"))
	s.render(w, r, http.StatusOK, page.Log(page.NewLog(s.frame("Log of "+rev.Person.Name, ""), c, f, now)))
}
