package web

import (
	"net/http"

	"lowtide/web/page"
)

// showRule shows one rule with everything about it.
func (s *Server) showRule(w http.ResponseWriter, r *http.Request) {
	found := s.Rules.Rule(r.PathValue("rule"))
	if found == nil {
		s.refuse(w, r, http.StatusNotFound, "There is no such rule.", "Look for it in the Rulebook.")
		return
	}
	s.render(w, r, http.StatusOK, page.RuleOf(page.NewRule(s.frame(r, found.Title, "Rulebook"), found)))
}
