package web

import (
	"net/http"
	"slices"
	"strings"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/report"
)

// Exchange writes cases as FHIR resources. The command plugs it in.
type Exchange interface {
	// Kinds are the types of resources.
	Kinds() []string
	// PatientID is the ID of a case's Patient; PatientOf finds it in the ID of any resource.
	PatientID(caseID string) string
	PatientOf(kind, id string) string
	// Resources are those of a case; documents only where kind asks for them, because they take long to make.
	Resources(in report.Input, kind string) ([]Resource, error)
	SearchSet(p SearchPage) ([]byte, error)
	Metadata() ([]byte, error)
	Outcome(code, words string) []byte
}

// Resource is one FHIR resource.
type Resource struct {
	Type, ID string
	JSON     []byte
}

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
	case strings.Contains(r.URL.Query().Get("_format"), "xml"):
		s.noFHIR(w, http.StatusNotAcceptable, "not-supported", "Answers are JSON only.")
		return nil, false
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

// readFHIR answers with one resource.
func (s *Server) readFHIR(w http.ResponseWriter, r *http.Request) {
	kind, id := r.PathValue("type"), r.PathValue("id")
	t, ok := s.token(w, r, kind)
	if !ok {
		return
	}
	found, ok := s.ofPatient(w, r, t, s.Exchange.PatientOf(kind, id), kind)
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

// noSuchFHIR answers addresses and methods under /fhir that there are not.
func (s *Server) noSuchFHIR(w http.ResponseWriter, r *http.Request) {
	if s.Exchange == nil || s.Accounts == nil {
		s.missing(w, r)
		return
	}
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		w.Header().Set("Allow", "GET, HEAD")
		s.noFHIR(w, http.StatusMethodNotAllowed, "not-supported", "Nothing can be written here: resources are read and searched with GET.")
		return
	}
	s.noFHIR(w, http.StatusNotFound, "not-found", "There is no such address: see /fhir/metadata.")
}

// fhirCodes are the kinds of issues by status, for refusals that are not about FHIR alone.
var fhirCodes = map[int]string{http.StatusTooManyRequests: "throttled", http.StatusForbidden: "forbidden", http.StatusUnauthorized: "login", http.StatusNotFound: "not-found",
	http.StatusRequestEntityTooLarge: "too-long", http.StatusServiceUnavailable: "transient", http.StatusInternalServerError: "exception"}

// refuseFHIR answers a refusal under /fhir in FHIR's own form; false leaves it to the page.
func (s *Server) refuseFHIR(w http.ResponseWriter, r *http.Request, status int, words string) bool {
	if s.Exchange == nil || s.Accounts == nil || !strings.HasPrefix(r.URL.Path, "/fhir/") {
		return false
	}
	code := fhirCodes[status]
	if code == "" {
		code = "processing"
	}
	s.noFHIR(w, status, code, words)
	return true
}
