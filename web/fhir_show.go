package web

import (
	"net/http"
	"slices"
	"strings"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/casebook"
	"lowtide/review"
)

// Exchange writes cases as FHIR resources. The command plugs it in.
type Exchange interface {
	// Kinds are the types of resources.
	Kinds() []string
	// PatientID is the ID of a case's Patient; PatientOf finds it in the ID of any resource.
	PatientID(caseID string) string
	PatientOf(kind, id string) string
	Resources(c *casebook.Case, r *review.Review) ([]Resource, error)
	SearchSet(found []Resource, base string) ([]byte, error)
	Metadata() ([]byte, error)
	Outcome(code, words string) []byte
}

// Resource is one FHIR resource.
type Resource struct {
	Type, ID string
	JSON     []byte
}

// fhirMost bounds the answer to one search.
const fhirMost = 5000

// sendFHIR answers in JSON; the whole answer is ready before its first byte goes out.
func (s *Server) sendFHIR(w http.ResponseWriter, status int, raw []byte) {
	w.Header().Set("Content-Type", "application/fhir+json; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(raw) // nothing can be said any more when this fails
}

func (s *Server) noFHIR(w http.ResponseWriter, status int, code, words string) {
	if status == http.StatusUnauthorized {
		w.Header().Set("WWW-Authenticate", `Bearer realm="Lowtide"`)
	}
	s.sendFHIR(w, status, s.Exchange.Outcome(code, words))
}

// showMetadata says what can be read. It holds nothing of a patient and needs no token.
func (s *Server) showMetadata(w http.ResponseWriter, r *http.Request) {
	if s.Exchange == nil || s.Accounts == nil {
		s.missing(w, r)
		return
	}
	raw, err := s.Exchange.Metadata()
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.sendFHIR(w, http.StatusOK, raw)
}

// token judges the token of a request for a kind of resource; ok is false when the answer was given.
func (s *Server) token(w http.ResponseWriter, r *http.Request, kind string) (t *account.Token, ok bool) {
	if s.Exchange == nil || s.Accounts == nil {
		s.missing(w, r)
		return nil, false
	}
	set, err := s.accounts(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return nil, false
	}
	key, bearer := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
	if bearer {
		t = set.ByToken(account.HashKey(strings.TrimSpace(key)), s.Now())
	}
	switch {
	case t == nil:
		if bearer {
			if err := s.note(r, accesslog.Noted{Account: "not known", What: accesslog.WrongTry}); err != nil {
				s.fail(w, r, err)
				return nil, false
			}
		}
		s.noFHIR(w, http.StatusUnauthorized, "login", "A good token is needed: Authorization: Bearer KEY. An administrator makes one.")
		return nil, false
	case !slices.Contains(s.Exchange.Kinds(), kind):
		s.noFHIR(w, http.StatusNotFound, "not-supported", "There are no resources of this kind.")
		return nil, false
	case !t.May(kind):
		if err := s.note(r, accesslog.Noted{Account: tokenName(t), What: accesslog.Refused}); err != nil {
			s.fail(w, r, err)
			return nil, false
		}
		s.noFHIR(w, http.StatusForbidden, "forbidden", "This token may not read resources of this kind.")
		return nil, false
	}
	return t, true
}

// tokenName stands in the access log; sign-in names hold no colon.
func tokenName(t *account.Token) string { return "token:" + t.ID }

// ofPatient finds the case of a Patient's ID that the token may read. The access is noted before anything is read.
func (s *Server) ofPatient(w http.ResponseWriter, r *http.Request, t *account.Token, patient string) (found []Resource, ok bool) {
	rows, _, err := s.Caseload.Rows(r.Context(), s.Now())
	if err != nil {
		s.fail(w, r, err)
		return nil, false
	}
	for _, row := range rows {
		if s.Exchange.PatientID(row.Case) != patient || !t.OnList(row.Person.Team) {
			continue
		}
		if err := s.note(r, accesslog.Noted{Account: tokenName(t), What: accesslog.Read, Case: row.Case}); err != nil {
			s.fail(w, r, err)
			return nil, false
		}
		c, rev, _, err := s.Caseload.Case(r.Context(), row.Case, s.Now())
		if err == nil && c != nil {
			found, err = s.Exchange.Resources(c, rev)
		}
		if err != nil {
			s.fail(w, r, err)
			return nil, false
		}
		return found, true
	}
	// a patient of another team is not told from one that does not exist
	s.noFHIR(w, http.StatusNotFound, "not-found", "There is no such patient among those that this token may read.")
	return nil, false
}

// readFHIR answers with one resource.
func (s *Server) readFHIR(w http.ResponseWriter, r *http.Request) {
	kind, id := r.PathValue("type"), r.PathValue("id")
	t, ok := s.token(w, r, kind)
	if !ok {
		return
	}
	found, ok := s.ofPatient(w, r, t, s.Exchange.PatientOf(kind, id))
	if !ok {
		return
	}
	for _, x := range found {
		if x.Type == kind && x.ID == id {
			s.sendFHIR(w, http.StatusOK, x.JSON)
			return
		}
	}
	s.noFHIR(w, http.StatusNotFound, "not-found", "There is no such resource.")
}

// searchFHIR answers a search: a Patient by identifier, everything else by patient.
func (s *Server) searchFHIR(w http.ResponseWriter, r *http.Request) {
	kind := r.PathValue("type")
	t, ok := s.token(w, r, kind)
	if !ok {
		return
	}
	q := r.URL.Query()
	needed := "patient"
	if kind == "Patient" {
		needed = "identifier"
	}
	for name := range q {
		if name != needed && name != "_format" {
			s.noFHIR(w, http.StatusBadRequest, "not-supported", "The search parameter is not known here: use "+needed+".")
			return
		}
	}
	want := strings.TrimSpace(q.Get(needed))
	if want == "" {
		s.noFHIR(w, http.StatusBadRequest, "required", "The search parameter "+needed+" is needed.")
		return
	}
	var found []Resource
	if kind == "Patient" {
		if found, ok = s.patientsBy(w, r, t, want); !ok {
			return
		}
	} else {
		all, ok := s.ofPatient(w, r, t, strings.TrimPrefix(want, "Patient/"))
		if !ok {
			return
		}
		for _, x := range all {
			if x.Type == kind && len(found) < fhirMost {
				found = append(found, x)
			}
		}
	}
	scheme := "http"
	if s.Secure {
		scheme = "https"
	}
	raw, err := s.Exchange.SearchSet(found, scheme+"://"+r.Host+"/fhir")
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.sendFHIR(w, http.StatusOK, raw)
}

// patientsBy finds Patients by record number or case; a system before a bar is not looked at.
func (s *Server) patientsBy(w http.ResponseWriter, r *http.Request, t *account.Token, identifier string) (found []Resource, ok bool) {
	if _, value, has := strings.Cut(identifier, "|"); has {
		identifier = value
	}
	rows, _, err := s.Caseload.Rows(r.Context(), s.Now())
	if err != nil {
		s.fail(w, r, err)
		return nil, false
	}
	for _, row := range rows {
		if identifier == "" || row.Person.Record != identifier && row.Case != identifier || !t.OnList(row.Person.Team) {
			continue
		}
		all, ok := s.ofPatient(w, r, t, s.Exchange.PatientID(row.Case))
		if !ok {
			return nil, false
		}
		for _, x := range all {
			if x.Type == "Patient" {
				found = append(found, x)
			}
		}
	}
	return found, true
}
