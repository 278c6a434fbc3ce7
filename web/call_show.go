package web

import (
	"net/http"

	"lowtide/accesslog"
	"lowtide/casebook"
	"lowtide/web/page"
)

// callAt is a call that a request is about: of a case, or of the desk when o is nil.
type callAt struct {
	o    *opened
	id   string
	call *casebook.Call
}

func (a callAt) caseID() string {
	if a.o == nil {
		return ""
	}
	return a.o.c.ID
}

// openCaseCall finds the call of a case.
func openCaseCall(r *Request) (callAt, error) {
	a := callAt{o: &r.opened, id: r.PathValue("call")}
	for i := range r.c.Calls {
		if r.c.Calls[i].ID == a.id {
			a.call = &r.c.Calls[i]
			return a, nil
		}
	}
	return a, errMissing
}

// openDeskCall finds a call that belongs to no case. One that goes on in a case leads there.
func (s *Server) openDeskCall(r *Request) (a callAt, err error) {
	a.id = r.PathValue("call")
	if a.call, err = s.Caseload.DeskCall(r.Context(), a.id); err == nil {
		err = s.note(r, accesslog.Noted{What: accesslog.Listed})
	}
	switch {
	case err != nil:
		return a, err
	case a.call == nil:
		return a, errMissing
	case a.call.GoesOn != "":
		return a, first(goTo(page.CallPath(a.call.GoesOn, a.id)))
	}
	return a, nil
}

// showCall shows the next step of a call about a case.
func (s *Server) showCall(r *Request) (Answer, error) {
	a, err := openCaseCall(r)
	if err != nil {
		return nil, err
	}
	return s.drawCall(r, http.StatusOK, a, "")
}

// showDeskCall shows the next step of a call that belongs to no case.
func (s *Server) showDeskCall(r *Request) (Answer, error) {
	a, err := s.openDeskCall(r)
	if err != nil {
		return nil, err
	}
	return s.drawCall(r, http.StatusOK, a, "")
}

// drawCall draws a call, with a problem if the last form had one.
func (s *Server) drawCall(r *Request, status int, a callAt, problem string) (Answer, error) {
	m, _, err := s.callModel(r)
	if err != nil {
		return nil, err
	}
	in := page.CallInput{Call: a.call, Model: m, CaseID: a.caseID(), Again: r.URL.Query().Get("again"), Clock: page.Clock{Zone: s.Zone, Now: s.Now()}}
	in.Values = s.Rules.Values(in.Clock.Now)
	var frame page.Frame
	if a.o != nil {
		in.Clock, in.Case = a.o.clock, a.o.rev.CallCase(m)
		frame = s.caseFrame(r, *a.o, "Call about "+a.o.rev.Person.Name)
		frame.Here = "Call desk"
	} else {
		frame = s.frame(r, "Call", "Call desk")
	}
	if in.Key, err = s.newFormKey(in.Clock.Now); err != nil {
		return nil, err
	}
	p := page.NewCall(frame, in)
	if a.o != nil {
		p.Plan = page.PressingPlan(a.o.rev, a.o.clock)
	}
	p.Problem = problem
	if q := callQuery(r); p.Link && q != "" {
		p.Query = q
		var unknown int
		if p.Found, unknown, err = s.callSearch(r, q); err != nil {
			return nil, err
		}
		p.FoundWords = foundWords(p.Found, unknown)
	}
	return show(status, page.Call(p))
}
