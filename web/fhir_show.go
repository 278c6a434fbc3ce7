package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

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

// sendFHIR answers in JSON.
func sendFHIR(raw []byte) (Answer, error) { return content{http.StatusOK, fhirJSON, "", raw}, nil }

const fhirJSON = "application/fhir+json; charset=utf-8"

// refuseFHIR is a refusal with FHIR's code of the issue.
func refuseFHIR(status int, code, words string) error {
	return &refusal{status: status, what: words, code: code}
}

// showMetadata says what can be read. It holds nothing of a patient and needs no token.
func (s *Server) showMetadata(r *Request) (Answer, error) {
	if s.Exchange == nil || s.Accounts == nil {
		return nil, errMissing
	}
	raw, err := s.Exchange.Metadata()
	if err != nil {
		return nil, err
	}
	return sendFHIR(raw)
}

// token judges the token of a request for a kind of resource.
func (s *Server) token(r *Request, kind string) (t *account.Token, err error) {
	if s.Exchange == nil || s.Accounts == nil {
		return nil, errMissing
	}
	set, err := s.accounts(r.Context())
	if err != nil {
		return nil, err
	}
	key, bearer := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
	if bearer {
		t = set.ByToken(account.HashKey(strings.TrimSpace(key)), s.Now())
	}
	switch {
	case strings.Contains(r.URL.Query().Get("_format"), "xml"):
		return nil, refuseFHIR(http.StatusNotAcceptable, "not-supported", "Answers are JSON only.")
	case t == nil:
		if bearer {
			// Good tokens are never counted, so whoever makes keys up holds up nobody else at the address.
			if wait := s.doors.throttle.Begin(account.Try{Name: "token", Address: s.from(r)}, s.Now()); wait > 0 {
				r.header.Set("Retry-After", strconv.Itoa(int(wait/time.Second)+1))
				return nil, refuseFHIR(http.StatusTooManyRequests, "throttled", "There were too many wrong tokens. Wait, and use a good one.")
			}
			if err := s.note(r, accesslog.Noted{Account: "not known", What: accesslog.WrongTry}); err != nil {
				return nil, err
			}
		}
		return nil, refuseFHIR(http.StatusUnauthorized, "login", "A good token is needed: Authorization: Bearer KEY. An administrator makes one.")
	case !slices.Contains(s.Exchange.Kinds(), kind):
		return nil, refuseFHIR(http.StatusNotFound, "not-supported", "There are no resources of this kind.")
	case !t.May(kind):
		if err := s.note(r, accesslog.Noted{Account: tokenName(t), What: accesslog.Refused}); err != nil {
			return nil, err
		}
		return nil, refuseFHIR(http.StatusForbidden, "forbidden", "This token may not read resources of this kind.")
	}
	return t, nil
}

// tokenName stands in the access log; sign-in names hold no colon.
func tokenName(t *account.Token) string { return "token:" + t.ID }

// readFHIR answers with one resource.
func (s *Server) readFHIR(r *Request) (Answer, error) {
	kind, id := r.PathValue("type"), r.PathValue("id")
	t, err := s.token(r, kind)
	if err != nil {
		return nil, err
	}
	found, err := s.ofPatient(r, t, s.Exchange.PatientOf(kind, id), kind)
	if err != nil {
		return nil, err
	}
	for _, x := range found {
		if x.Type == kind && x.ID == id {
			return sendFHIR(x.JSON)
		}
	}
	return nil, refuseFHIR(http.StatusNotFound, "not-found", "There is no such resource.")
}

// noSuchFHIR answers addresses and methods under /fhir that there are not.
func (s *Server) noSuchFHIR(r *Request) (Answer, error) {
	if s.Exchange == nil || s.Accounts == nil {
		return nil, errMissing
	}
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		r.header.Set("Allow", "GET, HEAD")
		return nil, refuseFHIR(http.StatusMethodNotAllowed, "not-supported", "Nothing can be written here: resources are read and searched with GET.")
	}
	return nil, refuseFHIR(http.StatusNotFound, "not-found", "There is no such address: see /fhir/metadata.")
}

// fhirCodes are the kinds of issues by status, for refusals that are not about FHIR alone.
var fhirCodes = map[int]string{http.StatusTooManyRequests: "throttled", http.StatusForbidden: "forbidden", http.StatusUnauthorized: "login", http.StatusNotFound: "not-found",
	http.StatusRequestEntityTooLarge: "too-long", http.StatusServiceUnavailable: "transient", http.StatusInternalServerError: "exception"}

// outcome is a refusal in FHIR's own form.
func (s *Server) outcome(no *refusal) Answer {
	code := no.code
	if code == "" {
		code = fhirCodes[no.status]
	}
	if code == "" {
		code = "processing"
	}
	return outcome{content{no.status, fhirJSON, "", s.Exchange.Outcome(code, no.Error())}}
}

type outcome struct{ content }

func (a outcome) send(w http.ResponseWriter, r *http.Request) error {
	if a.status == http.StatusUnauthorized {
		w.Header().Set("WWW-Authenticate", `Bearer realm="Lowtide"`)
	}
	return a.content.send(w, r)
}
