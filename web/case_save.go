package web

import (
	"net/http"
	"net/url"
	"time"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/web/page"
)

// The parts of the form of a new case.
const (
	personPrefix = "person/"
	woundPrefix  = "wound/"
)

// saveCase writes the first two entries of a new case: who it is about and the first wound.
func (s *Server) saveCase(r *Request) (Answer, error) {
	form, ps := r.form, r.broken
	now := s.Now()
	zone := s.usualZone(r, now)
	if z, err := time.LoadLocation(form.Get("person/zone")); err == nil && form.Get("person/zone") != "" {
		zone = z // the clock times in the form are the patient's
	}
	in, err := s.caseInput(form, now, zone)
	if err != nil {
		return nil, err
	}
	draw := func(status int) (Answer, error) {
		return show(status, page.Form(page.NewCaseForm(s.frame(r, "New case", ""), in)))
	}
	if in.More != "" {
		return draw(http.StatusOK)
	}
	key := form.Get("-key")
	caseID, ok := entryID(key, 0)
	if !ok {
		ps = append(ps, keyProblem)
	}
	at, atPs := readAt(form, "at", "When it was", zone)
	ps = intake.Join(ps, atPs)
	var drafts []draft
	for i, part := range []struct {
		kind   casebook.Kind
		prefix string
	}{{casebook.KindPersonRegistered, personPrefix}, {casebook.KindWoundFound, woundPrefix}} {
		body, found := readPart(part.kind, form, part.prefix, zone)
		ps = intake.Join(ps, found)
		id, _ := entryID(key, 1+i)
		drafts = append(drafts, draft{entry: s.entry(r, id, caseID, at, body), prefix: part.prefix, form: intake.SubForm(form, part.prefix)})
	}
	if ps.Err() == nil && form.Get("-same") == "" {
		ps = intake.Join(ps, s.samePatient(r, now, caseID, drafts[0].entry.Body))
	}
	ps, to, err := s.write(r.Context(), caseID, drafts, ps, nil)
	o := opened{c: &casebook.Case{ID: caseID}}
	return afterWrite(o.c.ID, drafts[0].entry.ID, to, err, func() (Answer, error) {
		in.Problems = ps
		return draw(http.StatusUnprocessableEntity)
	})
}

// readPart reads a body from the fields under a prefix; problems keep the prefix.
func readPart(kind casebook.Kind, form url.Values, prefix string, zone *time.Location) (casebook.Body, intake.Problems) {
	body, ps := intake.ReadForm(kind, intake.SubForm(form, prefix), zone)
	for i := range ps {
		ps[i].Pointer = prefix + ps[i].Pointer
	}
	return body, ps
}

// samePatient asks before a second case is made of somebody who seems to have one.
func (s *Server) samePatient(r *Request, now time.Time, caseID string, body casebook.Body) intake.Problems {
	p, ok := body.(casebook.PersonRegistered)
	rows, _, err := s.Caseload.Rows(r.Context(), now)
	if !ok || err != nil {
		return nil // the question is a courtesy: without the list it is not asked
	}
	for _, row := range rows {
		same := row.Person.Name == p.Name || p.Record != "" && row.Person.Record == p.Record
		if same && row.Case != caseID {
			return intake.Problems{{Pointer: "-same", Code: intake.CodeTwice, Value: p.Name, Message: "There is a case of " + row.Person.Name + " already.",
				Remedy: "Look for it on Rounds. If this is another person, or a therapy of its own, tick the box at the end of the form and save again."}}
		}
	}
	return nil
}
