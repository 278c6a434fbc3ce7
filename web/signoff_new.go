package web

import (
	"net/http"
	"net/url"
	"time"

	"lowtide/intake"
	"lowtide/web/page"
)

// newSignOff shows the review that would be signed now.
func (s *Server) newSignOff(r *Request) (Answer, error) {
	o, err := s.openCase(r, s.Now().Truncate(time.Second))
	if err != nil {
		return nil, err
	}
	return s.showSignOff(r, http.StatusOK, o, url.Values{}, nil)
}

// showSignOff shows the review of this moment with what was typed.
func (s *Server) showSignOff(r *Request, status int, o opened, form url.Values, ps intake.Problems) (Answer, error) {
	in, err := s.formInput(o, form, ps)
	if err != nil {
		return nil, err
	}
	return show(status, page.SignOff(page.NewSignOff(s.caseFrame(r, o, "Sign off"), in)))
}
