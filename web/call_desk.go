package web

import (
	"context"
	"net/http"
	"strings"
	"time"

	"lowtide/accesslog"
	"lowtide/casebook"
	"lowtide/caseload"
	"lowtide/intake"
	"lowtide/state"
	"lowtide/web/page"
)

// callReading is how long a page of the Call desk waits for cases that are still being read: somebody is on the phone.
const callReading = 300 * time.Millisecond

// mostCallFound is how many patients a search at the desk lists.
const mostCallFound = 20

// callModel is the model with the calls of this store counted in.
func (s *Server) callModel(r *Request) (m *state.CallModel, pending int, err error) {
	m = s.Calls
	if m == nil {
		m = state.BuiltInCalls()
	}
	ctx, cancel := context.WithTimeout(r.Context(), callReading)
	defer cancel()
	tally, pending, err := s.Caseload.CallTally(ctx, m, s.Now())
	return m.Counted(tally), pending, err
}

// showCallDesk starts calls, and lists those that are open.
func (s *Server) showCallDesk(r *Request) (Answer, error) {
	now := s.Now()
	ctx, cancel := context.WithTimeout(r.Context(), callReading)
	defer cancel()
	open, pending, err := s.Caseload.OpenCalls(ctx, now)
	if err == nil {
		err = s.note(r, accesslog.Noted{What: accesslog.Listed})
	}
	if err != nil {
		return nil, err
	}
	p := page.CallDeskPage{Frame: s.frame(r, "Call desk", "Call desk"), Query: callQuery(r)}
	k := page.Clock{Zone: s.Zone, Now: now}
	for _, o := range open {
		if o.Case == "" || s.onList(r.who, o.Person) {
			p.Open = append(p.Open, page.CallLineOf(o, k))
		}
	}
	switch {
	case pending > 0:
		p.OpenWords = "Some cases are still being read; their open calls are not listed yet."
	case len(p.Open) == 0:
		p.OpenWords = "No call is open."
	default:
		p.OpenWords = "Open one to go on with it on this device."
	}
	if p.Query != "" {
		var unknown int
		if p.Found, unknown, err = s.callSearch(r, p.Query); err != nil {
			return nil, err
		}
		p.FoundWords = "Found on your list:"
		if words := foundWords(p.Found, unknown); words != "" {
			p.FoundWords = words + " Start without a case: it can be joined to one later."
		}
		for i := range p.Found {
			key, err := s.newFormKey(now)
			if err != nil {
				return nil, err
			}
			p.Found[i].Action, p.Found[i].Key = page.CasePath(p.Found[i].Action, "call"), key
		}
	}
	if p.Key, err = s.newFormKey(now); err != nil {
		return nil, err
	}
	return show(http.StatusOK, page.CallDesk(p))
}

func callQuery(r *Request) string {
	q := strings.TrimSpace(r.URL.Query().Get("q"))
	if len(q) > 60 {
		return ""
	}
	return q
}

// foundWords says what a search for a name did not find; empty when it found somebody and looked at everybody.
func foundWords(found []page.CallStart, unknown int) string {
	switch {
	case unknown > 0:
		return "Some patients are still being read and may be missing here: search again in a moment."
	case len(found) == 0:
		return "Nobody of that name is on your list."
	}
	return ""
}

// callSearch finds patients of the person's list by a part of the name; Action holds the case. unknown counts the cases whose
// names are not known yet.
func (s *Server) callSearch(r *Request, q string) (found []page.CallStart, unknown int, err error) {
	ctx, cancel := context.WithTimeout(r.Context(), callReading)
	defer cancel()
	rows, unknown, err := s.Caseload.Glance(ctx, s.Now())
	if err != nil {
		return nil, 0, err
	}
	for _, row := range s.listed(r, rows) {
		if len(found) < mostCallFound && strings.Contains(strings.ToLower(row.Person.Name), strings.ToLower(q)) {
			where := row.Person.Place
			if row.Person.Address != "" {
				where += ", " + row.Person.Address
			}
			found = append(found, page.CallStart{Name: row.Person.Name, Where: where, Action: row.Case})
		}
	}
	return found, unknown, nil
}

// startDeskCall starts a call that belongs to no case.
func (s *Server) startDeskCall(r *Request) (Answer, error) {
	form := r.form
	id, ok := entryID(form.Get("-key"), 0)
	if !ok {
		return nil, refuse(http.StatusUnprocessableEntity, keyProblem.Message, "Open the Call desk and start the call again.")
	}
	part := casebook.CallTaken{Call: id, Caller: short(form.Get("caller"), 120), Phone: short(form.Get("phone"), 40), Patient: short(form.Get("patient"), 120)}
	if err := s.writeDesk(r, s.entry(r, id, casebook.DeskCall(id), s.Now(), part)); err != nil {
		return nil, err
	}
	return goTo(page.CallPath("", id))
}

// short keeps as much of a short text as its field takes: nobody on the phone is stopped by a long name.
func short(text string, most int) string {
	text = strings.TrimSpace(strings.ToValidUTF8(text, ""))
	if r := []rune(text); len(r) > most {
		return string(r[:most])
	}
	return text
}

// showCaseCall asks who calls about a case, and lists the case's open calls.
func (s *Server) showCaseCall(r *Request) (Answer, error) {
	o := r.opened
	p := page.CallDeskPage{Frame: s.caseFrame(r, o, "Call about "+o.rev.Person.Name)}
	for _, c := range o.c.Calls {
		if c.Ended == "" {
			p.Open = append(p.Open, page.CallLineOf(caseload.OpenCall{Case: o.c.ID, Person: o.rev.Person, Call: c}, o.clock))
		}
	}
	var err error
	if p.Key, err = s.newFormKey(o.now); err != nil {
		return nil, err
	}
	return show(http.StatusOK, page.CallStartOf(p, page.CasePath(o.c.ID, "call"), o.rev.Person.Name, page.CasePath(o.c.ID)))
}

// startCaseCall starts a call about a case.
func (s *Server) startCaseCall(r *Request) (Answer, error) {
	o := r.opened
	form, ps := r.form, r.broken
	id, ok := entryID(form.Get("-key"), 0)
	if !ok {
		ps = intake.Join(ps, intake.Problems{keyProblem})
	}
	part := casebook.CallTaken{Call: id, Caller: short(form.Get("caller"), 120), Phone: short(form.Get("phone"), 40)}
	return s.writePart(r, callAt{o: &o, id: id}, id, part, ps)
}

// showCallsFound shows what calls found here.
func (s *Server) showCallsFound(r *Request) (Answer, error) {
	m, pending, err := s.callModel(r)
	if err != nil {
		return nil, err
	}
	return show(http.StatusOK, page.CallFoundShow(page.NewCallFound(s.frame(r, "What calls found here", "Call desk"), m, pending)))
}
