package web

import (
	"net/http"

	"lowtide/casebook"
	"lowtide/report"
	"lowtide/web/page"
)

// reportInput is what papers of the case are written from.
func (s *Server) reportInput(o opened) report.Input {
	return report.Input{Review: o.rev, Rules: s.Rules, Equipment: s.Equipment, Demo: s.Demo}
}

// paper writes the paper that the address names.
func (s *Server) paper(r *Request) (*report.Paper, error) {
	q := r.URL.Query()
	p, err := report.Of(s.reportInput(r.opened), r.PathValue("kind"), q.Get("entry"), q.Get("lang"))
	if err != nil {
		return nil, errMissing
	}
	return p, nil
}

// showPapers lists the papers of a case.
func (s *Server) showPapers(r *Request) (Answer, error) {
	o := r.opened
	var kinds []report.Kind
	for _, k := range report.Kinds {
		if report.Has(o.rev.State, k.Name) {
			kinds = append(kinds, k)
		}
	}
	return show(http.StatusOK, page.Papers(page.NewPapers(s.caseFrame(r, o, "Papers of "+o.rev.Person.Name), o.c.ID, kinds, s.PDF != nil, s.Bundle != nil, s.Foreign != nil && mayWrite(r.who, casebook.KindNoteWritten))))
}

// showPaper shows a paper as a page, which readers for the blind can read.
func (s *Server) showPaper(r *Request) (Answer, error) {
	o := r.opened
	p, err := s.paper(r)
	if err != nil {
		return nil, err
	}
	return show(http.StatusOK, page.Paper(page.NewPaper(s.caseFrame(r, o, p.Title), o.c.ID, p, r.URL.Query(), s.PDF != nil)))
}

// sendPaper sends a paper as PDF.
func (s *Server) sendPaper(r *Request) (Answer, error) {
	if s.PDF == nil {
		return nil, errMissing
	}
	p, err := s.paper(r)
	if err != nil {
		return nil, err
	}
	raw, err := s.PDF(p, paperSize(r))
	if err != nil {
		return nil, err
	}
	return file("application/pdf", "lowtide-"+p.Kind+".pdf", raw)
}

// sendBundle sends the case as a FHIR Bundle.
func (s *Server) sendBundle(r *Request) (Answer, error) {
	if s.Bundle == nil {
		return nil, errMissing
	}
	raw, err := s.Bundle(s.reportInput(r.opened))
	if err != nil {
		return nil, err
	}
	return file("application/fhir+json", "lowtide-fhir.json", raw)
}
