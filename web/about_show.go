package web

import (
	"net/http"

	"lowtide/review"
	"lowtide/web/page"
)

// showAbout says what Lowtide is and what it runs with.
func (s *Server) showAbout(w http.ResponseWriter, r *http.Request) {
	p := page.NewAbout(s.frame(r, "About", "About"), review.Version, s.Rules, s.Equipment)
	p.DaySeal = s.DaySeal != nil && who(r).account.Is(Seals.Roles...)
	s.render(w, r, http.StatusOK, page.About(p))
}
