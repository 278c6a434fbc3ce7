package web

import (
	"errors"
	"net/http"
	"strconv"
	"strings"
	"unicode/utf8"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/casebook"
	"lowtide/web/page"
)

// newErase shows the form that erases a case. Of the case it shows the number of entries only: an administrator sees
// nothing clinical, and who is a nurse too looks at the case itself first.
func (s *Server) newErase(w http.ResponseWriter, r *http.Request) {
	s.showErase(w, r, http.StatusOK, "")
}

func (s *Server) showErase(w http.ResponseWriter, r *http.Request, status int, why string, ps ...page.AskProblem) {
	if s.Erase == nil {
		s.missing(w, r)
		return
	}
	c, rev, _, err := s.Caseload.Case(r.Context(), r.PathValue("case"), s.Now())
	switch {
	case err != nil:
		s.fail(w, r, err)
		return
	case c == nil:
		s.missing(w, r)
		return
	}
	p := page.Ask{Frame: s.frame(r, "Erase a case", ""), Heading: "Erase a case for good", Problems: ps,
		Lead:  []string{"The key of this case is destroyed. Nobody, not even with a copy of the store and its key, can read the case again; backups made before still hold it until they are thrown away. What stays: that there was a case, how many entries it had, who erased it and why."},
		Facts: []page.Part{{Label: "Case", Text: c.ID}, {Label: "Entries", Text: strconv.Itoa(len(c.Log))}}}
	if who(r).account.Is(account.Clinical...) && s.onList(who(r), rev.Person) {
		p.Facts = append(p.Facts, page.Part{Label: "Patient", Text: rev.Person.Name})
	}
	p.Forms = []page.AskForm{{Action: page.CasePath(c.ID, "erase"), Submit: "Erase for good", Fields: []page.AskField{
		{Name: "why", Label: "Why, and who asks for it", Hint: "Kept for ever, so without anything clinical. For example: request of the patient of 3 March, file 12; a test patient.", Type: "text", Value: why, Needed: true},
		{Name: "case", Label: "Type the last eight characters of the case's number", Type: "text", Needed: true}}}}
	s.render(w, r, status, page.AskPage(p))
}

// saveErase erases the case.
func (s *Server) saveErase(w http.ResponseWriter, r *http.Request) {
	form, _, ok := s.readForm(w, r)
	if !ok {
		return
	}
	if s.Erase == nil {
		s.missing(w, r)
		return
	}
	id, why := r.PathValue("case"), strings.Join(strings.Fields(form.Get("why")), " ")
	typed := strings.TrimSpace(form.Get("case"))
	switch n := utf8.RuneCountInString(why); {
	case n < 5 || n > 400 || !utf8.ValidString(why):
		s.showErase(w, r, http.StatusUnprocessableEntity, why, page.AskProblem{Field: "why", Text: "The reason is missing, or longer than 400 letters.", Remedy: "Write why, and who asks for it."})
		return
	case len(typed) < 8 || !strings.HasSuffix(id, typed):
		s.showErase(w, r, http.StatusUnprocessableEntity, why, page.AskProblem{Field: "case", Text: "These are not the last eight characters of the case's number.", Remedy: "Compare the number above with the one that you were given."})
		return
	}
	if c, _, _, err := s.Caseload.Case(r.Context(), id, s.Now()); err != nil || c == nil {
		if err == nil {
			s.missing(w, r)
		} else {
			s.fail(w, r, err)
		}
		return
	}
	if err := s.note(r, accesslog.Noted{What: accesslog.Erased, Case: id, Why: why}); err != nil {
		s.fail(w, r, err)
		return
	}
	err := s.Erase(r.Context(), id, s.author(r), why)
	switch {
	case errors.Is(err, casebook.ErrLingers):
		s.refuse(w, r, http.StatusOK, "The case is erased.", "Nobody can read it through Lowtide. A trace of its key may remain on the disk until Lowtide is next started: start it again today.")
	case err != nil:
		s.fail(w, r, err)
	default:
		s.refuse(w, r, http.StatusOK, "The case is erased.", "Nobody can read it again. Backups that were made before still hold it: throw them away when the request asks for that.")
	}
}
