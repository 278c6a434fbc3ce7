package web

import (
	"context"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"lowtide/accesslog"
	"lowtide/casebook"
	"lowtide/rule"
	"lowtide/state"
	"lowtide/web/page"
)

// readingTime is how long Rounds waits for cases that are still being read.
const readingTime = 2 * time.Second

// showRounds lists who needs what.
func (s *Server) showRounds(r *Request) (Answer, error) {
	ctx, cancel := context.WithTimeout(r.Context(), readingTime)
	defer cancel()
	now := s.Now()
	rows, pending, err := s.Caseload.Rows(ctx, now)
	if err == nil {
		err = s.note(r, accesslog.Noted{What: accesslog.Listed})
	}
	if err != nil {
		return nil, err
	}
	f := roundsFilter(r)
	if f.Coming, err = s.Caseload.Coming(ctx, rows, now.In(s.Zone)); err != nil {
		return nil, err
	}
	p := page.NewRounds(s.frame(r, "Rounds", "Rounds"), s.listed(r, rows), pending, f, s.whose(r), now, s.Zone)
	if p.Calls, err = s.callsWithoutCase(ctx, r, now); err != nil {
		return nil, err
	}
	return show(http.StatusOK, page.Rounds(p))
}

// whose tells whose patient one is, as an index of [page.Whose]; nil where nobody has an account.
func (s *Server) whose(r *Request) func(state.Person) int {
	if s.Accounts == nil || r.who == nil {
		return nil
	}
	set, a := r.who.set, r.who.account
	return func(p state.Person) int {
		switch {
		case a.InCharge(p.Nurse):
			return 0
		case set.Covered(p.Nurse, p.Team):
			return 1
		}
		return 2
	}
}

// mostCallsOnRounds bounds the calls that stand over the list; the Call desk has them all.
const mostCallsOnRounds = 10

// callsWithoutCase are the open calls that belong to no case, for whoever can go on with them.
func (s *Server) callsWithoutCase(ctx context.Context, r *Request, now time.Time) (lines []page.CallLine, err error) {
	if !mayWrite(r.who, casebook.KindCallTaken) {
		return nil, nil
	}
	open, pending, err := s.Caseload.DeskCalls(ctx)
	if err != nil {
		return nil, err
	}
	for i, o := range open {
		if i == mostCallsOnRounds {
			lines = append(lines, page.CallLine{Href: "/call", Words: strconv.Itoa(len(open)-i) + " more at the Call desk"})
			break
		}
		lines = append(lines, page.CallLineOf(o, page.Clock{Zone: s.Zone, Now: now}))
	}
	if pending > 0 {
		lines = append(lines, page.CallLine{Href: "/call", Words: "Some calls without a case are still being read"})
	}
	return lines, nil
}

// roundsFilter reads the filter from the address; what it does not understand is left out.
func roundsFilter(r *Request) page.RoundsFilter {
	q := r.URL.Query()
	f := page.RoundsFilter{Name: strings.TrimSpace(q.Get("name")), Nurse: q.Get("nurse"), Team: q.Get("team"), Place: q.Get("place"), Ended: q.Get("ended") != ""}
	if l := rule.Level(q.Get("level")); slices.Contains(rule.Levels, l) {
		f.Level = l
	}
	if when := q.Get("when"); slices.Contains(page.Whens, when) {
		f.When = when
	}
	f.Page, _ = strconv.Atoi(q.Get("page"))
	return f
}
