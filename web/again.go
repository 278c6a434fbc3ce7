package web

import (
	"net/http"

	"lowtide/account"
	"lowtide/web/page"
)

// again asks a person who is signed in to prove once more who she is.
func (s *Server) again(r *Request) (Answer, error) {
	return s.showAgain(r, http.StatusOK, r.URL.Query().Get("to"))
}

// showAgain shows the question, also in the place of a page that needs a fresh proof.
func (s *Server) showAgain(r *Request, status int, to string, ps ...page.AskProblem) (Answer, error) {
	a := r.who.account
	if to == "" && r.Method == http.MethodGet {
		to = r.URL.RequestURI()
	}
	p := page.Ask{Frame: s.frame(r, "Who are you?", ""), Heading: "Prove once more that it is you", Problems: ps,
		Lead: []string{"This page can do what cannot be undone, so Lowtide asks again. The answer counts for five minutes."}}
	if r.Method != http.MethodGet && status == http.StatusForbidden {
		p.Lead = append(p.Lead, "Nothing was done yet. Answer, then send the form again.")
	}
	// An account with a second factor is proved by it, so that the password alone leads to nothing that changes it.
	byPassword := a.Hash != "" && (a.Code != "" || !a.SecondFactor()) && !r.who.set.Passkeys
	byPasskey := s.Passkeys != nil && len(a.Passkeys) > 0
	hidden := page.AskField{Name: "to", Type: "hidden", Value: safePath(to)}
	if byPassword {
		f := page.AskForm{Action: "/again", Submit: "Go on", Fields: []page.AskField{{Name: "name", Type: "hidden", Value: a.Name}, {Name: "password", Label: "Password of " + a.Shown, Type: "password", Complete: "current-password", Needed: true}}}
		if a.Code != "" {
			f.Fields = append(f.Fields, codeField)
		}
		f.Fields = append(f.Fields, hidden)
		p.Forms = append(p.Forms, f)
	}
	if byPasskey {
		p.Forms = append(p.Forms, page.AskForm{Action: "/passkey", Submit: "Use a passkey", Quiet: byPassword, Passkey: "get", Fields: []page.AskField{hidden}})
	}
	if a.SecondFactor() && !s.Demo {
		p.Lead = append(p.Lead, "If your telephone or passkey is lost, ask an administrator: another one, if you are one yourself.")
	}
	if s.Demo {
		p.Forms = append(p.Forms, page.AskForm{Title: "In this demonstration", Lead: []string{"Invented people have no passwords. Go on as if one had been typed."}, Action: "/who", Submit: "Go on", Quiet: true,
			Fields: []page.AskField{{Name: "name", Type: "hidden", Value: a.Name}, hidden}})
	}
	return show(status, page.AskPage(p))
}

// saveAgain takes the answer.
func (s *Server) saveAgain(r *Request) (Answer, error) {
	form := r.form
	v := r.who
	if s.Accounts == nil {
		return nil, errMissing
	}
	set, err := s.accounts(r.Context())
	if err != nil {
		return nil, err
	}
	to := safePath(form.Get("to"))
	if set.Get(v.account.Name).SecondFactor() && v.account.Code == "" {
		return s.showAgain(r, http.StatusUnprocessableEntity, to, page.AskProblem{Text: "The password alone is not enough for this account.", Remedy: "Use the passkey."})
	}
	by := account.ByPassword
	a, err := s.proof(r, set, v.account.Name, form.Get("password"))
	if err == nil && a.Code != "" {
		by, err = account.ByCode, s.rightCode(r, a, form.Get("code"))
	}
	if err == nil {
		err = s.proved(r, a, by)
	}
	if err != nil {
		return askAgain(err, func(status int, p page.AskProblem) (Answer, error) { return s.showAgain(r, status, to, p) })
	}
	if to == "" {
		to = "/"
	}
	return goTo(to)
}

// proved gives the session a new key after a proof.
func (s *Server) proved(r *Request, a *account.Account, by account.Proof) error {
	key, err := s.doors.sessions.Prove(s.Random, r.who.key, a, by, s.where(r), s.Now())
	if err == nil {
		s.setCookie(r, sessionCookie, key, 0)
	}
	return err
}
