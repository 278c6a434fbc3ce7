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

// openPhoto returns the case and the photo that a request is about. When there is none the answer is given here.
func (s *Server) openPhoto(w http.ResponseWriter, r *http.Request) (o opened, photo *casebook.Photo, ok bool) {
	if o, ok = s.openCase(w, r); !ok {
		return o, nil, false
	}
	if photo = o.c.Photo(r.PathValue("entry")); photo == nil {
		s.missing(w, r)
		return o, nil, false
	}
	return o, photo, true
}

// showOutline shows a photo with what was confirmed on it; a nurse can draw.
func (s *Server) showOutline(w http.ResponseWriter, r *http.Request) {
	o, photo, ok := s.openPhoto(w, r)
	if !ok {
		return
	}
	s.renderOutline(w, r, http.StatusOK, o, photo, page.Typed{}, nil)
}

func (s *Server) renderOutline(w http.ResponseWriter, r *http.Request, status int, o opened, photo *casebook.Photo, typed page.Typed, result *page.OutlineResult) {
	in, err := s.formInput(o, typed.Values, typed.Problems)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	gone, err := s.Caseload.Book.NotBrought(r.Context(), o.c.ID, photo.Blob)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	who := who(r)
	sum := sha256.Sum256([]byte(s.author(r)))
	s.render(w, r, status, page.Outline(page.NewOutline(s.caseFrame(r, o, "Outline"), page.OutlineInput{Case: o.c, Photo: photo, Clock: o.clock, Typed: in.Typed, Key: in.Key,
		Person: hex.EncodeToString(sum[:6]), Draw: who != nil && who.account.Is(account.Nurse), NotBrought: gone, Saved: r.URL.Query().Get("saved") != "", Result: result})))
}

// photoBytes reads the photo of an entry. Without it nothing can be measured, and the answer is given here.
func (s *Server) photoBytes(w http.ResponseWriter, r *http.Request, o opened, photo *casebook.Photo) (raw []byte, ok bool) {
	raw, err := s.Caseload.Book.Blob(r.Context(), o.c.ID, photo.Blob)
	if err != nil {
		s.fail(w, r, err)
		return nil, false
	}
	return raw, true
}

// reading is what the handlers of one photo share: the drawing as it was sent.
var badDrawing = intake.Problem{Code: intake.CodeSyntax, Message: "The drawing did not arrive whole.", Remedy: "Reload the page: what you drew is kept on this computer. Then send it again."}
