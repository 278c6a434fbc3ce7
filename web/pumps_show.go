package web

import (
	"net/http"
	"strings"
	"time"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/report"
	"lowtide/web/page"
)

// ledger lists the pumps as the person may see them: names only of patients on her list.
func (s *Server) ledger(r *Request) (lines []report.PumpLine, pending int, err error) {
	held, pending, err := s.Caseload.Pumps(r.Context(), s.Now())
	if err == nil {
		err = s.note(r, accesslog.Noted{What: accesslog.Listed})
	}
	if err != nil {
		return nil, 0, err
	}
	v := r.who
	for _, h := range held {
		l := report.PumpLine{Held: h, Who: "a patient"}
		if v == nil || v.account.Is(account.Clinical...) {
			l.Who = "a patient who is not on your list"
			if s.onList(v, h.Person) {
				l.Who, l.Named = h.Person.Name, true
			}
		}
		lines = append(lines, l)
	}
	return lines, pending, nil
}

// showPumps shows who has which pump.
func (s *Server) showPumps(r *Request) (Answer, error) {
	lines, pending, err := s.ledger(r)
	if err != nil {
		return nil, err
	}
	find := strings.TrimSpace(r.URL.Query().Get("pump"))
	p := page.Ask{Frame: s.frame(r, "Pumps", "Pumps"), Heading: "Pumps",
		Lead:  []string{"Every pump that was ever given to a patient, with the newest spell first. A pump is free when nobody has it."},
		Forms: []page.AskForm{{Get: true, Action: "/pumps", Submit: "Find", Quiet: true, Fields: []page.AskField{{Name: "pump", Label: "Number of a pump", Type: "text", Value: find}}}}}
	if pending > 0 {
		p.Lead = append(p.Lead, "Cases are still being read; pumps may be missing.")
	}
	if s.PDF != nil {
		p.Links = append(p.Links, page.Link{Href: "/pumps/pdf?size=A4", Words: "PDF, A4"}, page.Link{Href: "/pumps/pdf?size=Letter", Words: "PDF, Letter"})
	}
	t := page.AskTable{Caption: "Pumps", Head: report.PumpHead, Empty: "No pump was given to anybody."}
	k := page.Clock{Zone: s.zone(), Now: s.Now()}
	for _, l := range lines {
		if find != "" && !strings.Contains(strings.ToLower(l.Held.Pump), strings.ToLower(find)) {
			continue
		}
		if len(t.Rows) == mostPumps {
			p.Lead = append(p.Lead, "There are more than are shown: type more of the number.")
			break
		}
		var row []page.AskCell
		for i, c := range l.Cells(k.At) {
			cell := page.AskCell{Text: c}
			if i == 2 && l.Named {
				cell.Href = page.CasePath(l.Held.Case)
			}
			row = append(row, cell)
		}
		t.Rows = append(t.Rows, row)
	}
	p.Tables = append(p.Tables, t)
	return show(http.StatusOK, page.AskPage(p))
}

// mostPumps is how many lines the page shows.
const mostPumps = 300

// sendPumps sends the ledger as PDF.
func (s *Server) sendPumps(r *Request) (Answer, error) {
	if s.PDF == nil {
		return nil, errMissing
	}
	lines, _, err := s.ledger(r)
	if err != nil {
		return nil, err
	}
	raw, err := s.PDF(report.Ledger(lines, s.Now(), s.zone(), s.Demo), paperSize(r))
	if err != nil {
		return nil, err
	}
	return file("application/pdf", "lowtide-pumps.pdf", raw)
}

func (s *Server) zone() *time.Location {
	if s.Zone == nil {
		return time.UTC
	}
	return s.Zone
}
