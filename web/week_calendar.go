package web

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"lowtide/accesslog"
	"lowtide/web/page"
	"lowtide/week"
)

// showCalendar says how a calendar program gets the person's visits.
func (s *Server) showCalendar(r *Request) (Answer, error) { return s.renderCalendar(r, "") }

func (s *Server) renderCalendar(r *Request, address string) (Answer, error) {
	entries, _, err := s.weekRegister().Entries(r.Context())
	if err != nil {
		return nil, err
	}
	open := slices.ContainsFunc(week.Fold(entries).Calendars, func(c week.Calendar) bool { return c.Account == s.author(r) })
	p := page.Ask{Frame: s.frame(r, "In my calendar", "Week"), Heading: "Your visits in a calendar", Links: []page.Link{{Href: "/week", Words: "Back to the week"}},
		Lead: []string{"A calendar program can fetch your visits from a secret address. Whoever has the address sees them: a new address ends the old one."}}
	if address != "" {
		p.Lead = append(p.Lead, "Your address, shown only now:", address)
	}
	p.Forms = []page.AskForm{{Title: "A new address", Action: "/week/calendar", Submit: "Make an address", Fields: []page.AskField{{Name: "names", Label: "Names", Type: "ticks", Options: []page.Option{{Value: "yes", Words: "Write names and places of patients into it. Your calendar's provider can then read them."}}}}}}
	if open {
		p.Forms = append(p.Forms, page.AskForm{Title: "End it", Action: "/week/calendar", Submit: "End the address", Quiet: true, Fields: []page.AskField{{Name: "end", Type: "hidden", Value: "yes"}}})
	}
	return show(http.StatusOK, page.AskPage(p))
}

// saveCalendar makes a secret address, or ends it.
func (s *Server) saveCalendar(r *Request) (Answer, error) {
	c := week.Calendar{Account: s.author(r), Names: r.form.Get("names") != "", Ended: r.form.Get("end") != ""}
	if c.Ended {
		if err := s.keepWeek(r.Context(), s.author(r), c); err != nil {
			return nil, err
		}
		return goTo("/week/calendar")
	}
	token, err := s.calendarToken()
	if err != nil {
		return nil, err
	}
	c.Hash = week.TokenHash(token)
	if err := s.keepWeek(r.Context(), s.author(r), c); err != nil {
		return nil, err
	}
	scheme := "http://"
	if s.Secure {
		scheme = "https://"
	}
	return s.renderCalendar(r, scheme+r.Host+"/calendar/"+token+".ics")
}

// sendCalendar answers a calendar program that knows a secret address.
func (s *Server) sendCalendar(r *Request) (Answer, error) {
	token, ok := strings.CutSuffix(r.PathValue("token"), ".ics")
	if !ok || len(token) != 40 {
		return nil, errMissing
	}
	w, err := s.thisWeek(r.Context(), false)
	if err != nil {
		return nil, err
	}
	hash := week.TokenHash(token)
	i := slices.IndexFunc(w.roster.Calendars, func(c week.Calendar) bool { return c.Hash == hash })
	if i < 0 {
		return nil, errMissing
	}
	c := w.roster.Calendars[i]
	if err := s.note(r, accesslog.Noted{What: accesslog.Listed, Account: c.Account}); err != nil {
		return nil, err
	}
	return content200("text/calendar; charset=utf-8", week.ICal(w.plan, c.Account, c.Names, s.Now().Truncate(time.Minute)))
}

// content200 is bytes that the browser may show.
func content200(kind string, raw []byte) (Answer, error) {
	return content{http.StatusOK, kind, "", raw}, nil
}
