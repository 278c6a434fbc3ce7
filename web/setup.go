package web

import (
	"errors"
	"net/http"
	"net/url"
	"strings"

	"lowtide/account"
	"lowtide/casebook"
	"lowtide/web/page"
)

// setUp shows the form of the first account to whoever has the link that the program printed.
func (s *Server) setUp(r *Request) (Answer, error) {
	key := r.URL.Query().Get("key")
	if err := s.setUpKey(key); err != nil {
		return nil, err
	}
	return s.showSetUp(r, http.StatusOK, key, url.Values{"nurse": {"yes"}}, nil)
}

// setUpKey judges the key of the link that the program printed.
func (s *Server) setUpKey(key string) error {
	s.doors.mu.Lock()
	defer s.doors.mu.Unlock()
	if !same(s.doors.setUp, account.HashKey(key)) {
		return refuse(http.StatusForbidden, "This link is not good.", "Open the link that Lowtide printed when it started.")
	}
	return nil
}

func (s *Server) showSetUp(r *Request, status int, key string, form url.Values, err error) (Answer, error) {
	ps, at := askProblems(err)
	return show(status, page.AskPage(page.Ask{Frame: s.frame(r, "Set up Lowtide", ""), Heading: "Set up Lowtide: the first account", Problems: ps,
		Lead: []string{"This account administers the others. It sees nothing about patients unless you are a nurse too."},
		Forms: []page.AskForm{{Action: "/set-up", Submit: "Make the account", Fields: []page.AskField{
			at(page.AskField{Name: "shown", Label: "Your name, as colleagues know it", Type: "text", Value: form.Get("shown"), Complete: "name", Needed: true}),
			at(page.AskField{Name: "name", Label: "Sign-in name", Hint: nameHint, Type: "text", Value: form.Get("name"), Complete: "username", Needed: true}),
			at(page.AskField{Name: "teams", Label: "Your teams, one a line", Type: "lines", Value: form.Get("teams")}),
			{Name: "nurse", Label: "Your work", Type: "ticks", Options: []page.Option{{Value: "yes", Words: "I am a nurse too, and read and write cases", Selected: form.Get("nurse") != ""}}},
			at(newPassword), {Name: "key", Type: "hidden", Value: key}}}}}))
}

const nameHint = "2 to 40 of the letters a to z, digits, dots and hyphens. It stays with this person for good."

var newPassword = page.AskField{Name: "password", Label: "Password", Hint: "At least 15 characters, spaces too; three or four words are easy to remember. Nothing else is asked of it.", Type: "password", Complete: "new-password", Needed: true}

// askProblems turns a refused change into the problem of a page; at puts it beside its field.
func askProblems(err error) ([]page.AskProblem, func(page.AskField) page.AskField) {
	var r *account.Refused
	if !errors.As(err, &r) {
		return nil, func(f page.AskField) page.AskField { return f }
	}
	return []page.AskProblem{{Field: r.Field, Text: r.What, Remedy: r.Next}}, func(f page.AskField) page.AskField {
		if f.Name == r.Field {
			f.Problem = r.What
		}
		return f
	}
}

// refusedChange tells whether the error is one to show beside the form.
func refusedChange(err error) bool {
	var r *account.Refused
	return errors.As(err, &r)
}

// lines are the lines of a text that have something in them.
func lines(text string) []string {
	var out []string
	for l := range strings.Lines(text) {
		if l = strings.TrimSpace(l); l != "" {
			out = append(out, l)
		}
	}
	return out
}

// saveSetUp makes the first account. Of two who do it at the same time one is told that it is done.
func (s *Server) saveSetUp(r *Request) (Answer, error) {
	form := r.form
	if err := s.setUpKey(form.Get("key")); err != nil {
		return nil, err
	}
	roles := []account.Role{account.Admin}
	if form.Get("nurse") != "" {
		roles = append(roles, account.Nurse)
	}
	name := account.CleanName(form.Get("name"))
	hash, err := s.hashNew(r, form.Get("password"), name, form.Get("shown"))
	var set *account.Set
	if err == nil {
		set, err = s.Accounts.Change(r.Context(), s.Now(), name, "set-up", func(set *account.Set) ([]casebook.Body, error) {
			if !set.Empty() {
				return nil, &account.Refused{Field: "name", What: "The first account was made meanwhile.", Next: "Sign in with it."}
			}
			made, err := set.Create(name, form.Get("shown"), roles, lines(form.Get("teams")))
			return []casebook.Body{made, account.PasswordSet{Name: name, Hash: hash}}, err
		})
	}
	switch {
	case refusedChange(err):
		return s.showSetUp(r, http.StatusUnprocessableEntity, form.Get("key"), form, err)
	case err != nil:
		return nil, err
	default:
		s.doors.mu.Lock()
		s.doors.setUp = ""
		s.doors.mu.Unlock()
		return s.enter(r, set.Get(name), account.ByPassword, "/me?done=set-up")
	}
}

// hashNew judges a new password and hashes it.
func (s *Server) hashNew(r *Request, password string, context ...string) (string, error) {
	normal, err := account.CheckPassword(password, context...)
	if err != nil {
		return "", err
	}
	hash, err := s.Hasher.Hash(r.Context(), s.Random, normal)
	if errors.Is(err, account.ErrBusy) {
		return "", &account.Refused{Field: "password", What: "Too many people sign in at this moment.", Next: "Wait ten seconds and send it again."}
	}
	return hash, err
}

// newPasswordByLink shows the form of a one-time link for a password.
func (s *Server) newPasswordByLink(r *Request) (Answer, error) {
	return s.showPasswordByLink(r, http.StatusOK, r.URL.Query().Get("key"), nil)
}

func (s *Server) showPasswordByLink(r *Request, status int, key string, wrong error) (Answer, error) {
	a, err := s.linked(r, key)
	if err != nil {
		return nil, err
	}
	ps, at := askProblems(wrong)
	return show(status, page.AskPage(page.Ask{Frame: s.frame(withoutVisitor(r), "New password", ""), Heading: "New password for " + a.Shown, Problems: ps,
		Forms: []page.AskForm{{Action: "/link", Submit: "Set the password", Fields: []page.AskField{
			{Name: "name", Label: "Sign-in name", Type: "text", Value: a.Name, Complete: "username"}, at(newPassword), {Name: "key", Type: "hidden", Value: key}}}}}))
}

// linked finds the account whose one-time link has the key.
func (s *Server) linked(r *Request, key string) (*account.Account, error) {
	if err := s.withAccounts(); err != nil {
		return nil, err
	}
	set, err := s.accounts(r.Context())
	if err != nil {
		return nil, err
	}
	a := set.ByLink(account.HashKey(key), s.Now())
	if a == nil {
		return nil, refuse(http.StatusForbidden, "This link is not good any more.", "It works once, and for a day. Ask an administrator for another one.")
	}
	return a, nil
}

// savePasswordByLink sets the password and uses the link up.
func (s *Server) savePasswordByLink(r *Request) (Answer, error) {
	form := r.form
	key := form.Get("key")
	a, err := s.linked(r, key)
	if err != nil {
		return nil, err
	}
	hash, err := s.hashNew(r, form.Get("password"), a.Name, a.Shown)
	if err == nil {
		_, err = s.Accounts.Change(r.Context(), s.Now(), a.Name, "by one-time link", func(set *account.Set) ([]casebook.Body, error) {
			if b := set.ByLink(account.HashKey(key), s.Now()); b == nil || b.Name != a.Name {
				return nil, &account.Refused{Field: "password", What: "The link was used meanwhile.", Next: "Sign in, or ask for another one."}
			}
			return []casebook.Body{account.PasswordSet{Name: a.Name, Hash: hash, Link: account.HashKey(key)}}, nil
		})
	}
	switch {
	case refusedChange(err):
		return s.showPasswordByLink(r, http.StatusUnprocessableEntity, key, err)
	case err != nil:
		return nil, err
	default:
		return s.showSignIn(r, http.StatusOK, page.Ask{Lead: []string{"The password is set. Sign in with it."}})
	}
}
