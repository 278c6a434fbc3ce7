package page

import (
	"fmt"
	"time"

	"lowtide/caseload"
	"lowtide/rule"
	"lowtide/state"
	"lowtide/unit"
)

// RoundsFilter is what the address of Rounds asks for.
type RoundsFilter struct {
	Nurse, Team, Place string
	// Name is a part of the patient's name.
	Name string
	// Level is the most urgent one of a patient, or with When that of a finding.
	Level rule.Level
	// When is one of [Whens], or "".
	When string
	// Ended shows the cases whose therapy has ended, and no others.
	Ended bool
	Page  int
	// Coming says who comes next to a case, by the plan of the week.
	Coming map[string]caseload.Promise
}

// Whens are the days to ask for: three days, or one of them.
var Whens = []string{"3days", "overdue", "today", "tomorrow", "after"}

// RoundsPage is the list of who needs what.
type RoundsPage struct {
	Frame
	// Reading says that cases are still being read; Total counts what is listed; Hidden what is not.
	Reading, Total, Hidden string
	// Calls are open calls that belong to no case: no row tells of them.
	Calls        []CallLine
	Levels, Days []Pick
	Form         RoundsForm
	Groups       []RoundsGroup
	Empty        string
	// ThreeDays is the same list by day, or back by level.
	ThreeDays      Link
	Previous, Next string
	PageWords      string
}

// Pick is a quick filter with its count.
type Pick struct {
	Href, Words string
	Count       int
	On          bool
	// Form is the shape of a level.
	Form string
}

// RoundsForm is the form of the filters.
type RoundsForm struct {
	Open               bool
	Name               string
	Summary            string
	Nurse, Team        Choice
	Place, Level, When Choice
	Ended              bool
	Clear              string
}

// Choice is one select of a form; FreeText asks for a text field because there are too many options.
type Choice struct {
	Name, Label, Value string
	Options            []Option
	FreeText           bool
}

// Option is one line of a select.
type Option struct {
	Value, Words string
	Selected     bool
}

// Whose are the parts of the list, in its order: the person's own patients, those of her teams, and those who are on no
// nurse's list and so on everybody's.
var Whose = []string{"Yours", "Your teams'", "On nobody's list"}

// RoundsGroup is a part of the list under one heading.
type RoundsGroup struct {
	Title string
	Note  string
	Rows  []RoundsRow
}

// RoundsRow is one patient: who and where, the one sentence that decides with its button, and three small pictures.
type RoundsRow struct {
	Href, Name, Where string
	// Form is the shape that the level gives the row; "calm" is that nothing is asked.
	Form, Level, Due string
	// Say is what to do, or what comes next where nothing is to be done; Why is the finding behind it, More what else there is.
	Say, Why, More string
	Button         Link
	Pictures       []SmallPicture
}

// SmallPicture is an SVG that says aloud what it shows, with a few words for the eye.
type SmallPicture struct{ SVG, Words string }

const (
	// RoundsPerPage is how many patients a page of Rounds holds.
	RoundsPerPage = 50
	// maxOptions is the longest list of names that is offered as a select.
	maxOptions = 40
)

// The days that something can fall on; the last two are not among the three days.
const (
	dayOverdue = iota
	dayToday
	dayTomorrow
	dayAfter
	dayLater
	dayNone
)

// roundsItem is a row with the findings that pass the filter and its place in the order.
type roundsItem struct {
	row   *caseload.Row
	clock *roundsClock
	group int
	rank  int
	due   time.Time
	top   int // index of the first finding that passes, or -1
}

// roundsClock holds the limits of the days in one time zone.
type roundsClock struct {
	Clock
	limits [3]time.Time // starts of tomorrow, the day after, and the day after that
}

func (k *roundsClock) day(t time.Time) int {
	switch {
	case t.Before(k.Now):
		return dayOverdue
	case t.Before(k.limits[0]):
		return dayToday
	case t.Before(k.limits[1]):
		return dayTomorrow
	case t.Before(k.limits[2]):
		return dayAfter
	}
	return dayLater
}

// findingDay is the day on which a finding falls.
func (k *roundsClock) findingDay(f *caseload.RowFinding) int {
	switch {
	case f.Due != nil:
		return k.day(*f.Due)
	case f.Level == rule.ActNow || f.Level == rule.Today:
		return dayToday
	}
	return dayNone
}

func clocks(now time.Time) func(zone string) *roundsClock {
	known := map[string]*roundsClock{}
	return func(name string) *roundsClock {
		if k := known[name]; k != nil {
			return k
		}
		zone, ok := unit.Zone(name)
		if !ok {
			zone = time.UTC
		}
		k := &roundsClock{Clock: Clock{zone, now}}
		for i := range k.limits {
			k.limits[i] = k.Start(i + 1)
		}
		known[name] = k
		return k
	}
}

// NewRounds builds the page from the rows of the caseload, in their order. They are not modified.
//
// whose tells whose patient one is, as an index of [Whose]; nil lists by level alone.
func NewRounds(frame Frame, rows []*caseload.Row, pending int, f RoundsFilter, whose func(state.Person) int, now time.Time, zone *time.Location) RoundsPage {
	p := RoundsPage{Frame: frame}
	if pending > 0 {
		p.Reading = fmt.Sprintf("Still reading %d cases: they are not in this list yet. Load the page again in a moment.", pending)
	}
	clock := clocks(now)
	names := newNames(rows)
	items := make([]roundsItem, 0, len(rows)*min(2, len(f.days())))
	var levels [5]int
	var days [4]int
	var on []int8 // the day of each finding of the row at hand
	hidden := 0
	for _, r := range rows {
		if !f.passesPerson(r.Person, names) {
			continue
		}
		if !f.passesState(r) {
			hidden++
			continue
		}
		k := clock(r.Person.Zone)
		on = countRow(on[:0], r, k, &levels, &days)
		items = f.place(items, r, k, on, whose)
	}
	p.Levels, p.Days = f.levelPicks(levels), f.dayPicks(days, Clock{zone, now})
	p.Form = f.form(names, Clock{zone, now})
	p.Total = countWords(len(items), "patient", "patients")
	if f.When == "3days" {
		p.Total = countWords(len(items), "line", "lines") + " over these days"
	}
	if hidden > 0 && f.Ended {
		p.Hidden = countWords(hidden, "case", "cases") + " in therapy or not started not shown."
	} else if hidden > 0 {
		p.Hidden = countWords(hidden, "ended case", "ended cases") + " with nothing pressing not shown."
	}
	p.ThreeDays = f.threeDays()
	p.page(items, f, whose != nil)
	p.Empty = emptyWords(len(items), len(rows), pending)
	return p
}

func emptyWords(items, rows, pending int) string {
	switch {
	case items > 0:
		return ""
	case rows == 0 && pending > 0:
		return "No case has been read yet."
	case rows == 0:
		return "There is no case yet. Start one with New case."
	}
	return "No patient matches these filters."
}

// page orders the items, cuts the page out of them and groups it.
func (p *RoundsPage) page(items []roundsItem, f RoundsFilter, whose bool) {
	pages := max(1, (len(items)+RoundsPerPage-1)/RoundsPerPage)
	n := min(max(f.Page, 1), pages)
	from, to := (n-1)*RoundsPerPage, min(n*RoundsPerPage, len(items))
	counts := map[int]int{}
	for _, it := range items {
		counts[it.group]++
	}
	order := ordered(items)
	for i := from; i < to; i++ {
		it := &items[order[i].item]
		goesOn := i > 0 && it.group == items[order[i-1].item].group
		if i == from || !goesOn {
			g := f.group(it, counts[it.group], whose)
			if goesOn {
				g.Title += ", continued"
			}
			p.Groups = append(p.Groups, g)
		}
		g := &p.Groups[len(p.Groups)-1]
		g.Rows = append(g.Rows, f.row(it))
	}
	if pages > 1 {
		p.PageWords = fmt.Sprintf("Page %d of %d", n, pages)
	}
	if n > 1 {
		f.Page = n - 1
		p.Previous = f.address()
	}
	if n < pages {
		f.Page = n + 1
		p.Next = f.address()
	}
}

// countRow adds the row to the counts, under its most urgent level and under each of its days, and appends the day of each of its findings to on.
func countRow(on []int8, r *caseload.Row, k *roundsClock, levels *[5]int, days *[4]int) []int8 {
	var seenDay [6]bool
	if len(r.Findings) > 0 {
		levels[r.Findings[0].Level.Rank()]++
	}
	for i := range r.Findings {
		fd := &r.Findings[i]
		day := k.findingDay(fd)
		seenDay[day] = true
		on = append(on, int8(day))
	}
	if r.Therapy.NextVisit != nil {
		seenDay[k.day(*r.Therapy.NextVisit)] = true
	}
	for d := range days {
		if seenDay[d] {
			days[d]++
		}
	}
	return on
}
