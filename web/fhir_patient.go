package web

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"sync"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/casebook"
)

// patientIndex finds the case of a Patient's ID. The ID follows from the case's own and never changes, so each is derived
// once; what it leads to is always asked of the caseload.
type patientIndex struct {
	mu     sync.Mutex
	caseOf map[string]string // by Patient's ID
	known  map[string]bool   // cases
}

// find returns the case of a Patient's ID, or "".
func (x *patientIndex) find(ctx context.Context, s *Server, patient string) (string, error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	if id, ok := x.caseOf[patient]; ok {
		return id, nil
	}
	rows, _, err := s.Caseload.Rows(ctx, s.Now())
	if err != nil {
		return "", err
	}
	if x.caseOf == nil {
		x.caseOf, x.known = map[string]string{}, map[string]bool{}
	}
	for i := range rows {
		if id := rows[i].Case; !x.known[id] {
			x.known[id] = true
			x.caseOf[s.Exchange.PatientID(id)] = id
		}
	}
	return x.caseOf[patient], nil
}

// ofPatient answers with the resources of a Patient that the token may read. The access is noted before anything is told.
func (s *Server) ofPatient(r *Request, t *account.Token, patient, kind string) (found []Resource, err error) {
	id, err := s.patients.find(r.Context(), s, patient)
	if err != nil {
		return nil, err
	}
	ok := false
	if id != "" {
		found, ok, err = s.ofCase(r, t, id, kind)
	}
	if err == nil && !ok {
		// a patient of another team, or one who was erased, is not told from one that does not exist
		return nil, refuseFHIR(http.StatusNotFound, "not-found", "There is no such patient among those that this token may read.")
	}
	return found, err
}

// ofCase are the resources of a case; ok is false when the token may not read it or it is no more.
func (s *Server) ofCase(r *Request, t *account.Token, id, kind string) (found []Resource, ok bool, err error) {
	c, rev, _, err := s.Caseload.Case(r.Context(), id, s.Now())
	if errors.Is(err, casebook.ErrErased) {
		return nil, false, nil
	}
	if err != nil || c == nil || !t.OnList(rev.Person.Team) {
		return nil, false, err
	}
	if err := s.note(r, accesslog.Noted{Account: tokenName(t), What: accesslog.Read, Case: id}); err != nil {
		return nil, false, err
	}
	found, err = s.Exchange.Resources(s.reportInput(opened{c: c, rev: rev, now: s.Now()}), kind)
	return found, err == nil, err
}

// patientsBy finds Patients by record number or case; a system before a bar is not looked at.
func (s *Server) patientsBy(r *Request, t *account.Token, identifier string) (found []Resource, err error) {
	if _, value, has := strings.Cut(identifier, "|"); has {
		identifier = value
	}
	rows, _, err := s.Caseload.Rows(r.Context(), s.Now())
	if err != nil {
		return nil, err
	}
	for _, row := range rows {
		if identifier == "" || row.Person.Record != identifier && row.Case != identifier || !t.OnList(row.Person.Team) {
			continue
		}
		all, ok, err := s.ofCase(r, t, row.Case, "Patient")
		if err != nil {
			return nil, err
		}
		if ok {
			found = append(found, ofKind(all, "Patient")...)
		}
	}
	return found, nil
}

func ofKind(all []Resource, kind string) (out []Resource) {
	for _, x := range all {
		if x.Type == kind {
			out = append(out, x)
		}
	}
	return out
}
