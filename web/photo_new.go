package web

import (
	"net/http"

	"lowtide/casebook"
	"lowtide/web/page"
)

// newPhoto shows the page that takes a photo, and the photos that are there.
func (s *Server) newPhoto(r *Request) (Answer, error) {
	o := r.opened
	form := page.Start(casebook.KindPhotoTaken, o.c, o.clock, asked(r))
	if form.Get("wound") == "" && len(o.c.Wounds) == 1 {
		form.Set("wound", o.c.Wounds[0].Name)
	}
	in, err := s.formInput(o, form, nil)
	if err != nil {
		return nil, err
	}
	return show(http.StatusOK, page.Photo(page.NewPhoto(s.caseFrame(r, o, "Photo of a wound"), in)))
}
