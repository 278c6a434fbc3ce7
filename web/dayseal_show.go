package web

import (
	"net/http"

	"lowtide/web/page"
)

// showDaySeal shows how far the store and its access log have come, to be kept somewhere else.
func (s *Server) showDaySeal(r *Request) (Answer, error) {
	if s.DaySeal == nil {
		return nil, errMissing
	}
	seal, err := s.DaySeal(r.Context())
	if err != nil {
		return nil, err
	}
	code, err := seal.Code()
	if err != nil {
		return nil, err
	}
	k := page.Clock{Zone: s.zone(), Now: s.Now()}
	return show(http.StatusOK, page.DaySealPage(page.NewDaySeal(s.frame(r, "Seal of the day", ""), seal.Text(), k.At(seal.At), code)))
}
