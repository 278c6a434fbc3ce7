package web

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"lowtide/account"
	"lowtide/casebook"
	"lowtide/web/page"
)

// drillEvery is how often a backup is to be tried out before administrators are told.
const drillEvery = 31 * 24 * time.Hour

// showAccounts lists every account.
func (s *Server) showAccounts(r *Request) (Answer, error) {
	return s.drawAccounts(r, http.StatusOK, nil)
}

func (s *Server) drawAccounts(r *Request, status int, wrong error) (Answer, error) {
	ps, at := askProblems(wrong)
	set, err := s.accounts(r.Context())
	if err != nil {
		return nil, err
	}
	t := page.AskTable{Caption: "Accounts", Head: []string{"Person", "Sign-in name", "Roles", "Teams", "Second factor", "State"}, Empty: "There is no account."}
	var without []string
	for _, a := range set.All() {
		state := "open"
		switch {
		case a.Disabled:
			state = "disabled"
		case a.Hash == "" && len(a.Passkeys) == 0:
			state = "waits for a password"
		}
		if !a.Disabled && len(a.Passkeys) == 0 {
			without = append(without, a.Shown)
		}
		second := "no"
		switch {
		case len(a.Passkeys) > 0:
			second = "passkey"
		case a.Code != "":
			second = "one-time codes"
		}
		t.Rows = append(t.Rows, []page.AskCell{{Text: a.Shown, Href: accountPath(a.Name)}, {Text: a.Name}, {Text: roleWords(a)}, {Text: joinedOr(a.Teams, "none")}, {Text: second}, {Text: state}})
	}
	ledger, _, err := casebook.Register{Book: s.Caseload.Book, ID: casebook.Ledger}.Entries(r.Context())
	if err != nil {
		return nil, err
	}
	var lead []string
	if words := casebook.DrillOverdue(ledger, s.Now(), drillEvery); words != "" && !s.Demo {
		lead = append(lead, words)
	}
	ask := page.AskForm{Title: "Passkeys for everybody", Lead: []string{"A passkey cannot be guessed, told or typed into a false page. When you ask for it, everybody adds one at the next sign-in and comes by it from then on."}, Action: "/accounts/passkeys", Submit: "Ask everybody for a passkey", Quiet: true, Fields: []page.AskField{{Name: "all", Type: "hidden", Value: "yes"}}}
	if set.Passkeys {
		ask.Lead = []string{"Everybody is asked for a passkey. Still without one: " + joinedOr(without, "nobody") + "."}
		ask.Submit, ask.Fields[0].Value = "Ask for passkeys no longer", "no"
	}
	phones := page.AskForm{Title: "Phones for work without a network", Lead: []string{"A phone that was unlocked stays so for this long. After it, or after its owner locks it, it takes her phrase or passkey again."}, Action: "/accounts/phones", Submit: "Save", Quiet: true,
		Fields: []page.AskField{at(page.AskField{Name: "hours", Label: "Hours for which a phone stays unlocked, 1 to 24", Type: "text", Keypad: "numeric", Value: strconv.Itoa(set.UnlockedHours()), Needed: true})}}
	return show(status, page.AskPage(page.Ask{Frame: s.frame(r, "Accounts", "Accounts"), Heading: "Accounts", Problems: ps, Lead: lead, Tables: []page.AskTable{t}, Forms: []page.AskForm{ask, phones}, Links: []page.Link{{Href: "/accounts/new", Words: "New account"}, {Href: "/erase", Words: "Erase a case"}, {Href: "/tokens", Words: "Tokens for other systems"}, {Href: "/seal", Words: "Seal of the day"}}}))
}

func accountPath(name string) string { return "/account/" + url.PathEscape(name) }

// roleTicks are the roles to choose from.
func roleTicks(chosen func(account.Role) bool) []page.Option {
	var out []page.Option
	for _, role := range account.Roles {
		out = append(out, page.Option{Value: string(role), Words: string(role) + ": " + role.Words(), Selected: chosen(role)})
	}
	return out
}

func rolesOf(form url.Values) []account.Role {
	var out []account.Role
	for _, v := range form["roles"] {
		out = append(out, account.Role(v))
	}
	return out
}

// personFields are the fields about a person that an administrator fills in.
func personFields(at func(page.AskField) page.AskField, shown, teams string, chosen func(account.Role) bool) []page.AskField {
	return []page.AskField{at(page.AskField{Name: "shown", Label: "Name, as colleagues know it", Hint: "Patients whose \"Nurse in charge\" is this name are on the person's list.", Type: "text", Value: shown, Needed: true}),
		at(page.AskField{Name: "roles", Label: "Roles", Type: "ticks", Options: roleTicks(chosen)}),
		at(page.AskField{Name: "teams", Label: "Teams, one a line", Hint: "Patients of these teams are on the person's list.", Type: "lines", Value: teams})}
}

// newAccount shows the form of a new account.
func (s *Server) newAccount(r *Request) (Answer, error) {
	return s.showNewAccount(r, http.StatusOK, url.Values{}, nil)
}

func (s *Server) showNewAccount(r *Request, status int, form url.Values, err error) (Answer, error) {
	ps, at := askProblems(err)
	fields := append([]page.AskField{at(page.AskField{Name: "name", Label: "Sign-in name", Hint: nameHint, Type: "text", Value: form.Get("name"), Needed: true})},
		personFields(at, form.Get("shown"), form.Get("teams"), func(role account.Role) bool {
			for _, v := range form["roles"] {
				if v == string(role) {
					return true
				}
			}
			return false
		})...)
	return show(status, page.AskPage(page.Ask{Frame: s.frame(r, "New account", "Accounts"), Heading: "New account", Problems: ps, Forms: []page.AskForm{{Action: "/accounts/new", Submit: "Make the account", Fields: fields}}}))
}

// saveAccount makes an account and shows the one-time link for its password.
func (s *Server) saveAccount(r *Request) (Answer, error) {
	if err := s.withAccounts(); err != nil {
		return nil, err
	}
	form := r.form
	name := account.CleanName(form.Get("name"))
	_, err := s.change(r, "", func(set *account.Set) (casebook.Body, error) {
		return set.Create(name, form.Get("shown"), rolesOf(form), lines(form.Get("teams")))
	})
	switch {
	case refusedChange(err):
		return s.showNewAccount(r, http.StatusUnprocessableEntity, form, err)
	case err != nil:
		return nil, err
	default:
		return s.giveLink(r, name)
	}
}

// withAccounts is the refusal of a server without accounts.
func (s *Server) withAccounts() error {
	if s.Accounts == nil {
		return errMissing
	}
	return nil
}

// giveLink makes a one-time link and shows it once.
func (s *Server) giveLink(r *Request, name string) (Answer, error) {
	key := ""
	_, err := s.change(r, "", func(set *account.Set) (body casebook.Body, err error) {
		body, key, err = set.MakeLink(name, s.Now(), s.Random)
		return body, err
	})
	switch {
	case refusedChange(err):
		return s.showOne(r, http.StatusUnprocessableEntity, name, err)
	case err != nil:
		return nil, err
	default:
		return show(http.StatusOK, page.AskPage(page.Ask{Frame: s.frame(r, "One-time link", "Accounts"), Heading: "One-time link for " + name,
			Lead:  []string{"Give this link to the person herself. With it she sets her password. It works once, for a day, and is shown only now. The link before it is no longer good."},
			Facts: []page.Part{{Label: "Link", Text: s.origin(r) + "/link?key=" + key}}, Links: []page.Link{{Href: accountPath(name), Words: "To the account"}, {Href: "/accounts", Words: "To the accounts"}}}))
	}
}

// showAccount shows one account to an administrator.
func (s *Server) showAccount(r *Request) (Answer, error) {
	return s.showOne(r, http.StatusOK, r.PathValue("name"), nil)
}

func (s *Server) showOne(r *Request, status int, name string, err error) (Answer, error) {
	ps, at := askProblems(err)
	set, err := s.accounts(r.Context())
	if err != nil {
		return nil, err
	}
	a := set.Get(name)
	if a == nil {
		return nil, refuse(http.StatusNotFound, "There is no such account.", "Look at the list of accounts.")
	}
	path := accountPath(name)
	open, ends := s.sessionParts(r, a, path+"/session")
	p := page.Ask{Frame: s.frame(r, a.Shown, "Accounts"), Heading: a.Shown, Problems: ps,
		Facts: []page.Part{{Label: "Sign-in name", Text: a.Name}, {Label: "Made", Text: a.Created.Format("2 January 2006")}, {Label: "State", Text: map[bool]string{true: "disabled", false: "open"}[a.Disabled]}, {Label: "Passkeys", Text: strconv.Itoa(len(a.Passkeys))}, {Label: "One-time codes", Text: map[bool]string{true: "set up", false: "not set up"}[a.Code != ""]}}}
	p.Said = doneWords[r.URL.Query().Get("done")]
	p.Tables = []page.AskTable{open}
	p.Forms = append(p.Forms, page.AskForm{Title: "Name, roles and teams", Action: path + "/roles", Submit: "Save", Fields: personFields(at, a.Shown, strings.Join(a.Teams, "\n"), func(role account.Role) bool {
		for _, have := range a.Roles {
			if have == role {
				return true
			}
		}
		return false
	})})
	why := at(page.AskField{Name: "why", Label: "Why", Type: "text", Needed: true})
	if a.Disabled {
		p.Forms = append(p.Forms, page.AskForm{Title: "Open the account again", Action: path + "/disable", Submit: "Open it again", Quiet: true, Fields: []page.AskField{why, {Name: "disabled", Type: "hidden", Value: ""}}})
	} else {
		p.Forms = append(p.Forms,
			page.AskForm{Title: "A new password", Lead: []string{"You never see it: the person sets it herself by a one-time link."}, Action: path + "/link", Submit: "Make a one-time link", Quiet: true},
			page.AskForm{Title: "Lost telephone or passkey", Lead: []string{"Takes all passkeys and one-time codes away, so that the person can add new ones."}, Action: path + "/second", Submit: "Take the second factors away", Quiet: true,
				Fields: []page.AskField{at(page.AskField{Name: "lost", Label: "What is lost, and how you know that it is she who asks", Type: "text", Needed: true})}},
			page.AskForm{Title: "Disable the account", Lead: []string{"The person is signed out everywhere at once. What she wrote stays."}, Action: path + "/disable", Submit: "Disable it", Quiet: true, Fields: []page.AskField{why, {Name: "disabled", Type: "hidden", Value: "yes"}}})
	}
	p.Forms = append(p.Forms, ends...)
	phones, changes := s.phoneParts(a, path+"/phone", at)
	p.Tables, p.Forms = append(p.Tables, phones), append(p.Forms, changes...)
	p.Links = []page.Link{{Href: "/access?account=" + url.QueryEscape(name), Words: "What this account read and changed"}, {Href: "/accounts", Words: "To the accounts"}}
	return show(status, page.AskPage(p))
}

// one applies a change to the account in the address.
func (s *Server) one(r *Request, done, why string, plan func(*account.Set) (casebook.Body, error)) (Answer, error) {
	name := r.PathValue("name")
	_, err := s.change(r, why, plan)
	switch {
	case refusedChange(err):
		return s.showOne(r, http.StatusUnprocessableEntity, name, err)
	case err != nil:
		return nil, err
	default:
		return goTo(accountPath(name) + "?done=" + done)
	}
}

// saveRoles changes name, roles and teams.
func (s *Server) saveRoles(r *Request) (Answer, error) {
	if err := s.withAccounts(); err != nil {
		return nil, err
	}
	return s.one(r, "roles", "", func(set *account.Set) (casebook.Body, error) {
		return set.SetRoles(r.who.account.Name, r.PathValue("name"), r.form.Get("shown"), rolesOf(r.form), lines(r.form.Get("teams")))
	})
}

// saveDisabled closes an account or opens it again.
func (s *Server) saveDisabled(r *Request) (Answer, error) {
	if err := s.withAccounts(); err != nil {
		return nil, err
	}
	why := r.form.Get("why")
	return s.one(r, "disabled", why, func(set *account.Set) (casebook.Body, error) {
		return set.Disable(r.PathValue("name"), r.form.Get("disabled") != "", why)
	})
}

// saveLink makes a one-time link.
func (s *Server) saveLink(r *Request) (Answer, error) {
	if err := s.withAccounts(); err != nil {
		return nil, err
	}
	return s.giveLink(r, r.PathValue("name"))
}

// removeSecond takes somebody else's second factors away.
func (s *Server) removeSecond(r *Request) (Answer, error) {
	if err := s.withAccounts(); err != nil {
		return nil, err
	}
	why := r.form.Get("lost")
	return s.one(r, "second", why, func(set *account.Set) (casebook.Body, error) {
		return set.ResetSecond(r.who.account.Name, r.PathValue("name"), why)
	})
}

// askPasskeys asks everybody for a passkey, or no longer.
func (s *Server) askPasskeys(r *Request) (Answer, error) {
	if err := s.withAccounts(); err != nil {
		return nil, err
	}
	_, err := s.change(r, "passkeys for everybody", func(set *account.Set) (casebook.Body, error) {
		switch r.form.Get("all") {
		case "yes":
			return set.AskPasskeys(true, r.who.session.By)
		case "no":
			return set.AskPasskeys(false, r.who.session.By)
		}
		return nil, &account.Refused{Field: "all", What: "It is not said whether passkeys are asked for.", Next: "Use the button on this page."}
	})
	switch {
	case refusedChange(err):
		return s.drawAccounts(r, http.StatusUnprocessableEntity, err)
	case err != nil:
		return nil, err
	default:
		return goTo("/accounts")
	}
}
