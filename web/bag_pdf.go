package web

import (
	"context"

	"lowtide/accesslog"
	"lowtide/report"
	"lowtide/state"
)

// sendBag sends the bag for the visits of a day as PDF.
func (s *Server) sendBag(r *Request) (Answer, error) {
	if s.PDF == nil {
		return nil, errMissing
	}
	ctx, cancel := context.WithTimeout(r.Context(), readingTime)
	defer cancel()
	now := s.Now().In(s.zone())
	b, err := s.Caseload.Bag(ctx, now, bagAhead(r), func(p state.Person) bool { return s.onList(r.who, p) })
	if err == nil {
		err = s.note(r, accesslog.Noted{What: accesslog.Listed})
	}
	if err != nil {
		return nil, err
	}
	raw, err := s.PDF(report.Bag(b, now, s.zone(), s.Demo), paperSize(r))
	if err != nil {
		return nil, err
	}
	return file("application/pdf", "lowtide-bag.pdf", raw)
}

// paperSize is the size of paper that is asked for.
func paperSize(r *Request) string {
	if r.URL.Query().Get("size") == "Letter" {
		return "Letter"
	}
	return "A4"
}
