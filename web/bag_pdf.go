package web

import (
	"context"
	"net/http"

	"lowtide/accesslog"
	"lowtide/report"
	"lowtide/state"
)

// sendBag sends the bag for the visits of a day as PDF.
func (s *Server) sendBag(w http.ResponseWriter, r *http.Request) {
	if s.PDF == nil {
		s.missing(w, r)
		return
	}
	ctx, cancel := context.WithTimeout(r.Context(), readingTime)
	defer cancel()
	now := s.Now().In(s.zone())
	b, err := s.Caseload.Bag(ctx, now, bagAhead(r), func(p state.Person) bool { return s.onList(who(r), p) })
	if err == nil {
		err = s.note(r, accesslog.Noted{What: accesslog.Listed})
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	raw, err := s.PDF(report.Bag(b, now, s.zone(), s.Demo), paperSize(r))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.sendFile(w, "application/pdf", "lowtide-bag.pdf", raw)
}

// paperSize is the size of paper that is asked for.
func paperSize(r *http.Request) string {
	if r.URL.Query().Get("size") == "Letter" {
		return "Letter"
	}
	return "A4"
}
