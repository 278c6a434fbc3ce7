package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/casebook"
	"lowtide/web/page"
)

// Passkeys runs the ceremonies of passkeys; package passkey does. It stands apart because pages in a browser's own
// worker have none.
type Passkeys interface {
	BeginAdd(origin string, a *account.Account, now time.Time) (options []byte, key string, err error)
	FinishAdd(key string, a *account.Account, answer []byte, now time.Time) (id string, credential []byte, err error)
	BeginSignIn(origin string, now time.Time) (options []byte, key string, err error)
	FinishSignIn(key string, set *account.Set, answer []byte, now time.Time) (*account.Account, error)
}

const (
	stepLimit = 5 * time.Minute
	maxSteps  = 1000
	// deviceYear is how long a browser is known as the computer of its people, in seconds.
	deviceYear = 365 * 24 * 3600
)

// signIn shows the form.
func (s *Server) signIn(r *Request) (Answer, error) {
	return s.showSignIn(r, http.StatusOK, page.Ask{})
}

// showSignIn shows the form with what p says. Where it stands in place of another page, that page comes after it.
func (s *Server) showSignIn(r *Request, status int, p page.Ask) (Answer, error) {
	if s.Accounts == nil {
		return nil, errMissing
	}
	set, err := s.accounts(r.Context())
	if err != nil {
		return nil, err
	}
	if set.Empty() {
		return nil, refuse(status, "There is no account yet.", "Open the link that Lowtide printed when it started: it sets up the first one.")
	}
	if s.Demo {
		return nil, refuse(status, "Lowtide does not know this browser.", "Open the link that the demonstration printed.")
	}
	to := safePath(r.FormValue("to"))
	if status == http.StatusUnauthorized && r.Method == http.MethodGet && !strings.HasPrefix(r.URL.Path, "/sign-in") {
		to = safePath(r.URL.RequestURI())
	}
	if status == http.StatusUnauthorized && r.Method == http.MethodPost {
		to = formOf(r)
	}
	p.Frame = s.frame(withoutVisitor(r), "Sign in", "")
	p.Heading = "Sign in"
	if status == http.StatusUnauthorized && r.Method != http.MethodGet && len(p.Problems) == 0 {
		p.Lead = append(p.Lead, "You were signed out before this was sent, so nothing was saved.")
		if len(s.DraftKey) > 0 && to != "" {
			p.Lead = append(p.Lead, "Sign in as the same person at this device: the form comes back, and offers what you typed if the device kept it. A photo or file has to be chosen once more.")
		}
	}
	name := r.PostFormValue("name")
	hidden := page.AskField{Name: "to", Type: "hidden", Value: to}
	p.Forms = append(p.Forms, page.AskForm{Action: "/sign-in", Submit: "Sign in", Fields: []page.AskField{
		{Name: "name", Label: "Sign-in name", Type: "text", Value: name, Complete: "username", Needed: true},
		{Name: "password", Label: "Password", Type: "password", Complete: "current-password", Needed: true}, hidden}})
	if s.Passkeys != nil {
		p.Forms = append(p.Forms, page.AskForm{Action: "/passkey", Submit: "Sign in with a passkey", Quiet: true, Passkey: "get", Fields: []page.AskField{hidden}})
	}
	if list := set.OnDevice(s.device(r)); len(list) > 0 && status != http.StatusUnauthorized {
		t := page.AskTable{Caption: "People who work at this computer", Head: []string{"Person", "Sign-in name"}}
		for _, a := range list {
			t.Rows = append(t.Rows, []page.AskCell{{Text: a.Shown, Href: "/sign-in?as=" + url.QueryEscape(a.Name)}, {Text: a.Name}})
			if name == "" && r.URL.Query().Get("as") == a.Name {
				p.Forms[0].Fields[0].Value = a.Name
			}
		}
		p.Tables = append(p.Tables, t)
	}
	return show(status, page.AskPage(p))
}

// formOf is the page from which a form was sent; empty when the browser does not say, or when it is not one of ours.
func formOf(r *Request) string {
	from, err := url.Parse(r.Referer())
	if err != nil || from.Host != r.Host {
		return ""
	}
	return safePath(from.RequestURI())
}

// withoutVisitor is the request as one of somebody who is not signed in.
func withoutVisitor(r *Request) *Request {
	out := *r
	out.who = nil
	return &out
}

// safePath keeps an address only when it leads to a page of this server.
func safePath(to string) string {
	u, err := url.Parse(to)
	if err != nil || u.Scheme != "" || u.Host != "" || u.User != nil || !strings.HasPrefix(to, "/") || strings.HasPrefix(to, "//") || strings.ContainsAny(to, "\\\r\n") || len(to) > 500 {
		return ""
	}
	return to
}

// device is the hash of this browser's cookie, or empty.
func (s *Server) device(r *Request) string {
	c, err := r.Cookie(s.cookie(deviceCookie))
	if err != nil || len(c.Value) < 20 {
		return ""
	}
	return account.HashKey(c.Value)
}

// saveSignIn takes a name and a password.
func (s *Server) saveSignIn(r *Request) (Answer, error) {
	form := r.form
	if s.Accounts == nil {
		return nil, errMissing
	}
	set, err := s.accounts(r.Context())
	if err != nil {
		return nil, err
	}
	name := account.CleanName(form.Get("name"))
	a, err := s.proof(r, set, name, form.Get("password"))
	switch {
	case err != nil:
		return askAgain(err, func(status int, p page.AskProblem) (Answer, error) {
			return s.showSignIn(r, status, page.Ask{Problems: []page.AskProblem{p}})
		})
	case a.Code != "":
		return s.askCode(r, a, safePath(form.Get("to")))
	}
	return s.enter(r, a, account.ByPassword, form.Get("to"))
}

// unproved is the error of a password or code that was not taken, with the words for its form.
type unproved struct {
	status  int
	problem page.AskProblem
}

func (e *unproved) Error() string { return e.problem.Text }

// askAgain shows the form again when a proof was not taken; any other error is passed on.
func askAgain(err error, form func(status int, p page.AskProblem) (Answer, error)) (Answer, error) {
	var no *unproved
	if errors.As(err, &no) {
		return form(no.status, no.problem)
	}
	return nil, err
}

// proof judges a name and a password.
func (s *Server) proof(r *Request, set *account.Set, name, password string) (*account.Account, error) {
	a := set.Get(name)
	try, now := s.try(r, a, name), s.Now()
	if err := s.slowed(r, try, now); err != nil {
		return nil, err
	}
	hash := ""
	if a != nil && !a.Disabled {
		hash = a.Hash
	}
	ok, err := s.Hasher.Verify(r.Context(), hash, password)
	switch {
	case errors.Is(err, account.ErrBusy):
		s.doors.throttle.Undo(try)
		r.header.Set("Retry-After", "10")
		return nil, &unproved{http.StatusServiceUnavailable, page.AskProblem{Text: "Too many people sign in at this moment.", Remedy: "Wait ten seconds and try again."}}
	case err != nil:
		s.doors.throttle.Undo(try)
		return nil, err
	case !ok:
		return nil, s.wrongTry(r, a, page.AskProblem{Field: "password", Text: "The name or the password is not right.", Remedy: "Type both again. If you forgot the password, ask an administrator for a one-time link."})
	}
	s.doors.throttle.Right(try)
	return a, nil
}

func (s *Server) try(r *Request, a *account.Account, name string) account.Try {
	t := account.Try{Name: name, Known: a != nil, Address: s.from(r)}
	if dev := s.device(r); a != nil && a.Knows(dev) {
		t.Device = dev
	}
	return t
}

// slowed is the error of a try that has to wait.
func (s *Server) slowed(r *Request, try account.Try, now time.Time) error {
	wait := s.doors.throttle.Begin(try, now)
	if wait <= 0 {
		return nil
	}
	secs := int(wait/time.Second) + 1
	r.header.Set("Retry-After", fmt.Sprint(secs))
	return &unproved{http.StatusTooManyRequests, page.AskProblem{Text: "There were too many wrong tries.", Remedy: fmt.Sprintf("Wait %d seconds, sign in with a passkey, or at a computer where you signed in before.", secs)}}
}

// wrongTry logs a wrong try, which was counted when it began, and is its error.
func (s *Server) wrongTry(r *Request, a *account.Account, p page.AskProblem) error {
	name := "not known" // what was typed may be a password in the wrong field
	if a != nil {
		name = a.Name
	}
	if err := s.note(r, accesslog.Noted{Account: name, What: accesslog.WrongTry}); err != nil {
		return err
	}
	return &unproved{http.StatusUnprocessableEntity, p}
}

// askCode remembers that the password was right and asks for the one-time code.
func (s *Server) askCode(r *Request, a *account.Account, to string) (Answer, error) {
	key, err := account.NewKey(s.Random)
	if err != nil {
		return nil, err
	}
	now := s.Now()
	s.doors.mu.Lock()
	if s.doors.steps == nil {
		s.doors.steps = map[string]step{}
	}
	for k, one := range s.doors.steps {
		if age := now.Sub(one.made); age > stepLimit || age < -time.Minute || len(s.doors.steps) >= maxSteps {
			delete(s.doors.steps, k)
		}
	}
	s.doors.steps[account.HashKey(key)] = step{a.Name, a.Epoch, now}
	s.doors.mu.Unlock()
	return s.showCode(r, http.StatusOK, key, to, nil)
}

func (s *Server) showCode(r *Request, status int, key, to string, ps []page.AskProblem) (Answer, error) {
	return show(status, page.AskPage(page.Ask{Frame: s.frame(withoutVisitor(r), "One-time code", ""), Heading: "One-time code", Problems: ps,
		Forms: []page.AskForm{{Action: "/sign-in/code", Submit: "Sign in", Fields: []page.AskField{codeField, {Name: "step", Type: "hidden", Value: key}, {Name: "to", Type: "hidden", Value: to}}}}}))
}

var codeField = page.AskField{Name: "code", Label: "The six digits that your telephone shows now", Type: "text", Complete: "one-time-code", Keypad: "numeric", Needed: true}

// saveCode takes the one-time code after the password.
func (s *Server) saveCode(r *Request) (Answer, error) {
	form := r.form
	set, err := s.accounts(r.Context())
	if err != nil {
		return nil, err
	}
	key, now := form.Get("step"), s.Now()
	s.doors.mu.Lock()
	one, ok := s.doors.steps[account.HashKey(key)]
	s.doors.mu.Unlock()
	a := set.Get(one.account)
	if age := now.Sub(one.made); !ok || a == nil || a.Disabled || a.Epoch != one.epoch || age > stepLimit || age < -time.Minute {
		return s.showSignIn(r, http.StatusUnprocessableEntity, page.Ask{Problems: []page.AskProblem{{Text: "That took too long.", Remedy: "Start again with the password."}}})
	}
	if err := s.rightCode(r, a, form.Get("code")); err != nil {
		return askAgain(err, func(status int, p page.AskProblem) (Answer, error) {
			return s.showCode(r, status, key, safePath(form.Get("to")), []page.AskProblem{p})
		})
	}
	s.doors.mu.Lock()
	delete(s.doors.steps, account.HashKey(key))
	s.doors.mu.Unlock()
	return s.enter(r, a, account.ByCode, form.Get("to"))
}

// rightCode judges a one-time code; wrong ones are slowed like passwords.
func (s *Server) rightCode(r *Request, a *account.Account, code string) error {
	try, now := s.try(r, a, a.Name+" code"), s.Now()
	if err := s.slowed(r, try, now); err != nil {
		return err
	}
	if !s.doors.codes.Check(a.Name, a.Code, code, now) {
		return s.wrongTry(r, a, page.AskProblem{Field: "code", Text: "The code is not right, or was used already.", Remedy: "Wait for the next one and type that. If codes are never right, the telephone's clock may be wrong."})
	}
	s.doors.throttle.Right(try)
	return nil
}

// enter opens a session and remembers the computer, then goes on to the page that was asked for.
func (s *Server) enter(r *Request, a *account.Account, by account.Proof, to string) (Answer, error) {
	if err := s.begin(r, a, by); err != nil {
		return nil, err
	}
	if err := s.remember(r, a); err != nil {
		return nil, err
	}
	if to = safePath(to); to == "" {
		to = "/"
	}
	return goTo(to)
}

// remember makes this browser a known computer of the account.
func (s *Server) remember(r *Request, a *account.Account) error {
	dev := s.device(r)
	if a.Knows(dev) {
		return nil
	}
	if dev == "" {
		key, err := account.NewKey(s.Random)
		if err != nil {
			return err
		}
		s.setCookie(r, deviceCookie, key, deviceYear)
		dev = account.HashKey(key)
	}
	_, err := s.Accounts.Change(r.Context(), s.Now(), a.Name, "", func(*account.Set) ([]casebook.Body, error) {
		return []casebook.Body{account.DeviceKnown{Name: a.Name, Hash: dev}}, nil
	})
	if casebook.TakesNothing(err) {
		return nil // she can read all the same; the computer is known the next time
	}
	return err
}
