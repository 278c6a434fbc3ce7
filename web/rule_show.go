package web

import (
	"net/http"

	"lowtide/web/page"
)

// showRule shows one rule with everything about it.
func (s *Server) showRule(r *Request) (Answer, error) {
	found := s.Rules.Rule(r.PathValue("rule"))
	if found == nil {
		return nil, refuse(http.StatusNotFound, "There is no such rule.", "Look for it in the Rulebook.")
	}
	return show(http.StatusOK, page.RuleOf(page.NewRule(s.frame(r, found.Title, "Rulebook"), found)))
}
