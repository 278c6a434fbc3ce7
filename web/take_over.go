package web

import (
	"net/http"
	"strings"
	"unicode/utf8"

	"lowtide/casebook"
	"lowtide/web/page"
)

// mayTake tells whether the person may take an entry over that came by file: she may write such an entry herself. A
// signature is taken over only by the one whose name it is.
func mayTake(v *visitor, e casebook.Entry) bool {
	return v != nil && mayWrite(v, e.Kind) && (e.Kind != casebook.KindReviewSigned || e.Author == v.account.Name)
}

// claimed is the line of the address that came by file.
func (s *Server) claimed(r *Request) (*casebook.Line, error) {
	l := r.c.Line(r.PathValue("entry"))
	switch {
	case l == nil || !l.Entry.Came.Claimed():
		return nil, refuse(http.StatusNotFound, "There is nothing to take over.", "The entry was written here, or somebody took it over already: see the log.")
	case !mayTake(r.who, l.Entry):
		return nil, refuse(http.StatusForbidden, "Your account may not take this over.", "Who may write such an entry may; a signature only the one whose name it is.")
	}
	return l, nil
}

// takeOver asks for what an entry that came by file was compared with.
func (s *Server) takeOver(r *Request) (Answer, error) {
	return s.askTakeOver(r, http.StatusOK)
}

func (s *Server) askTakeOver(r *Request, status int, ps ...page.AskProblem) (Answer, error) {
	l, err := s.claimed(r)
	if err != nil {
		return nil, err
	}
	p := page.TakeOver(s.frame(r, "Take it over", ""), r.c, l, r.clock, r.form.Get("why"), ps)
	return show(status, page.AskPage(p))
}

// saveTakeOver keeps who took the entry over.
func (s *Server) saveTakeOver(r *Request) (Answer, error) {
	l, err := s.claimed(r)
	if err != nil {
		return nil, err
	}
	why := strings.Join(strings.Fields(r.form.Get("why")), " ")
	if n := utf8.RuneCountInString(why); n < 3 || n > maxWhy || !utf8.ValidString(why) {
		return s.askTakeOver(r, http.StatusUnprocessableEntity, page.AskProblem{Field: "why", Text: "It is not said what the entry was compared with, or with more than 200 letters.", Remedy: "Write it in a few words."})
	}
	if err := s.Caseload.Book.TakeOver(r.Context(), r.c.ID, l.Entry.ID, why, s.Now(), s.author(r)); err != nil {
		return nil, err
	}
	return goTo(page.LogPath(r.c.ID, l.Entry.ID))
}
