package web

import (
	"net/http"

	"lowtide/web/page"
)

// showDaySeal shows how far the store and its access log have come, to be kept somewhere else.
func (s *Server) showDaySeal(w http.ResponseWriter, r *http.Request) {
	if s.DaySeal == nil {
		s.missing(w, r)
		return
	}
	seal, err := s.DaySeal(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	code, err := seal.Code()
	if err != nil {
		s.fail(w, r, err)
		return
	}
	k := page.Clock{Zone: s.zone(), Now: s.Now()}
	s.render(w, r, http.StatusOK, page.DaySealPage(page.NewDaySeal(s.frame(r, "Seal of the day", ""), seal.Text(), k.At(seal.At), code)))
}
