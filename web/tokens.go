package web

import (
	"errors"
	"net/http"
	"strconv"
	"strings"

	"lowtide/account"
	"lowtide/casebook"
	"lowtide/web/page"
)

// showTokens lists the tokens with which other systems read, with the form for a new one.
func (s *Server) showTokens(r *Request) (Answer, error) {
	return s.drawTokens(r, http.StatusOK, "", nil)
}

func (s *Server) drawTokens(r *Request, status int, key string, wrong *account.Refused) (Answer, error) {
	set, err := s.accounts(r.Context())
	if err != nil {
		return nil, err
	}
	if s.Exchange == nil || s.Accounts == nil {
		return nil, errMissing
	}
	k := page.Clock{Zone: s.zone(), Now: s.Now()}
	p := page.Ask{Frame: s.frame(r, "Tokens", "Accounts"), Heading: "Tokens for other systems",
		Lead: []string{"A token lets another system read cases as FHIR R4 under /fhir, and nothing else. Its key is shown once, when it is made; afterwards only its hash is kept. Every read stands in the access log."}}
	if key != "" {
		p.Facts = []page.Part{{Label: "The key, shown this once", Text: key}}
	}
	if wrong != nil {
		p.Problems = []page.AskProblem{{Field: wrong.Field, Text: wrong.What, Remedy: wrong.Next}}
	}
	t := page.AskTable{Caption: "Tokens", Head: []string{"Name in the access log", "Other system", "May read", "Teams", "Good until"}, Empty: "There is no token."}
	var ends []page.AskForm
	for _, x := range set.Tokens() {
		until := k.At(x.Until)
		if !s.Now().Before(x.Until) {
			until = "ran out " + until
		}
		t.Rows = append(t.Rows, []page.AskCell{{Text: tokenName(x)}, {Text: x.Label}, {Text: strings.Join(x.Scopes, ", ")}, {Text: joinedOr(x.Teams, "all")}, {Text: until}})
		ends = append(ends, page.AskForm{Action: "/tokens/end", Submit: "Take away the token of " + x.Label, Quiet: true, Fields: []page.AskField{{Name: "id", Type: "hidden", Value: x.ID}}})
	}
	p.Tables = []page.AskTable{t}
	form := r.PostForm
	kinds := []page.Option{{Value: "*", Words: "everything", Selected: form.Get("scopes") == "*"}}
	for _, kind := range s.Exchange.Kinds() {
		kinds = append(kinds, page.Option{Value: kind, Words: kind})
	}
	days := "90"
	if v := form.Get("days"); v != "" {
		days = v
	}
	p.Forms = append([]page.AskForm{{Title: "New token", Action: "/tokens", Submit: "Make a token", Fields: []page.AskField{
		{Name: "label", Label: "Other system", Type: "text", Value: form.Get("label"), Needed: true}, {Name: "scopes", Label: "May read", Type: "ticks", Options: kinds},
		{Name: "teams", Label: "Only patients of these teams, with commas between; empty is all", Type: "text", Value: form.Get("teams")}, {Name: "days", Label: "Good for how many days", Type: "text", Value: days, Needed: true}}}}, ends...)
	return show(status, page.AskPage(p))
}

// saveToken makes a token and shows its key.
func (s *Server) saveToken(r *Request) (Answer, error) {
	form := r.form
	if s.Exchange == nil || s.Accounts == nil {
		return nil, errMissing
	}
	days, err := strconv.Atoi(strings.TrimSpace(form.Get("days")))
	if err != nil {
		days = 0
	}
	var key string
	_, err = s.Accounts.Change(r.Context(), s.Now(), s.author(r), "", func(set *account.Set) ([]casebook.Body, error) {
		b, made, err := set.MakeToken(form.Get("label"), form["scopes"], s.Exchange.Kinds(), strings.Split(form.Get("teams"), ","), days, s.Now(), s.Random)
		key = made
		return []casebook.Body{b}, err
	})
	return s.tokenAnswer(r, key, err)
}

// endToken takes a token away.
func (s *Server) endToken(r *Request) (Answer, error) {
	form := r.form
	if s.Exchange == nil || s.Accounts == nil {
		return nil, errMissing
	}
	_, err := s.Accounts.Change(r.Context(), s.Now(), s.author(r), "", func(set *account.Set) ([]casebook.Body, error) {
		b, err := set.EndToken(form.Get("id"))
		return []casebook.Body{b}, err
	})
	return s.tokenAnswer(r, "", err)
}

func (s *Server) tokenAnswer(r *Request, key string, err error) (Answer, error) {
	var wrong *account.Refused
	switch {
	case errors.As(err, &wrong):
		return s.drawTokens(r, http.StatusUnprocessableEntity, "", wrong)
	case err != nil:
		return nil, err
	case key == "":
		return goTo("/tokens")
	default:
		return s.drawTokens(r, http.StatusOK, key, nil)
	}
}
