package web

import (
	"crypto/sha256"
	"encoding/hex"
	"net/http"

	"lowtide/account"
	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/web/page"
)

// openPhoto finds the photo of the request.
func openPhoto(r *Request) (*casebook.Photo, error) {
	if photo := r.c.Photo(r.PathValue("entry")); photo != nil {
		return photo, nil
	}
	return nil, errMissing
}

// showOutline shows a photo with what was confirmed on it; a nurse can draw.
func (s *Server) showOutline(r *Request) (Answer, error) {
	o := r.opened
	photo, err := openPhoto(r)
	if err != nil {
		return nil, err
	}
	return s.renderOutline(r, http.StatusOK, o, photo, page.Typed{}, nil)
}

func (s *Server) renderOutline(r *Request, status int, o opened, photo *casebook.Photo, typed page.Typed, result *page.OutlineResult) (Answer, error) {
	in, err := s.formInput(o, typed.Values, typed.Problems)
	if err != nil {
		return nil, err
	}
	gone, err := s.Caseload.Book.NotBrought(r.Context(), o.c.ID, photo.Blob)
	if err != nil {
		return nil, err
	}
	who := r.who
	sum := sha256.Sum256([]byte(s.author(r)))
	return show(status, page.Outline(page.NewOutline(s.caseFrame(r, o, "Outline"), page.OutlineInput{Case: o.c, Photo: photo, Clock: o.clock, Typed: in.Typed, Key: in.Key,
		Person: hex.EncodeToString(sum[:6]), Draw: who != nil && who.account.Is(account.Nurse), NotBrought: gone, Saved: r.URL.Query().Get("saved") != "", Result: result})))
}

// badDrawing is the problem of a drawing that cannot be read.
var badDrawing = intake.Problem{Code: intake.CodeSyntax, Message: "The drawing did not arrive whole.", Remedy: "Reload the page: what you drew is kept on this computer. Then send it again."}
