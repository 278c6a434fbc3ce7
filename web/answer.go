package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/a-h/templ"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/review"
	"lowtide/web/page"
)

// Request is a request that the guard let through, with what its route opened for it.
type Request struct {
	*http.Request
	// header is that of the answer.
	header http.Header
	// who sent it; nil when nobody is signed in.
	who *visitor
	// opened is the case that the address names.
	opened
	// form is what was posted, and broken says which parts of it could not be read. upload is a form with a file.
	form   url.Values
	broken intake.Problems
	upload *upload
	// warning stands above the page that answers this request.
	warning string
}

// opened is a case that a request is about.
type opened struct {
	c     *casebook.Case
	rev   *review.Review
	now   time.Time
	clock page.Clock
}

// Handler answers the requests of a route. It writes nothing by itself: an error becomes a page in one place,
// [Server.answer].
type Handler func(*Request) (Answer, error)

// Answer is what goes out to the browser. send returns an error only while nothing has gone out.
type Answer interface {
	send(w http.ResponseWriter, r *http.Request) error
}

// shown is a page, or a part of one.
type shown struct {
	status int
	page   templ.Component
}

func (a shown) send(w http.ResponseWriter, r *http.Request) error {
	return sendPage(w, r, a.status, a.page)
}

func show(status int, c templ.Component) (Answer, error) { return shown{status, c}, nil }

// sent leads to another address of this server.
type sent string

func (to sent) send(w http.ResponseWriter, r *http.Request) error {
	http.Redirect(w, r, string(to), http.StatusSeeOther)
	return nil
}

func goTo(path string) (Answer, error) { return sent(path), nil }

// content is bytes of a kind. With a name the browser keeps them as a file; the name tells nothing of the patient,
// because it stays in lists of downloads.
type content struct {
	status     int
	kind, name string
	raw        []byte
}

func (a content) send(w http.ResponseWriter, _ *http.Request) error {
	w.Header().Set("Content-Type", a.kind)
	if a.name != "" {
		w.Header().Set("Content-Disposition", `attachment; filename="`+a.name+`"`)
	}
	w.Header().Set("Content-Length", strconv.Itoa(len(a.raw)))
	w.WriteHeader(a.status)
	_, _ = w.Write(a.raw) // nothing can be said any more when this fails
	return nil
}

func file(kind, name string, raw []byte) (Answer, error) {
	return content{http.StatusOK, kind, name, raw}, nil
}

// sayJSON answers a script.
func sayJSON(status int, v any) (Answer, error) {
	raw, err := json.Marshal(v)
	return content{status, "application/json", "", raw}, err
}

// refusal is an error with words for the person: what happened, and what to do next.
type refusal struct {
	status     int
	what, next string
	// again is the form that was sent, to be sent again.
	again *page.SendAgain
	// code is FHIR's, where the request is of another system.
	code string
}

func (e *refusal) Error() string { return strings.TrimSpace(e.what + " " + e.next) }

func refuse(status int, what, next string) error {
	return &refusal{status: status, what: what, next: next}
}

// errMissing is the refusal of an address that leads nowhere.
var errMissing = refuse(http.StatusNotFound, "There is no such page.", "Go to Rounds and open the case from there.")

// instead is an error that is answered with a page of its own, such as the question why a case is opened.
type instead struct{ Answer }

func (instead) Error() string { return "another page comes first" }

// first makes an answer the one that is given instead.
func first(a Answer, err error) error {
	if err != nil {
		return err
	}
	return instead{a}
}

// answer sends what a handler gave back. It is the one place in which errors become pages.
func (s *Server) answer(w http.ResponseWriter, r *Request, takes Takes, a Answer, err error) {
	if err == nil {
		err = a.send(w, r.Request)
	}
	var big *http.MaxBytesError
	var no *refusal
	var other instead
	switch {
	case err == nil:
	case errors.As(err, &other):
		s.answer(w, r, takes, other.Answer, nil)
	case errors.As(err, &big):
		s.refuse(w, r, &refusal{status: http.StatusRequestEntityTooLarge, what: takes.What, next: takes.Next})
	case errors.As(err, &no):
		s.refuse(w, r, no)
	default:
		s.fail(w, r, err)
	}
}
