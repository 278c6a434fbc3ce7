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
func (s *Server) newErase(r *Request) (Answer, error) {
	return s.showErase(r, http.StatusOK, "")
}

func (s *Server) showErase(r *Request, status int, why string, ps ...page.AskProblem) (Answer, error) {
	if s.Erase == nil {
		return nil, errMissing
	}
	o, err := s.openCase(r, s.Now())
	if err != nil {
		return nil, err
	}
	p := page.Ask{Frame: s.frame(r, "Erase a case", ""), Heading: "Erase a case for good", Problems: ps,
		Lead:  []string{"The key of this case is destroyed. Nobody, not even with a copy of the store and its key, can read the case again; backups made before still hold it until they are thrown away. What stays: that there was a case, how many entries it had, who erased it and why."},
		Facts: []page.Part{{Label: "Case", Text: o.c.ID}, {Label: "Entries", Text: strconv.Itoa(len(o.c.Log))}}}
	if r.who.account.Is(account.Clinical...) && s.onList(r.who, o.rev.Person) {
		p.Facts = append(p.Facts, page.Part{Label: "Patient", Text: o.rev.Person.Name})
	}
	p.Forms = []page.AskForm{{Action: page.CasePath(o.c.ID, "erase"), Submit: "Erase for good", Fields: []page.AskField{
		{Name: "why", Label: "Why, and who asks for it", Hint: "Kept for ever, so without anything clinical. For example: request of the patient of 3 March, file 12; a test patient.", Type: "text", Value: why, Needed: true},
		{Name: "case", Label: "Type the last eight characters of the case's number", Type: "text", Needed: true}}}}
	return show(status, page.AskPage(p))
}

// saveErase erases the case.
func (s *Server) saveErase(r *Request) (Answer, error) {
	form := r.form
	if s.Erase == nil {
		return nil, errMissing
	}
	id, why := r.PathValue("case"), strings.Join(strings.Fields(form.Get("why")), " ")
	typed := strings.TrimSpace(form.Get("case"))
	switch n := utf8.RuneCountInString(why); {
	case n < 5 || n > 400 || !utf8.ValidString(why):
		return s.showErase(r, http.StatusUnprocessableEntity, why, page.AskProblem{Field: "why", Text: "The reason is missing, or longer than 400 letters.", Remedy: "Write why, and who asks for it."})
	case len(typed) < 8 || !strings.HasSuffix(id, typed):
		return s.showErase(r, http.StatusUnprocessableEntity, why, page.AskProblem{Field: "case", Text: "These are not the last eight characters of the case's number.", Remedy: "Compare the number above with the one that you were given."})
	}
	if _, err := s.openCase(r, s.Now()); err != nil {
		return nil, err
	}
	if err := s.note(r, accesslog.Noted{What: accesslog.Erased, Case: id, Why: why}); err != nil {
		return nil, err
	}
	err := s.Erase(r.Context(), id, s.author(r), why)
	switch {
	case errors.Is(err, casebook.ErrLingers):
		return s.tell(r, "The case is erased.", "Nobody can read it through Lowtide. A trace of its key may remain on the disk until Lowtide is next started: start it again today.")
	case err != nil:
		return nil, err
	default:
		return s.tell(r, "The case is erased.", "Nobody can read it again. Backups that were made before still hold it: throw them away when the request asks for that.")
	}
}
