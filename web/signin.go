package web

import (
	"context"
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
func (s *Server) signIn(w http.ResponseWriter, r *http.Request) {
	s.showSignIn(w, r, http.StatusOK, page.Ask{})
}

// showSignIn shows the form with what p says. Where it stands in place of another page, that page comes after it.
func (s *Server) showSignIn(w http.ResponseWriter, r *http.Request, status int, p page.Ask) {
	if s.Accounts == nil {
		s.missing(w, r)
		return
	}
	set, err := s.accounts(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if set.Empty() {
		s.refuse(w, r, status, "There is no account yet.", "Open the link that Lowtide printed when it started: it sets up the first one.")
		return
	}
	if s.Demo {
		s.refuse(w, r, status, "Lowtide does not know this browser.", "Open the link that the demonstration printed.")
		return
	}
	to := safePath(r.FormValue("to"))
	if status == http.StatusUnauthorized && r.Method == http.MethodGet && !strings.HasPrefix(r.URL.Path, "/sign-in") {
		to = safePath(r.URL.RequestURI())
	}
	p.Frame = s.frame(withoutVisitor(r), "Sign in", "")
	p.Heading = "Sign in"
	if status == http.StatusUnauthorized && r.Method != http.MethodGet && len(p.Problems) == 0 {
		p.Lead = append(p.Lead, "You were signed out before this was sent, so nothing was saved.")
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
	s.render(w, r, status, page.AskPage(p))
}

func withoutVisitor(r *http.Request) *http.Request {
	return r.WithContext(context.WithValue(r.Context(), visitorKey{}, (*visitor)(nil)))
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
func (s *Server) device(r *http.Request) string {
	c, err := r.Cookie(s.cookie(deviceCookie))
	if err != nil || len(c.Value) < 20 {
		return ""
	}
	return account.HashKey(c.Value)
}

// saveSignIn takes a name and a password.
func (s *Server) saveSignIn(w http.ResponseWriter, r *http.Request) {
	form, _, ok := s.readForm(w, r)
	if !ok {
		return
	}
	if s.Accounts == nil {
		s.missing(w, r)
		return
	}
	set, err := s.accounts(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	name := account.CleanName(form.Get("name"))
	a, right := s.proof(w, r, set, name, form.Get("password"), func(status int, p page.AskProblem) {
		s.showSignIn(w, r, status, page.Ask{Problems: []page.AskProblem{p}})
	})
	switch {
	case !right:
	case a.Code != "":
		s.askCode(w, r, a, safePath(form.Get("to")))
	default:
		s.enter(w, r, a, account.ByPassword, form.Get("to"))
	}
}

// proof judges a name and a password. right is false when the answer was given here, through wrong.
func (s *Server) proof(w http.ResponseWriter, r *http.Request, set *account.Set, name, password string, wrong func(status int, p page.AskProblem)) (a *account.Account, right bool) {
	a = set.Get(name)
	try, now := s.try(r, a, name), s.Now()
	if s.slowed(w, try, now, wrong) {
		return nil, false
	}
	hash := ""
	if a != nil && !a.Disabled {
		hash = a.Hash
	}
	ok, err := s.Hasher.Verify(r.Context(), hash, password)
	switch {
	case errors.Is(err, account.ErrBusy):
		w.Header().Set("Retry-After", "10")
		wrong(http.StatusServiceUnavailable, page.AskProblem{Text: "Too many people sign in at this moment.", Remedy: "Wait ten seconds and try again."})
		return nil, false
	case err != nil:
		s.fail(w, r, err)
		return nil, false
	case !ok:
		s.wrongTry(w, r, try, a, now, func() {
			wrong(http.StatusUnprocessableEntity, page.AskProblem{Field: "password", Text: "The name or the password is not right.", Remedy: "Type both again. If you forgot the password, ask an administrator for a one-time link."})
		})
		return nil, false
	}
	s.doors.throttle.Right(try)
	return a, true
}

func (s *Server) try(r *http.Request, a *account.Account, name string) account.Try {
	t := account.Try{Name: name, Known: a != nil, Address: s.from(r)}
	if dev := s.device(r); a != nil && a.Knows(dev) {
		t.Device = dev
	}
	return t
}

// slowed answers a try that has to wait.
func (s *Server) slowed(w http.ResponseWriter, try account.Try, now time.Time, wrong func(status int, p page.AskProblem)) bool {
	wait := s.doors.throttle.Wait(try, now)
	if wait <= 0 {
		return false
	}
	secs := int(wait/time.Second) + 1
	w.Header().Set("Retry-After", fmt.Sprint(secs))
	wrong(http.StatusTooManyRequests, page.AskProblem{Text: "There were too many wrong tries.", Remedy: fmt.Sprintf("Wait %d seconds, sign in with a passkey, or at a computer where you signed in before.", secs)})
	return true
}

func (s *Server) wrongTry(w http.ResponseWriter, r *http.Request, try account.Try, a *account.Account, now time.Time, then func()) {
	s.doors.throttle.Wrong(try, now)
	name := "not known" // what was typed may be a password in the wrong field
	if a != nil {
		name = a.Name
	}
	if err := s.note(r, accesslog.Noted{Account: name, What: accesslog.WrongTry}); err != nil {
		s.fail(w, r, err)
		return
	}
	then()
}

// askCode remembers that the password was right and asks for the one-time code.
func (s *Server) askCode(w http.ResponseWriter, r *http.Request, a *account.Account, to string) {
	key, err := account.NewKey(s.Random)
	if err != nil {
		s.fail(w, r, err)
		return
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
	s.showCode(w, r, http.StatusOK, key, to, nil)
}

func (s *Server) showCode(w http.ResponseWriter, r *http.Request, status int, key, to string, ps []page.AskProblem) {
	s.render(w, r, status, page.AskPage(page.Ask{Frame: s.frame(withoutVisitor(r), "One-time code", ""), Heading: "One-time code", Problems: ps,
		Forms: []page.AskForm{{Action: "/sign-in/code", Submit: "Sign in", Fields: []page.AskField{codeField, {Name: "step", Type: "hidden", Value: key}, {Name: "to", Type: "hidden", Value: to}}}}}))
}

var codeField = page.AskField{Name: "code", Label: "The six digits that your telephone shows now", Type: "text", Complete: "one-time-code", Keypad: "numeric", Needed: true}

// saveCode takes the one-time code after the password.
func (s *Server) saveCode(w http.ResponseWriter, r *http.Request) {
	form, _, ok := s.readForm(w, r)
	if !ok {
		return
	}
	set, err := s.accounts(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	key, now := form.Get("step"), s.Now()
	s.doors.mu.Lock()
	one, ok := s.doors.steps[account.HashKey(key)]
	s.doors.mu.Unlock()
	a := set.Get(one.account)
	if age := now.Sub(one.made); !ok || a == nil || a.Disabled || a.Epoch != one.epoch || age > stepLimit || age < -time.Minute {
		s.showSignIn(w, r, http.StatusUnprocessableEntity, page.Ask{Problems: []page.AskProblem{{Text: "That took too long.", Remedy: "Start again with the password."}}})
		return
	}
	if !s.rightCode(w, r, a, form.Get("code"), func(status int, p page.AskProblem) {
		s.showCode(w, r, status, key, safePath(form.Get("to")), []page.AskProblem{p})
	}) {
		return
	}
	s.doors.mu.Lock()
	delete(s.doors.steps, account.HashKey(key))
	s.doors.mu.Unlock()
	s.enter(w, r, a, account.ByCode, form.Get("to"))
}

// rightCode judges a one-time code; wrong ones are slowed like passwords.
func (s *Server) rightCode(w http.ResponseWriter, r *http.Request, a *account.Account, code string, wrong func(status int, p page.AskProblem)) bool {
	try, now := s.try(r, a, a.Name+" code"), s.Now()
	if s.slowed(w, try, now, wrong) {
		return false
	}
	if !s.doors.codes.Check(a.Name, a.Code, code, now) {
		s.wrongTry(w, r, try, a, now, func() {
			wrong(http.StatusUnprocessableEntity, page.AskProblem{Field: "code", Text: "The code is not right, or was used already.", Remedy: "Wait for the next one and type that. If codes are never right, the telephone's clock may be wrong."})
		})
		return false
	}
	s.doors.throttle.Right(try)
	return true
}

// enter opens a session and remembers the computer, then goes on to the page that was asked for.
func (s *Server) enter(w http.ResponseWriter, r *http.Request, a *account.Account, by account.Proof, to string) {
	if !s.begin(w, r, a, by) {
		return
	}
	if err := s.remember(w, r, a); err != nil {
		s.fail(w, r, err)
		return
	}
	if to = safePath(to); to == "" {
		to = "/"
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}

// remember makes this browser a known computer of the account.
func (s *Server) remember(w http.ResponseWriter, r *http.Request, a *account.Account) error {
	dev := s.device(r)
	if a.Knows(dev) {
		return nil
	}
	if dev == "" {
		key, err := account.NewKey(s.Random)
		if err != nil {
			return err
		}
		s.setCookie(w, deviceCookie, key, deviceYear)
		dev = account.HashKey(key)
	}
	_, err := s.Accounts.Change(r.Context(), s.Now(), a.Name, "", func(*account.Set) ([]casebook.Body, error) {
		return []casebook.Body{account.DeviceKnown{Name: a.Name, Hash: dev}}, nil
	})
	return err
}
