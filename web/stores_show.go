package web

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/state"
	"lowtide/web/page"
)

// showStores shows the agency's stock.
func (s *Server) showStores(r *Request) (Answer, error) {
	return s.renderStores(r, http.StatusOK, nil, "")
}

func (s *Server) renderStores(r *Request, status int, problems []page.AskProblem, said string) (Answer, error) {
	ctx, cancel := context.WithTimeout(r.Context(), readingTime)
	defer cancel()
	now := s.Now()
	st, err := s.Caseload.Stores(ctx, now, s.Zone)
	if err != nil {
		return nil, err
	}
	a := r.who.account
	frame := s.frame(r, "Stores", "Stores")
	frame.Said = said
	if r.URL.Query().Get("saved") != "" && said == "" {
		frame.Said = "Saved."
	}
	p := page.NewStores(frame, st, s.Equipment, page.Clock{Zone: s.Zone, Now: now}, a.Is(account.Nurse, account.Stores), a.Is(account.Clinical...))
	p.Problems = problems
	return show(status, page.Stores(p))
}

// showLot lists the patients who got a lot: those on the person's list by name, the others counted.
func (s *Server) showLot(r *Request) (Answer, error) {
	lot := strings.TrimSpace(r.URL.Query().Get("lot"))
	p := page.Ask{Frame: s.frame(r, "Who got a lot", "Stores"), Heading: "Who got a lot", Links: []page.Link{{Href: "/stores", Words: "Back to Stores"}},
		Forms: []page.AskForm{{Action: "/stores/lot", Get: true, Submit: "Look it up", Fields: []page.AskField{{Name: "lot", Label: "Lot", Type: "text", Value: lot, Needed: true}}}}}
	if lot == "" || len(lot) > 60 {
		return show(http.StatusOK, page.AskPage(p))
	}
	now := s.Now()
	given, unread, err := s.Caseload.Who(r.Context(), "", lot, now)
	if err != nil {
		return nil, err
	}
	rows, _, err := s.Caseload.Rows(r.Context(), now)
	if err == nil {
		err = s.note(r, accesslog.Noted{What: accesslog.Listed})
	}
	if err != nil {
		return nil, err
	}
	people := map[string]state.Person{}
	for _, row := range rows {
		people[row.Case] = row.Person
	}
	t := page.AskTable{Caption: "Patients on your list who got lot " + lot, Head: []string{"Patient", "Item", "Pieces with them by the record", "Used at visits", "Last entry"}, Empty: "Nobody on your list got this lot, by the record."}
	others := 0
	for _, g := range given {
		person, ok := people[g.Case]
		if !ok || !s.onList(r.who, person) {
			others++
			continue
		}
		t.Rows = append(t.Rows, []page.AskCell{{Text: person.Name, Href: page.LogPath(g.Case, g.Entries[len(g.Entries)-1])}, {Text: s.Equipment.ItemWords(g.Item)}, {Text: strconv.Itoa(g.Count)}, {Text: strconv.Itoa(g.Used)}, {Text: state.Clock(s.Zone, g.Last)}})
	}
	p.Tables = []page.AskTable{t}
	if others > 0 {
		p.Lead = append(p.Lead, fmt.Sprintf("%d more, not on your list: tell the nurses of the other teams.", others))
	}
	if unread > 0 {
		p.Lead = append(p.Lead, fmt.Sprintf("Cannot tell for %d more: they are not read yet, or cannot be. Load the page again in a moment; what cannot be read stands on Rounds.", unread))
	}
	p.Lead = append(p.Lead, "Only what was recorded with its lot is found. The same lot written in another way is not.")
	return show(http.StatusOK, page.AskPage(p))
}
