package web

import (
	"net/http"

	"lowtide/review"
	"lowtide/web/page"
)

// showAbout says what Lowtide is and what it runs with.
func (s *Server) showAbout(r *Request) (Answer, error) {
	p := page.NewAbout(s.frame(r, "About", "About"), review.Version, s.Rules, s.Equipment)
	p.DaySeal = s.DaySeal != nil && r.who.account.Is(Seals.Roles...)
	return show(http.StatusOK, page.About(p))
}
