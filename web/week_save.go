package web

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/week"
)

// mostPlaceKm is the farthest from the middle of the sketch map.
const mostPlaceKm = 500

// weekForm reads the fields of one of the week's forms.
type weekForm struct {
	storeForm
	now *weekNow
}

// minute reads a time of the day; nothing typed is 0.
func (f *weekForm) minute(name, label string) int {
	v := strings.TrimSpace(f.form.Get(name))
	if v == "" {
		return 0
	}
	t, err := time.Parse("15:04", v)
	if err != nil {
		f.wrong(fmt.Sprintf("%s: %q is no time of the day.", label, v), "Write it as 08:30.")
	}
	return t.Hour()*60 + t.Minute()
}

func (f *weekForm) date(name, label string) string {
	v := strings.TrimSpace(f.form.Get(name))
	if _, err := time.Parse(time.DateOnly, v); err != nil {
		f.wrong(fmt.Sprintf("%s: %q is not a day.", label, v), "Choose a day.")
	}
	return v
}

// ahead reads a day that is not over.
func (f *weekForm) ahead(name, label string) string {
	v, today := f.date(name, label), f.now.ask.Now.Format(time.DateOnly)
	if _, err := time.Parse(time.DateOnly, v); err == nil && v < today {
		f.wrong(fmt.Sprintf("%s: %s is over; today is %s.", label, v, today), "Choose today or a later day.")
	}
	return v
}

// words reads a list with commas between.
func (f *weekForm) words(name, label string) (out []string) {
	for w := range strings.SplitSeq(f.text(name, label, 400, false), ",") {
		if w = strings.TrimSpace(w); w != "" {
			out = append(out, w)
		}
	}
	return out
}

func (f *weekForm) days(name string) (out []int) {
	for _, v := range f.form[name] {
		if d, err := strconv.Atoi(v); err == nil && d >= 0 && d <= 6 {
			out = append(out, d)
		}
	}
	return out
}

func (f *weekForm) optional(name, label string, most float64) *float64 {
	if strings.TrimSpace(f.form.Get(name)) == "" {
		return nil
	}
	x := f.number(name, label, -most, most)
	return &x
}

func (f *weekForm) nurse(name string) string {
	v := f.text(name, "Who", 80, true)
	if _, ok := f.now.roster.Nurse(v); v != "" && !ok {
		f.wrong(fmt.Sprintf("%q has no working hours in the plan.", v), "Choose somebody of the list.")
	}
	return v
}

func (f *weekForm) patient(name string) string {
	v := f.text(name, "Patient", 80, true)
	if !slices.ContainsFunc(f.now.cases, func(c week.Case) bool { return c.ID == v }) && v != "" {
		f.wrong("This patient needs no visits, or is not on your list.", "Choose somebody of the list.")
	}
	return v
}

// weekKinds read the forms. Those of the second list belong to the page of people, places and roads.
var weekKinds = map[string]func(f *weekForm) casebook.Body{
	"/week/off": func(f *weekForm) casebook.Body {
		who := f.form.Get("nurse")
		if who != week.Everybody {
			who = f.nurse("nurse")
		}
		b := week.Off{Account: who, From: f.date("from", "From"), To: f.ahead("to", "To"), FromMin: f.minute("at", "From this time")}
		if b.To < b.From {
			f.wrong("It ends before it begins.", "Choose a later last day.")
		}
		return b
	},
	"/week/extra": func(f *weekForm) casebook.Body {
		b := week.Extra{Case: f.patient("case"), Day: f.ahead("day", "Day"), Why: f.text("why", "For what", 200, true)}
		if f.form.Get("minutes") != "" {
			b.Minutes = int(f.number("minutes", "Minutes", 5, 480))
		}
		return b
	},
	"/week/closed": func(f *weekForm) casebook.Body {
		b := week.Closed{Day: f.ahead("day", "Day"), From: f.text("from", "To or from", 400, true), To: f.text("to", "and", 400, false), Extra: f.number("extra", "Minutes longer", 1, 600)}
		if b.From != "" && week.Key(b.From) == week.Key(b.To) {
			f.wrong(fmt.Sprintf("The road goes from %s to the same place.", b.From), "Choose two places, or every road to one.")
		}
		return b
	},
	"/week/fix": func(f *weekForm) casebook.Body {
		return week.Fixed{Case: f.patient("case"), Day: f.ahead("day", "Day"), Account: f.nurse("nurse"), At: f.minute("at", "At"), Lifted: f.form.Get("free") != ""}
	},
	"/week/nurse": func(f *weekForm) casebook.Body {
		b := week.Nurse{Account: f.text("account", "Account", 80, true), Name: f.text("name", "Name", 80, true), Base: f.text("base", "Starts from", 400, false), Skills: f.words("skills", "Skills"), Team: f.text("team", "Team", 80, false), Covers: f.words("covers", "Covers"), Gone: f.form.Get("gone") != ""}
		from, to := f.minute("from", "From"), f.minute("to", "To")
		for _, d := range f.days("days") {
			b.Hours = append(b.Hours, week.Hours{Weekday: d, From: from, To: to})
		}
		if len(b.Hours) > 0 && to <= from {
			f.wrong("The working hours end before they begin.", "Write when she begins and when she ends.")
		}
		return b
	},
	"/week/place": func(f *weekForm) casebook.Body {
		b := week.Place{Name: f.text("name", "Place", 400, true), East: f.optional("east", "Kilometres east", mostPlaceKm), North: f.optional("north", "Kilometres north", mostPlaceKm), Lat: f.optional("lat", "Latitude", 90), Lon: f.optional("lon", "Longitude", 180)}
		if b.Lat != nil && b.Lon != nil && *b.Lat == 0 && *b.Lon == 0 {
			f.wrong("0° and 0° is in the sea off Africa.", "Write the degrees of the place, or leave both empty and tap the sketch map.")
		}
		if !b.Located() && len(f.problems) == 0 {
			f.wrong("It does not say where the place is.", "Write kilometres east and north, or degrees of latitude and longitude.")
		}
		return b
	},
	"/week/roads": func(f *weekForm) casebook.Body {
		b := f.now.roster.Roads
		b.Detour = f.number("detour", "Roads are longer by", 1, 5)
		legs, bad := week.ReadLegs(strings.NewReader(f.form.Get("legs")))
		for _, p := range bad {
			f.wrong("Travel times, "+p+".", "")
		}
		if len(legs) > 0 {
			b.Legs = legs
		}
		return b
	},
	"/week/wish": func(f *weekForm) casebook.Body {
		b := week.Wish{Case: f.patient("case"), Weekdays: f.days("days"), From: f.minute("from", "Not before"), To: f.minute("to", "At the latest"), Skills: f.words("skills", "Skills"), Not: f.words("not", "Accounts")}
		if b.From > 0 && b.To == 0 {
			b.To = f.now.roster.Settings.DayTo
		}
		if b.To > 0 && b.To < b.From {
			f.wrong("Nobody can come after "+week.Clock(b.From)+" and before "+week.Clock(b.To)+".", "Write an earlier first or a later last time.")
		}
		return b
	},
	"/week/settings": func(f *weekForm) casebook.Body {
		b := week.Settings{FullPct: f.number("full_pct", "Chance of a full canister", 0.1, 90), SlackH: f.number("slack_h", "Hours of slack", 0, 72), ChangeMin: f.number("change_min", "Minutes for a change", 5, 300), WoundMin: f.number("wound_min", "Minutes for a wound", 0, 120), MeasureMin: f.number("measure_min", "Minutes for measuring", 0, 120), OtherMin: f.number("other_min", "Minutes for anything else", 5, 300),
			DayFrom: f.minute("day_from", "From"), DayTo: f.minute("day_to", "To"), PromiseMin: int(f.number("promise_min", "Minutes before the patient is told", 5, 480)), SameMin: f.number("same_min", "Minutes for the same nurse", 1, 600), GuessMin: f.number("guess_min", "Minutes to an unknown place", 1, 240)}
		if b.DayTo <= b.DayFrom {
			f.wrong("The hours for visits end before they begin.", "Write a later end.")
		}
		return b
	},
}

// weekOwn are the forms of the Week itself; the others belong to people, places and roads.
var weekOwn = []string{"/week/off", "/week/extra", "/week/closed", "/week/fix"}

// saveWeek writes one of the week's forms into its register.
func (s *Server) saveWeek(r *Request) (Answer, error) {
	w, err := s.thisWeek(r.Context(), false)
	if err != nil {
		return nil, err
	}
	s.weekFor(r, w)
	f := &weekForm{storeForm{s: s, form: r.form}, w}
	for _, p := range r.broken {
		f.wrong(p.Message, p.Remedy)
	}
	body := weekKinds[r.URL.Path](f)
	own := slices.Contains(weekOwn, r.URL.Path)
	if len(f.problems) > 0 {
		if own {
			return s.renderWeek(r, http.StatusUnprocessableEntity, f.problems)
		}
		return s.renderWeekSet(r, http.StatusUnprocessableEntity, f.problems)
	}
	bodies := []casebook.Body{body}
	if fix, ok := body.(week.Fixed); ok {
		if from := r.form.Get("from"); from != "" && from != fix.Day {
			bodies = append([]casebook.Body{week.Fixed{Case: fix.Case, Day: from, Lifted: true}}, bodies...)
		}
	}
	if err := s.keepWeek(r.Context(), s.author(r), bodies...); err != nil {
		return nil, err
	}
	if own {
		return goTo("/week?saved=1")
	}
	return goTo("/week/set?saved=1")
}

// saveWeekPlan keeps the plan that was on the page: what patients and nurses are told.
func (s *Server) saveWeekPlan(r *Request) (Answer, error) {
	s.weekly.Lock()
	kept := s.weekly.weekKept
	s.weekly.Unlock()
	if kept.key == "" || kept.key != r.form.Get("plan") {
		return nil, refuse(http.StatusConflict, "The plan has changed since this page was made.", "Nothing was saved. Open the week again and look at the new plan.")
	}
	from := kept.plan.Start.Format(time.DateOnly)
	if err := s.keepWeek(r.Context(), s.author(r), week.Kept{From: from, Visits: kept.plan.Promises()}); err != nil {
		return nil, err
	}
	return goTo("/week?saved=1")
}

// keepWeek appends to the register; again when somebody was faster.
func (s *Server) keepWeek(ctx context.Context, author string, bodies ...casebook.Body) error {
	reg := s.weekRegister()
	for try := 0; ; try++ {
		known, head, err := reg.Entries(ctx)
		if err != nil {
			return err
		}
		now := s.Now()
		for _, e := range known {
			if !e.At.Before(now) && e.At.Sub(now) < time.Second {
				now = e.At.Add(time.Microsecond) // what is written now replaces what was written in this moment
			}
		}
		var list []casebook.Entry
		for i, b := range bodies {
			id, err := casebook.NewID(now, s.Random)
			if err != nil {
				return err
			}
			list = append(list, week.NewEntry(id, now.Add(time.Duration(i)*time.Microsecond), author, b))
		}
		if _, err = reg.Append(ctx, head, list...); try < maxTries && errors.Is(err, casebook.ErrStale) {
			continue
		}
		return err
	}
}

// calendarToken makes a secret address.
func (s *Server) calendarToken() (string, error) {
	var b [20]byte
	if _, err := io.ReadFull(s.Random, b[:]); err != nil {
		return "", err
	}
	return hex.EncodeToString(b[:]), nil
}
