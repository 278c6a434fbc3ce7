package web

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"net/http"
	"slices"
	"time"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/casebook"
	"lowtide/state"
	"lowtide/web/page"
	"lowtide/week"
)

const (
	// weekDays is how many days the Week shows.
	weekDays = 7
	// weekEffort is how much the search does at once: rounds times visits. A small service gets a better plan than it can
	// notice, a large one a page in time.
	weekEffort = 150000
	// weekStep is how long one plan stands while nothing is written: times of the day move no faster.
	weekStep = 5 * time.Minute
)

// weekKept is the newest plan, so that a page and the form behind it speak of the same one.
type weekKept struct {
	key    string
	plan   *week.Plan
	replan *week.Replan
}

// weekNow is all that the pages of the week show.
type weekNow struct {
	roster  *week.Roster
	head    string
	cases   []week.Case
	seen    []week.Seen
	lessons week.Lessons
	pending int
	ask     week.Ask
	weekKept
}

// thisWeek reads what planning needs, and plans. Planned anew regards nothing that was told.
func (s *Server) thisWeek(ctx context.Context, anew bool) (*weekNow, error) {
	ctx, cancel := context.WithTimeout(ctx, readingTime)
	defer cancel()
	now := s.Now().In(s.Zone)
	out := &weekNow{}
	entries, head, err := s.weekRegister().Entries(ctx)
	if err != nil {
		return nil, err
	}
	out.roster, out.head = week.Fold(entries), head
	if out.cases, out.seen, out.pending, err = s.Caseload.WeekCases(ctx, now); err != nil {
		return nil, err
	}
	if s.Roads != nil {
		out.roster.Measured, out.roster.RoadNote = s.Roads(ctx, out.roster.InDegrees(out.cases))
	}
	out.lessons = out.roster.LearnFrom(out.seen, s.Zone)
	at := now.Truncate(weekStep)
	rounds := min(4000, max(200, weekEffort/max(1, 3*len(out.cases))))
	out.ask = week.Ask{Cases: out.cases, Now: at, Start: at, Days: weekDays, Lessons: out.lessons, Seed: 1, Rounds: rounds, Bound: true}
	told := !anew && slices.ContainsFunc(out.roster.Promises, func(p week.Promise) bool { return p.Day >= at.Format(time.DateOnly) })
	what, err := json.Marshal([]any{head, out.cases, out.lessons, at, told, out.roster.Measured, out.roster.RoadNote})
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(what)
	key := hex.EncodeToString(sum[:])
	s.weekly.Lock()
	defer s.weekly.Unlock()
	if s.weekly.key != key {
		s.weekly.weekKept = weekKept{key: key}
		if told {
			s.weekly.replan = out.roster.Again(out.ask)
			s.weekly.plan = s.weekly.replan.Whole()
		} else {
			s.weekly.plan = out.roster.Make(out.ask)
		}
	}
	out.weekKept = s.weekly.weekKept
	return out, nil
}

func (s *Server) weekRegister() casebook.Register {
	return casebook.Register{Book: s.Caseload.Book, ID: week.Register}
}

// stranger stands for a patient who is not on the person's list.
const stranger = "Another patient"

// weekFor hides the patients who are not on the person's list.
func (s *Server) weekFor(r *Request, w *weekNow) {
	hidden := map[string]bool{}
	var cases []week.Case
	for _, c := range w.cases {
		if !s.onList(r.who, state.Person{Nurse: c.Nurse, Team: c.Team}) {
			hidden[c.ID] = true
			continue
		}
		cases = append(cases, c)
	}
	w.cases = cases
	if len(hidden) == 0 {
		return
	}
	plan := *w.plan
	plan.Visits, plan.Left = slices.Clone(plan.Visits), slices.Clone(plan.Left)
	for i := range plan.Visits {
		if v := &plan.Visits[i]; hidden[v.Case] {
			v.Name, v.Place, v.For = stranger, "", nil
		}
	}
	for i := range plan.Left {
		if v := &plan.Left[i]; hidden[v.Case] {
			v.Name, v.Place, v.For = stranger, "", nil
		}
	}
	w.plan = &plan
	if w.replan != nil {
		again := *w.replan
		again.Calls = slices.Clone(again.Calls)
		for i := range again.Calls {
			if hidden[again.Calls[i].Case] {
				again.Calls[i].Name = stranger
			}
		}
		w.replan = &again
	}
}

// showWeek shows who goes where in the days ahead.
func (s *Server) showWeek(r *Request) (Answer, error) { return s.renderWeek(r, http.StatusOK, nil) }

func (s *Server) renderWeek(r *Request, status int, problems []page.AskProblem) (Answer, error) {
	w, err := s.thisWeek(r.Context(), r.URL.Query().Get("anew") != "")
	if err == nil {
		err = s.note(r, accesslog.Noted{What: accesslog.Listed})
	}
	if err != nil {
		return nil, err
	}
	s.weekFor(r, w)
	frame := s.frame(r, "Week", "Week")
	if r.URL.Query().Get("saved") != "" {
		frame.Said = "Saved."
	}
	p := page.NewWeek(frame, w.roster, w.plan, w.replan, r.who.account.Is(account.Nurse))
	p.Problems, p.Hash = problems, w.key
	if w.pending > 0 {
		p.Notes = append(p.Notes, "Some cases are still being read: their visits are not in the plan yet. Load the page again in a moment.")
	}
	p.Forms = page.WeekForms(w.roster, w.cases, p.Dates)
	p.Typed(r.URL.Path, r.form)
	p.Brings = page.WeekBrings(w.roster, w.plan, w.seen, w.ask.Cases, s.Zone)
	p.Links = []page.Link{{Href: "/week/day", Words: "My day"}, {Href: "/week/set", Words: "People, places and roads"}, {Href: "/week/weigh", Words: "Road or the same nurse"}, {Href: "/week/calendar", Words: "In my calendar"}}
	if w.replan != nil {
		p.Links = append(p.Links, page.Link{Href: "/week?anew=1", Words: "Plan anew, whatever was told"})
	}
	return show(status, page.Week(p))
}

// aloneDays is how far ahead somebody who works alone looks: a visit may be due today and have time until tomorrow.
const aloneDays = 3

// showWeekDay shows the person's own day in order.
func (s *Server) showWeekDay(r *Request) (Answer, error) {
	p, err := s.myDay(r)
	if err != nil {
		return nil, err
	}
	return show(http.StatusOK, page.WeekDay(p))
}

// sendWeekDay sends the person's own day as one file that needs nothing else.
func (s *Server) sendWeekDay(r *Request) (Answer, error) {
	p, err := s.myDay(r)
	if err != nil {
		return nil, err
	}
	p.Saved = s.Now().In(s.Zone).Format("Mon 2 Jan 15:04")
	var b bytes.Buffer
	if err := page.WeekDayFile(p).Render(r.Context(), &b); err != nil {
		return nil, err
	}
	return content{http.StatusOK, "text/html; charset=utf-8", "my-day-" + p.Date + ".html", b.Bytes()}, nil
}

// myDay is the person's own day. Where nobody has working hours yet, she is taken to work alone.
func (s *Server) myDay(r *Request) (page.WeekDayPage, error) {
	w, err := s.thisWeek(r.Context(), false)
	if err == nil {
		err = s.note(r, accesslog.Noted{What: accesslog.Listed})
	}
	if err != nil {
		return page.WeekDayPage{}, err
	}
	alone := len(w.roster.Nurses) == 0
	if alone {
		w.cases = slices.DeleteFunc(slices.Clone(w.cases), func(c week.Case) bool { return !s.onList(r.who, state.Person{Nurse: c.Nurse, Team: c.Team}) })
		ask := w.ask
		ask.Cases, ask.Days, ask.Bound = w.cases, aloneDays, false
		w.roster = w.roster.Alone(s.author(r))
		w.plan = w.roster.Make(ask)
	}
	s.weekFor(r, w)
	date := w.ask.Now.Format(time.DateOnly)
	if d := r.URL.Query().Get("day"); slices.ContainsFunc(w.plan.Visits, func(v week.Placed) bool { return v.Date == d }) {
		date = d
	}
	me, ok := w.roster.Nurse(s.author(r))
	if !ok {
		me = week.Nurse{Account: s.author(r), Name: s.author(r)}
	}
	p := page.NewWeekDay(s.frame(r, "My day", "Week"), w.plan, me, date, alone)
	if !ok {
		p.Sentence = "You have no working hours in the plan: enter them under People, places and roads."
	}
	return p, nil
}

// weighPrices are what the nurse of last time is worth on the page that compares, in minutes of road.
var weighPrices = []float64{1, 30, 60, 120, 240}

// showWeigh shows what it costs in road that the same nurse comes.
func (s *Server) showWeigh(r *Request) (Answer, error) {
	w, err := s.thisWeek(r.Context(), false)
	if err == nil {
		err = s.note(r, accesslog.Noted{What: accesslog.Listed})
	}
	if err != nil {
		return nil, err
	}
	prices := slices.Clone(weighPrices)
	if set := w.roster.Settings.SameMin; !slices.Contains(prices, set) {
		prices = append(prices, set)
		slices.Sort(prices)
	}
	ask := w.ask
	ask.Bound, ask.Rounds = false, ask.Rounds/2
	return show(http.StatusOK, page.AskPage(page.NewWeekWeigh(s.frame(r, "Road or the same nurse", "Week"), w.roster.Weigh(ask, prices), w.roster.Settings.SameMin)))
}

// showWeekSet shows people, places and roads.
func (s *Server) showWeekSet(r *Request) (Answer, error) {
	return s.renderWeekSet(r, http.StatusOK, nil)
}

func (s *Server) renderWeekSet(r *Request, status int, problems []page.AskProblem) (Answer, error) {
	w, err := s.thisWeek(r.Context(), false)
	if err == nil {
		err = s.note(r, accesslog.Noted{What: accesslog.Listed})
	}
	if err != nil {
		return nil, err
	}
	s.weekFor(r, w)
	frame := s.frame(r, "People, places and roads", "Week")
	if r.URL.Query().Get("saved") != "" {
		frame.Said = "Saved."
	}
	p := page.NewWeekSet(frame, w.roster, w.lessons, w.cases)
	p.Problems = problems
	p.Typed(r.URL.Path, r.form)
	return show(status, page.WeekSet(p))
}
