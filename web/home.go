package web

import (
	"net/http"

	"lowtide/account"
	"lowtide/web/page"
)

// home shows where a person starts: Rounds for those who may see cases, the accounts for an administrator.
func (s *Server) home(r *Request) (Answer, error) {
	switch a := r.who.account; {
	case a.Is(account.Clinical...):
		return s.showRounds(r)
	case a.Is(account.Admin):
		return goTo("/accounts")
	default:
		return s.showStores(r)
	}
}

// chooseWho lists the invented people of a demonstration.
func (s *Server) chooseWho(r *Request) (Answer, error) {
	if !s.Demo || s.Accounts == nil {
		return nil, errMissing
	}
	set, err := s.accounts(r.Context())
	if err != nil {
		return nil, err
	}
	var options []page.Option
	for _, a := range set.All() {
		options = append(options, page.Option{Value: a.Name, Words: a.Shown + ": " + roleWords(a), Selected: a.Name == s.author(r)})
	}
	return show(http.StatusOK, page.AskPage(page.Ask{Frame: s.frame(r, "Who to be", ""), Heading: "Who do you want to be?", Lead: []string{"These people are invented, like the patients, and have no passwords. Outside a demonstration everybody signs in."},
		Forms: []page.AskForm{{Action: "/who", Submit: "Go on", Fields: []page.AskField{{Name: "name", Label: "Person", Type: "choice", Options: options}}}}}))
}

// saveWho opens a session as another invented person.
func (s *Server) saveWho(r *Request) (Answer, error) {
	if !s.Demo || s.Accounts == nil {
		return nil, errMissing
	}
	set, err := s.accounts(r.Context())
	if err != nil {
		return nil, err
	}
	a := set.Get(r.form.Get("name"))
	if a == nil || a.Disabled {
		return s.chooseWho(r)
	}
	if err := s.begin(r, a, account.ByLink); err != nil {
		return nil, err
	}
	r.header.Set("Clear-Site-Data", `"cache"`)
	to := safePath(r.form.Get("to"))
	if to == "" {
		to = "/"
	}
	return goTo(to)
}
