package web

import (
	"net/http"
	"strconv"
	"strings"

	"lowtide/account"
	"lowtide/casebook"
	"lowtide/web/page"
)

// phoneParts are the table of an account's phones and the forms that change them. Whoever lost one says why.
func (s *Server) phoneParts(a *account.Account, action string, at func(page.AskField) page.AskField) (page.AskTable, []page.AskForm) {
	t := page.AskTable{Caption: "Phones for work without a network", Head: []string{"Phone", "Set up", "Last met the server", "Waited on it then", "State"}, Empty: "There is no phone. One is set up on the phone itself, on the page “This phone”."}
	k := page.Clock{Zone: s.zone(), Now: s.Now()}
	var forms []page.AskForm
	for _, p := range a.PhonesInUse() {
		met, waited := "never", "not known"
		if !p.Met.IsZero() {
			met, waited = k.At(p.Met), strconv.Itoa(p.Unsent)
		}
		state := map[string]string{account.PhoneInUse: "in use", account.PhoneLost: "lost: it forgets everything when it next has a network, and after three days without one by itself"}[p.State]
		t.Rows = append(t.Rows, []page.AskCell{{Text: p.Label}, {Text: k.At(p.Added)}, {Text: met}, {Text: waited}, {Text: state}})
		id := page.AskField{Name: "phone", Type: "hidden", Value: p.ID}
		why := at(page.AskField{Name: "why", In: p.ID, Label: "Why", Type: "text", Needed: true})
		if p.State == account.PhoneLost {
			forms = append(forms, page.AskForm{Title: "The phone " + p.Label + " was found", Lead: []string{"Only when it was in safe hands: what was written on it is taken again."}, Action: action, Submit: "It was found", Quiet: true, Fields: []page.AskField{id, {Name: "state", Type: "hidden", Value: account.PhoneInUse}, why}})
		} else {
			forms = append(forms, page.AskForm{Title: "The phone " + p.Label + " is lost", Lead: []string{"It forgets everything when it next has a network, and nothing more is taken from it. End the session of its browser too."}, Action: action, Submit: "It is lost", Quiet: true, Fields: []page.AskField{id, {Name: "state", Type: "hidden", Value: account.PhoneLost}, why}})
		}
		forms = append(forms, page.AskForm{Action: action, Submit: "Set the phone " + p.Label + " free", Quiet: true, Fields: []page.AskField{id, {Name: "state", Type: "hidden", Value: account.PhoneFreed}}})
	}
	return t, forms
}

// changePhone says what became of a phone of the account.
func (s *Server) changePhone(r *Request, name string) (*account.Set, error) {
	why := strings.TrimSpace(r.form.Get("why"))
	return s.change(r, why, func(set *account.Set) (casebook.Body, error) {
		return set.SetPhone(name, r.form.Get("phone"), r.form.Get("state"), why)
	})
}

// saveMyPhone says what became of one's own phone.
func (s *Server) saveMyPhone(r *Request) (Answer, error) {
	if err := s.withAccounts(); err != nil {
		return nil, err
	}
	_, err := s.changePhone(r, r.who.account.Name)
	switch {
	case refusedChange(err):
		return s.showMine(r, http.StatusUnprocessableEntity, err)
	case err != nil:
		return nil, err
	}
	return goTo("/me?done=phone")
}

// savePhone says what became of somebody's phone.
func (s *Server) savePhone(r *Request) (Answer, error) {
	if err := s.withAccounts(); err != nil {
		return nil, err
	}
	name := r.PathValue("name")
	_, err := s.changePhone(r, name)
	switch {
	case refusedChange(err):
		return s.showOne(r, http.StatusUnprocessableEntity, name, err)
	case err != nil:
		return nil, err
	}
	return goTo(accountPath(name) + "?done=phone")
}

// savePhoneRules says for how long phones stay unlocked.
func (s *Server) savePhoneRules(r *Request) (Answer, error) {
	if err := s.withAccounts(); err != nil {
		return nil, err
	}
	hours, err := strconv.Atoi(strings.TrimSpace(r.form.Get("hours")))
	if err != nil {
		hours = 0
	}
	_, err = s.change(r, "phones stay unlocked", func(set *account.Set) (casebook.Body, error) { return set.SetPhoneRules(hours) })
	switch {
	case refusedChange(err):
		return s.drawAccounts(r, http.StatusUnprocessableEntity, err)
	case err != nil:
		return nil, err
	}
	return goTo("/accounts")
}
