package web

import (
	"net/http"
	"strconv"

	"lowtide/casebook"
	"lowtide/report"
	"lowtide/web/page"
)

// reportInput is what papers of the case are written from.
func (s *Server) reportInput(o opened) report.Input {
	return report.Input{Case: o.c, Review: o.rev, Rules: s.Rules, Equipment: s.Equipment, Demo: s.Demo}
}

// paper writes the paper that the address names; ok is false when there is none, and the answer was given.
func (s *Server) paper(w http.ResponseWriter, r *http.Request, o opened) (*report.Paper, bool) {
	q := r.URL.Query()
	p, err := report.Of(s.reportInput(o), r.PathValue("kind"), q.Get("entry"), q.Get("lang"))
	if err != nil {
		s.missing(w, r)
		return nil, false
	}
	return p, true
}

// showPapers lists the papers of a case.
func (s *Server) showPapers(w http.ResponseWriter, r *http.Request) {
	o, ok := s.openCase(w, r)
	if !ok {
		return
	}
	var kinds []report.Kind
	for _, k := range report.Kinds {
		if report.Has(o.c, k.Name) {
			kinds = append(kinds, k)
		}
	}
	s.render(w, r, http.StatusOK, page.Papers(page.NewPapers(s.caseFrame(r, o, "Papers of "+o.rev.Person.Name), o.c.ID, kinds, s.PDF != nil, s.Bundle != nil, s.Foreign != nil && mayWrite(who(r), casebook.KindNoteWritten))))
}

// showPaper shows a paper as a page, which readers for the blind can read.
func (s *Server) showPaper(w http.ResponseWriter, r *http.Request) {
	o, ok := s.openCase(w, r)
	if !ok {
		return
	}
	if p, ok := s.paper(w, r, o); ok {
		s.render(w, r, http.StatusOK, page.Paper(page.NewPaper(s.caseFrame(r, o, p.Title), o.c.ID, p, r.URL.Query(), s.PDF != nil)))
	}
}

// sendPaper sends a paper as PDF.
func (s *Server) sendPaper(w http.ResponseWriter, r *http.Request) {
	o, ok := s.openCase(w, r)
	if !ok {
		return
	}
	if s.PDF == nil {
		s.missing(w, r)
		return
	}
	p, ok := s.paper(w, r, o)
	if !ok {
		return
	}
	raw, err := s.PDF(p, paperSize(r))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.sendFile(w, "application/pdf", "lowtide-"+p.Kind+".pdf", raw)
}

// sendBundle sends the case as a FHIR Bundle.
func (s *Server) sendBundle(w http.ResponseWriter, r *http.Request) {
	o, ok := s.openCase(w, r)
	if !ok {
		return
	}
	if s.Bundle == nil {
		s.missing(w, r)
		return
	}
	raw, err := s.Bundle(s.reportInput(o))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.sendFile(w, "application/fhir+json", "lowtide-fhir.json", raw)
}

// sendFile sends bytes to be kept as a file. The name tells nothing of the patient: it stays in lists of downloads.
func (s *Server) sendFile(w http.ResponseWriter, kind, name string, raw []byte) {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	w.Header().Set("Content-Length", strconv.Itoa(len(raw)))
	// the status is sent and nothing can be said any more when this fails
	_, _ = w.Write(raw)
}
