package web

import (
	"net/http"
	"strconv"
	"time"

	"lowtide/casebook"
	"lowtide/report"
	"lowtide/web/page"
)

// Paper kinds as addresses name them, in the order of the list.
var paperKinds = []page.PaperKind{
	{Kind: "visit-note", Words: "Visit note", For: "the newest visit on one page"},
	{Kind: "progress", Words: "Progress report", For: "order, delivered therapy, wounds with charts, open findings; two pages where they suffice"},
	{Kind: "handover", Words: "Handover sheet", For: "what is set, what is in the wounds, what is due, whom to call"},
	{Kind: "prescriber-message", Words: "Message to the prescriber", For: "situation, background, assessment, request"},
	{Kind: "payer-month", Words: "Summary of the month for the payer", For: "what the payer's policy asks for, with what is missing first"},
	{Kind: "leaflet", Words: "Leaflet for the patient", For: "plain words, large print, in English and Spanish"},
}

// reportInput is what papers of the case are written from.
func (s *Server) reportInput(o opened) report.Input {
	return report.Input{Case: o.c, Review: o.rev, Rules: s.Rules, Equipment: s.Equipment, Demo: s.Demo,
		Say: func(b casebook.Body, zone *time.Location) (string, []report.Pair) {
			said := page.Say(b, page.Clock{Zone: zone, Now: o.now})
			var parts []report.Pair
			for _, p := range said.Parts {
				parts = append(parts, report.Pair{Label: p.Label, Text: p.Text})
			}
			return said.Title, parts
		}}
}

// paper writes the paper that the address names; ok is false when there is none, and the answer was given.
func (s *Server) paper(w http.ResponseWriter, r *http.Request, o opened) (*report.Paper, bool) {
	in := s.reportInput(o)
	switch r.PathValue("kind") {
	case "visit-note":
		if p, ok := report.VisitNote(in, r.URL.Query().Get("entry")); ok {
			return p, true
		}
	case "progress":
		return report.Progress(in), true
	case "handover":
		return report.Handover(in), true
	case "prescriber-message":
		return report.PrescriberMessage(in), true
	case "payer-month":
		if p, ok := report.PayerMonth(in); ok {
			return p, true
		}
	case "leaflet":
		lang := r.URL.Query().Get("lang")
		if lang == "" {
			lang = report.LeafletLanguages[0]
		}
		limit, ok := s.Rules.Number("VIS-OFF-01", "limit_h", o.now)
		if !ok {
			limit = 2 // the rule is switched off: what is taught without it
		}
		if p, err := report.Leaflet(in, lang, limit); err == nil {
			return p, true
		}
	}
	s.missing(w, r)
	return nil, false
}

// showPapers lists the papers of a case.
func (s *Server) showPapers(w http.ResponseWriter, r *http.Request) {
	o, ok := s.openCase(w, r)
	if !ok {
		return
	}
	var kinds []page.PaperKind
	for _, k := range paperKinds {
		if k.Kind == "visit-note" && len(o.c.Changes) == 0 || k.Kind == "payer-month" && o.c.Payer == nil {
			continue // no visit, no note of it; no payer, no month
		}
		kinds = append(kinds, k)
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
