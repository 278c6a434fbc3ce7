package web

import (
	"net/http"

	"lowtide/account"
	"lowtide/web/page"
)

// home shows where a person starts: Rounds for those who may see cases, the accounts for an administrator.
func (s *Server) home(w http.ResponseWriter, r *http.Request) {
	switch a := who(r).account; {
	case a.Is(account.Clinical...):
		s.showRounds(w, r)
	case a.Is(account.Admin):
		http.Redirect(w, r, "/accounts", http.StatusSeeOther)
	default:
		s.showStores(w, r)
	}
}

// chooseWho lists the invented people of a demonstration.
func (s *Server) chooseWho(w http.ResponseWriter, r *http.Request) {
	if !s.Demo || s.Accounts == nil {
		s.missing(w, r)
		return
	}
	set, err := s.accounts(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	var options []page.Option
	for _, a := range set.All() {
		options = append(options, page.Option{Value: a.Name, Words: a.Shown + ": " + roleWords(a), Selected: a.Name == s.author(r)})
	}
	s.render(w, r, http.StatusOK, page.AskPage(page.Ask{Frame: s.frame(r, "Who to be", ""), Heading: "Who do you want to be?", Lead: []string{"These people are invented, like the patients, and have no passwords. Outside a demonstration everybody signs in."},
		Forms: []page.AskForm{{Action: "/who", Submit: "Go on", Fields: []page.AskField{{Name: "name", Label: "Person", Type: "choice", Options: options}}}}}))
}

// saveWho opens a session as another invented person.
func (s *Server) saveWho(w http.ResponseWriter, r *http.Request) {
	form, _, ok := s.readForm(w, r)
	if !ok {
		return
	}
	if !s.Demo || s.Accounts == nil {
		s.missing(w, r)
		return
	}
	set, err := s.accounts(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	a := set.Get(form.Get("name"))
	if a == nil || a.Disabled {
		s.chooseWho(w, r)
		return
	}
	if !s.begin(w, r, a, account.ByLink) {
		return
	}
	w.Header().Set("Clear-Site-Data", `"cache"`)
	to := safePath(form.Get("to"))
	if to == "" {
		to = "/"
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}
