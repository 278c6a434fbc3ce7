package web

import (
	"net/http"
	"strings"

	"lowtide/accesslog"
	"lowtide/caseload"
	"lowtide/web/page"
)

// mostOthers is how many patients the list shows; a name narrows it.
const mostOthers = 100

// showOthers finds patients that are not on the person's list: their names and teams, nothing clinical.
func (s *Server) showOthers(r *Request) (Answer, error) {
	name := strings.TrimSpace(r.URL.Query().Get("name"))
	p := page.Ask{Frame: s.frame(r, "Other patients", "Other patients"), Heading: "Patients who are not on your list",
		Lead:  []string{"Type a part of the name. Opening a case asks for your reason."},
		Forms: []page.AskForm{{Get: true, Action: "/others", Submit: "Find", Quiet: true, Fields: []page.AskField{{Name: "name", Label: "Name", Type: "text", Value: name}}}}}
	if name != "" {
		rows, pending, err := s.Caseload.Rows(r.Context(), s.Now())
		if err == nil {
			err = s.note(r, accesslog.Noted{What: accesslog.Listed})
		}
		if err != nil {
			return nil, err
		}
		t := page.AskTable{Caption: "Patients", Head: []string{"Name", "Team", "Nurse in charge"}, Empty: "Nobody of that name is outside your list."}
		for _, row := range rows {
			if s.onList(r.who, row.Person) || !strings.Contains(strings.ToLower(row.Person.Name), strings.ToLower(name)) {
				continue
			}
			if len(t.Rows) == mostOthers {
				p.Lead = append(p.Lead, "There are more than are shown: type more of the name.")
				break
			}
			t.Rows = append(t.Rows, []page.AskCell{{Text: row.Person.Name, Href: page.CasePath(row.Case)}, {Text: row.Person.Team}, {Text: row.Person.Nurse}})
		}
		if pending > 0 {
			p.Lead = append(p.Lead, "Some cases are still being read: ask again in a moment.")
		}
		p.Tables = []page.AskTable{t}
	}
	return show(http.StatusOK, page.AskPage(p))
}

// listed keeps the rows of the person's list.
func (s *Server) listed(r *Request, rows []*caseload.Row) []*caseload.Row {
	if s.Accounts == nil {
		return rows
	}
	out := rows[:0:0]
	for _, row := range rows {
		// Whose case it is may be what cannot be read: then everybody is told that it cannot.
		if row.Failed || s.onList(r.who, row.Person) {
			out = append(out, row)
		}
	}
	return out
}
