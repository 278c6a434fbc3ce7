package web

import (
	"net/http"

	"lowtide/accesslog"
	"lowtide/casebook"
	"lowtide/state"
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

// openCaseCall finds the call of a case; without one the answer is given here.
func (s *Server) openCaseCall(w http.ResponseWriter, r *http.Request) (a callAt, ok bool) {
	o, ok := s.openCase(w, r)
	if !ok {
		return a, false
	}
	a = callAt{o: &o, id: r.PathValue("call")}
	for i := range o.c.Calls {
		if o.c.Calls[i].ID == a.id {
			a.call = &o.c.Calls[i]
			return a, true
		}
	}
	s.missing(w, r)
	return a, false
}

// openDeskCall finds a call that belongs to no case. One that goes on in a case leads there.
func (s *Server) openDeskCall(w http.ResponseWriter, r *http.Request) (a callAt, ok bool) {
	a.id = r.PathValue("call")
	var err error
	if a.call, err = s.Caseload.DeskCall(r.Context(), a.id); err == nil {
		err = s.note(r, accesslog.Noted{What: accesslog.Listed})
	}
	switch {
	case err != nil:
		s.fail(w, r, err)
	case a.call == nil:
		s.missing(w, r)
	case a.call.GoesOn != "":
		http.Redirect(w, r, page.CallPath(a.call.GoesOn, a.id), http.StatusSeeOther)
	default:
		return a, true
	}
	return a, false
}

// showCall shows the next step of a call about a case.
func (s *Server) showCall(w http.ResponseWriter, r *http.Request) {
	if a, ok := s.openCaseCall(w, r); ok {
		s.drawCall(w, r, http.StatusOK, a, "")
	}
}

// showDeskCall shows the next step of a call that belongs to no case.
func (s *Server) showDeskCall(w http.ResponseWriter, r *http.Request) {
	if a, ok := s.openDeskCall(w, r); ok {
		s.drawCall(w, r, http.StatusOK, a, "")
	}
}

// drawCall draws a call, with a problem if the last form had one.
func (s *Server) drawCall(w http.ResponseWriter, r *http.Request, status int, a callAt, problem string) {
	m, _, err := s.callModel(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	in := page.CallInput{Call: a.call, Model: m, CaseID: a.caseID(), Again: r.URL.Query().Get("again"), Clock: page.Clock{Zone: s.Zone, Now: s.Now()}}
	in.Values = s.Rules.Values(in.Clock.Now)
	var frame page.Frame
	if a.o != nil {
		in.Clock, in.Case = a.o.clock, state.CallCaseOf(a.o.c, s.Equipment, in.Values, m, a.o.now)
		frame = s.caseFrame(r, *a.o, "Call about "+a.o.rev.Person.Name)
		frame.Here = "Call desk"
	} else {
		frame = s.frame(r, "Call", "Call desk")
	}
	if in.Key, err = s.newFormKey(in.Clock.Now); err != nil {
		s.fail(w, r, err)
		return
	}
	p := page.NewCall(frame, in)
	p.Problem = problem
	if q := callQuery(r); p.Link && q != "" {
		p.Query = q
		var unknown int
		if p.Found, unknown, err = s.callSearch(r, q); err != nil {
			s.fail(w, r, err)
			return
		}
		p.FoundWords = foundWords(p.Found, unknown)
	}
	s.render(w, r, status, page.Call(p))
}
