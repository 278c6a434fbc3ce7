package web

import (
	"net/http"

	"lowtide/casebook"
	"lowtide/web/page"
)

// showDecision puts the case before the prescriber, with the form of a decision for those who may write one.
func (s *Server) showDecision(r *Request) (Answer, error) {
	o := r.opened
	in, err := s.formInput(o, page.Start(casebook.KindDecisionMade, o.c, o.clock, asked(r)), nil)
	if err != nil {
		return nil, err
	}
	d := o.rev.Decision()
	return show(http.StatusOK, page.Decision(page.NewDecision(s.caseFrame(r, o, "Decision for "+o.rev.Person.Name), o.c, o.rev, d, in, mayWrite(r.who, casebook.KindDecisionMade))))
}
