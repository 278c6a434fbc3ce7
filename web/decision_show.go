package web

import (
	"net/http"

	"lowtide/casebook"
	"lowtide/review"
	"lowtide/web/page"
)

// showDecision puts the case before the prescriber, with the form of a decision for those who may write one.
func (s *Server) showDecision(w http.ResponseWriter, r *http.Request) {
	o, ok := s.openCase(w, r)
	if !ok {
		return
	}
	in, err := s.formInput(o, page.Start(casebook.KindDecisionMade, o.c, o.clock, asked(r)), nil)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	d := review.DecisionOf(o.c, s.Rules, s.Equipment, o.now)
	s.render(w, r, http.StatusOK, page.Decision(page.NewDecision(s.caseFrame(r, o, "Decision for "+o.rev.Person.Name), o.c, o.rev, d, in, mayWrite(who(r), casebook.KindDecisionMade))))
}
