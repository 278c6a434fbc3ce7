package web

import (
	"net/http"
	"strings"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/casebook"
	"lowtide/web/page"
)

// doneWords say what was done before a page is shown.
var doneWords = map[string]string{"passkey": "The passkey is added.", "password": "The password is changed. Everywhere else you are signed out.", "codes": "One-time codes are asked for from now on.",
	"nocodes": "One-time codes are no longer asked for.", "removed": "The passkey is removed. Everywhere else you are signed out.", "everywhere": "You are signed out everywhere else.",
	"session": "The session is ended.", "roles": "Saved.", "disabled": "Saved.", "second": "The second factors are taken away.", "phone": "Saved.",
	"set-up": "Your account is made."}

// showMe shows one's own account.
func (s *Server) showMe(r *Request) (Answer, error) { return s.showMine(r, http.StatusOK, nil) }

func (s *Server) showMine(r *Request, status int, err error) (Answer, error) {
	if s.Accounts == nil {
		return nil, errMissing
	}
	a := r.who.account
	ps, at := askProblems(err)
	p := page.Ask{Frame: s.frame(r, "Your account", ""), Heading: "Your account", Problems: ps,
		Facts: []page.Part{{Label: "Name", Text: a.Shown}, {Label: "Sign-in name", Text: a.Name}, {Label: "Roles", Text: roleWords(a)}, {Label: "Teams", Text: joinedOr(a.Teams, "none")}, {Label: "One-time codes", Text: map[bool]string{true: "asked for after the password", false: "not set up"}[a.Code != ""]}}}
	p.Said = doneWords[r.URL.Query().Get("done")]
	if a.Is(account.Admin) && !a.SecondFactor() {
		p.Lead = append(p.Lead, "You administer accounts. That takes a second factor: add a passkey or one-time codes here first.")
	}
	if r.URL.Query().Get("done") == "set-up" && a.Is(account.Nurse) {
		p.Next = &page.Link{Href: "/case/new", Words: "Start the first patient's case"}
	}
	t := page.AskTable{Caption: "Your passkeys", Head: []string{"Name", "Added"}, Empty: "You have no passkey."}
	for _, k := range a.Passkeys {
		t.Rows = append(t.Rows, []page.AskCell{{Text: k.Label}, {Text: k.Added.Format("2 January 2006")}})
	}
	open, ends := s.sessionParts(r, a, "/me/session")
	p.Tables = []page.AskTable{t, open}
	if r.who.set.Passkeys && len(a.Passkeys) == 0 {
		p.Lead = append(p.Lead, "Your agency asks everybody for a passkey. Add one here, then go on with it.")
	}
	if s.Passkeys != nil {
		p.Forms = append(p.Forms, page.AskForm{Title: "Add a passkey", Lead: []string{"Your telephone or computer then lets you in by finger, face or PIN. The key never leaves it."}, Action: "/me/passkey", Passkey: "create", Submit: "Add a passkey",
			Fields: []page.AskField{at(page.AskField{Name: "label", Label: "What holds it, such as \"my phone\"", Type: "text", Value: "", Needed: true})}})
	}
	for _, k := range a.Passkeys {
		p.Forms = append(p.Forms, page.AskForm{Action: "/me/passkey/remove", Submit: "Remove the passkey " + k.Label, Quiet: true, Fields: []page.AskField{{Name: "passkey", Type: "hidden", Value: k.ID}}})
	}
	p.Forms = append(p.Forms, page.AskForm{Title: "One-time codes", Lead: []string{"A program on your telephone shows six digits that Lowtide asks for after the password."}, Action: "/me/codes/new", Submit: "Set up one-time codes", Quiet: true})
	if a.Code != "" {
		p.Forms = append(p.Forms, page.AskForm{Action: "/me/codes/remove", Submit: "Do without one-time codes", Quiet: true})
	}
	p.Forms = append(p.Forms, page.AskForm{Title: "Change the password", Action: "/me/password", Submit: "Change the password", Fields: []page.AskField{{Name: "name", Type: "hidden", Value: a.Name}, at(newPassword)}},
		page.AskForm{Title: "Signed in somewhere else?", Lead: []string{"This ends every other session of yours and forgets the computers that you used."}, Action: "/me/everywhere", Submit: "Sign out everywhere else", Quiet: true})
	p.Forms = append(p.Forms, ends...)
	phones, changes := s.phoneParts(a, "/me/phone", at)
	p.Tables, p.Forms = append(p.Tables, phones), append(p.Forms, changes...)
	return show(status, page.AskPage(p))
}

func roleWords(a *account.Account) string {
	words := make([]string, len(a.Roles))
	for i, r := range a.Roles {
		words[i] = string(r)
	}
	return strings.Join(words, ", ")
}

func joinedOr(list []string, none string) string {
	if len(list) == 0 {
		return none
	}
	return strings.Join(list, ", ")
}

// mine applies a change to one's own account, keeps this session and shows what was done.
func (s *Server) mine(r *Request, done string, plan func(*account.Set) (casebook.Body, error)) (Answer, error) {
	if s.Accounts == nil {
		return nil, errMissing
	}
	set, err := s.changeOwn(r, plan)
	return s.kept(r, done, set, err)
}

// kept answers a change of one's own account that ended all of its sessions: this browser's goes on.
func (s *Server) kept(r *Request, done string, set *account.Set, err error) (Answer, error) {
	switch {
	case refusedChange(err):
		return s.showMine(r, http.StatusUnprocessableEntity, err)
	case err == nil:
		err = s.carryOn(r, set.Get(r.who.account.Name))
	}
	if err != nil {
		return nil, err
	}
	return goTo("/me?done=" + done)
}

// carryOn keeps this browser's session over a change that ended all of the account's sessions.
func (s *Server) carryOn(r *Request, a *account.Account) error {
	key, err := s.doors.sessions.Carry(s.Random, r.who.key, a, s.Now())
	if err != nil {
		return err
	}
	s.setCookie(r, sessionCookie, key, 0)
	return s.remember(r, a)
}

// savePassword changes one's own password.
func (s *Server) savePassword(r *Request) (Answer, error) {
	form := r.form
	a := r.who.account
	if s.Accounts == nil {
		return nil, errMissing
	}
	hash, err := s.hashNew(r, form.Get("password"), a.Name, a.Shown)
	if err != nil {
		if !refusedChange(err) {
			return nil, err
		}
		return s.showMine(r, http.StatusUnprocessableEntity, err)
	}
	return s.mine(r, "password", func(*account.Set) (casebook.Body, error) {
		return account.PasswordSet{Name: a.Name, Hash: hash}, nil
	})
}

// removePasskey takes one of one's own passkeys away.
func (s *Server) removePasskey(r *Request) (Answer, error) {
	return s.mine(r, "removed", func(set *account.Set) (casebook.Body, error) {
		return set.RemovePasskey(r.who.account.Name, r.form.Get("passkey"))
	})
}

// everywhere ends every other session.
func (s *Server) everywhere(r *Request) (Answer, error) {
	if s.Accounts == nil {
		return nil, errMissing
	}
	set, err := s.change(r, "", func(*account.Set) (casebook.Body, error) {
		return account.SignedOut{Name: r.who.account.Name}, nil
	})
	return s.kept(r, "everywhere", set, err)
}

// endMine ends one other session of one's own.
func (s *Server) endMine(r *Request) (Answer, error) {
	return s.endSession(r, r.who.account, "/me")
}

// endTheirs ends a session of the account in the address.
func (s *Server) endTheirs(r *Request) (Answer, error) {
	name := r.PathValue("name")
	a := r.who.set.Get(name)
	if a == nil {
		return nil, refuse(http.StatusNotFound, "There is no such account.", "Look at the list of accounts.")
	}
	return s.endSession(r, a, accountPath(name))
}

// endSession ends the session that the form names; one that is over already is no mistake.
func (s *Server) endSession(r *Request, a *account.Account, back string) (Answer, error) {
	if err := s.note(r, accesslog.Noted{What: accesslog.Accounts, Why: "ended a session of " + a.Name}); err != nil {
		return nil, err
	}
	s.doors.sessions.EndOne(a, r.form.Get("session"))
	return goTo(back + "?done=session")
}

// sessionParts are the table of an account's open sessions and a form to end each but the one that asks.
func (s *Server) sessionParts(r *Request, a *account.Account, action string) (page.AskTable, []page.AskForm) {
	t := page.AskTable{Caption: "Signed in now", Head: []string{"Browser", "Came in by", "Since", "Last used", "From"}, Empty: "Nobody is signed in with this account."}
	k := page.Clock{Zone: s.zone(), Now: s.Now()}
	var ends []page.AskForm
	for _, one := range s.doors.sessions.Of(a, s.Now()) {
		browser := one.Where.Browser
		if one.ID == account.SessionID(r.who.key) {
			browser += " (this one)"
		} else {
			ends = append(ends, page.AskForm{Action: action, Submit: "End the session of " + browser + ", since " + k.At(one.Made), Quiet: true, Fields: []page.AskField{{Name: "session", Type: "hidden", Value: one.ID}}})
		}
		t.Rows = append(t.Rows, []page.AskCell{{Text: browser}, {Text: one.By.Words()}, {Text: k.At(one.Made)}, {Text: k.At(one.Used)}, {Text: one.Where.From}})
	}
	return t, ends
}

// newCodes shows a fresh secret; it counts once a code from it was typed.
func (s *Server) newCodes(r *Request) (Answer, error) {
	secret, err := account.NewCodeSecret(s.Random)
	if err != nil {
		return nil, err
	}
	return s.showCodes(r, http.StatusOK, secret, nil)
}

func (s *Server) showCodes(r *Request, status int, secret string, ps []page.AskProblem) (Answer, error) {
	a := r.who.account
	var groups []string
	for i := 0; i < len(secret); i += 4 {
		groups = append(groups, secret[i:min(i+4, len(secret))])
	}
	return show(status, page.AskPage(page.Ask{Frame: s.frame(r, "One-time codes", ""), Heading: "Set up one-time codes", Problems: ps,
		Lead:  []string{"Type this key into the program for codes on your telephone: time-based, six digits. Show it to nobody."},
		Facts: []page.Part{{Label: "Key", Text: strings.Join(groups, " ")}, {Label: "As an address", Text: account.CodeAddress(secret, a.Name, r.Host)}},
		Forms: []page.AskForm{{Action: "/me/codes", Submit: "Use one-time codes", Fields: []page.AskField{codeField, {Name: "secret", Type: "hidden", Value: secret}}}}}))
}

// saveCodes keeps the secret when the code that was typed fits it.
func (s *Server) saveCodes(r *Request) (Answer, error) {
	form := r.form
	a, secret := r.who.account, form.Get("secret")
	if !s.doors.codes.Check(a.Name, secret, form.Get("code"), s.Now()) {
		if len(secret) != 32 {
			return s.newCodes(r)
		}
		return s.showCodes(r, http.StatusUnprocessableEntity, secret, []page.AskProblem{{Field: "code", Text: "The code does not fit the key.", Remedy: "Wait for the next one and type that. The telephone's clock has to be right."}})
	}
	set, err := s.changeOwn(r, func(set *account.Set) (casebook.Body, error) { return set.SetCode(a.Name, secret) })
	if err != nil {
		return s.kept(r, "codes", set, err)
	}
	// The code that was typed is a proof, so the session is a strong one from here on.
	if err := s.proved(r, set.Get(a.Name), max(r.who.session.By, account.ByCode)); err != nil {
		return nil, err
	}
	return goTo("/me?done=codes")
}

// removeCodes does without one-time codes.
func (s *Server) removeCodes(r *Request) (Answer, error) {
	return s.mine(r, "nocodes", func(set *account.Set) (casebook.Body, error) { return set.SetCode(r.who.account.Name, "") })
}
