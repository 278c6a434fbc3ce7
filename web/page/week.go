package page

import (
	"fmt"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"lowtide/week"
)

// WeekPage is the plan of the days ahead.
type WeekPage struct {
	Frame
	Sentence string
	// Keep is the button's words where the plan can be taken, and Hash which plan it is.
	Keep, Hash string
	Problems   []AskProblem
	Calls      []WeekLine
	Left       []WeekLine
	Broken     []string
	Dates      []Option
	Nurses     []Option
	Rows       []WeekRow
	// Editor tells that the person may change the plan.
	Editor bool
	Forms  []AskForm
	Notes  []string
	Brings AskTable
	Links  []Link
}

// WeekLine is a patient or nurse with words.
type WeekLine struct{ Name, Href, For, Words string }

// WeekRow is a nurse's week.
type WeekRow struct {
	Name, Account, Load string
	Cells               []WeekCell
}

// WeekCell is a nurse's day.
type WeekCell struct {
	Off    bool
	Visits []WeekVisit
}

// WeekVisit is a visit in the plan.
type WeekVisit struct {
	ID, Case, Name, Href, Time, Short, Place, Date, Account string
	For                                                     []string
	Fixed                                                   bool
}

// NewWeek builds the page from a plan. changes is nil where nothing was told yet.
func NewWeek(frame Frame, r *week.Roster, p *week.Plan, changes *week.Replan, editor bool) WeekPage {
	out := WeekPage{Frame: frame, Broken: p.Broken, Editor: editor, Notes: slices.Clone(p.Notes)}
	for d := range p.Days {
		day := p.Start.AddDate(0, 0, d)
		out.Dates = append(out.Dates, Option{Value: day.Format(time.DateOnly), Words: day.Format("Mon 2 Jan")})
	}
	for _, n := range r.Nurses {
		out.Nurses = append(out.Nurses, Option{Value: n.Account, Words: n.Name})
		row := WeekRow{Name: n.Name, Account: n.Account, Cells: make([]WeekCell, p.Days)}
		for _, l := range p.Loads {
			if l.Account == n.Account && l.HaveMin > 0 {
				row.Load = fmt.Sprintf("%s, %s of %s h", countWords(l.Visits, "visit", "visits"), oneDigit(l.WorkMin/60), oneDigit(l.HaveMin/60))
			}
		}
		for d := range p.Days {
			day := p.Start.AddDate(0, 0, d)
			row.Cells[d].Off = !r.Works(n, day)
		}
		for i, v := range p.Visits {
			if v.Account == n.Account {
				row.Cells[v.Day].Visits = append(row.Cells[v.Day].Visits, weekVisitOf(v, i))
			}
		}
		out.Rows = append(out.Rows, row)
	}
	for _, l := range p.Left {
		out.Left = append(out.Left, WeekLine{Name: l.Name, Href: CasePath(l.Case), For: strings.Join(inShort(l.For, 1), "; "), Words: l.Why})
	}
	if changes != nil {
		for _, c := range changes.Calls {
			line := WeekLine{Name: c.Name, Words: c.Words}
			if c.Case != "" {
				line.Href = CasePath(c.Case)
			}
			out.Calls = append(out.Calls, line)
		}
	}
	out.Sentence, out.Keep = weekSentence(r, p, changes)
	if !editor {
		out.Keep = ""
	}
	if p.Bound > 0 {
		out.Notes = append(out.Notes, fmt.Sprintf("No plan can cost less than %s; this one costs %s, in minutes of road with prices for other nurses, days apart and uneven work.", oneDigit(p.Bound), oneDigit(p.Cost)))
	}
	return out
}

func oneDigit(x float64) string { return strconv.FormatFloat(math.Round(x*10)/10, 'f', -1, 64) }

func weekVisitOf(v week.Placed, i int) WeekVisit {
	short := fmt.Sprintf("%.0f min", v.Minutes)
	switch {
	case v.Guess:
		short += ", way not known"
	case v.RoadMin >= 1:
		short = fmt.Sprintf("%.0f min road, ", v.RoadMin) + short
	}
	if v.Fixed {
		short += ", put here"
	}
	if v.Urgent {
		short += ", urgent"
	}
	if v.Begun {
		short += ", made or being made"
	}
	return WeekVisit{ID: "v" + strconv.Itoa(i), Case: v.Case, Name: v.Name, Href: CasePath(v.Case), Time: week.Clock(v.Start), Short: short, Place: v.Place, Date: v.Date, Account: v.Account, For: inShort(v.For, 4), Fixed: v.Fixed}
}

// inShort keeps the first reasons of a visit and counts the others.
func inShort(list []string, most int) []string {
	if len(list) <= most+1 {
		return list
	}
	return append(slices.Clone(list[:most]), fmt.Sprintf("%d more, in the case", len(list)-most))
}

func weekSentence(r *week.Roster, p *week.Plan, changes *week.Replan) (sentence, keep string) {
	working := 0
	for _, l := range p.Loads {
		if l.HaveMin > 0 {
			working++
		}
	}
	what := fmt.Sprintf("%s for %s", countWords(len(p.Visits), "visit", "visits"), countWords(working, "nurse", "nurses"))
	switch {
	case len(r.Nurses) == 0:
		return "No nurse has working hours yet: enter people first. If you work alone, My day has the order of your visits without that.", ""
	case len(p.Visits) == 0 && len(p.Left) == 0:
		return "No visit is due in these days.", ""
	case len(p.Left) > 0:
		what += fmt.Sprintf("; %s no place, and below is why", countWords(len(p.Left), "visit has", "visits have"))
	default:
		what += ", all in time"
	}
	if changes == nil {
		return "A plan for the days ahead: " + what + ".", "Take this plan"
	}
	if len(changes.Calls) == 0 && len(changes.Changes) == 0 {
		return "As it was told: " + what + ".", ""
	}
	if len(changes.Calls) == 0 {
		return "Nobody has to be told: " + what + ". New visits joined the plan.", "Take the changes"
	}
	return fmt.Sprintf("Something changed: %s. %s to be told.", what, countWords(len(changes.Calls), "person has", "people have")), "Take the changes"
}

// WeekDayPage is one nurse's own day.
type WeekDayPage struct {
	Frame
	Heading, Sentence, Date string
	Visits                  []WeekVisit
	Left                    []WeekLine
	Notes                   []string
	Links                   []Link
	// Saved is when a file was made of it; empty: it is a page.
	Saved string
}

// NewWeekDay builds one nurse's day from the plan. alone tells that she works alone and nobody set anything up.
func NewWeekDay(frame Frame, p *week.Plan, n week.Nurse, date string, alone bool) WeekDayPage {
	day, _ := time.Parse(time.DateOnly, date)
	out := WeekDayPage{Frame: frame, Heading: n.Name + ", " + day.Format("Monday 2 January"), Date: date}
	road, last, guesses := 0.0, 0, false
	for i, v := range p.Visits {
		if v.Account == n.Account && v.Date == date {
			out.Visits = append(out.Visits, weekVisitOf(v, i))
			road += v.RoadMin
			last = v.End
			guesses = guesses || v.Guess
		}
	}
	out.Sentence = "No visits on this day."
	if len(out.Visits) > 0 {
		out.Sentence = fmt.Sprintf("%s; the first at %s at %s, the last done by %s; about %.0f min on the road.", countWords(len(out.Visits), "visit", "visits"), out.Visits[0].Name, out.Visits[0].Time, week.Clock(last), road)
	}
	out.Links = []Link{{Href: "/week/day/file?day=" + date, Words: "Save this day as a file, to have it without a network"}, {Href: "/week", Words: "The whole week"}, {Href: "/bag", Words: "Bag"}, {Href: "/week/set", Words: "People, places and roads"}}
	if alone {
		out.Notes = append(out.Notes, "Nobody has working hours yet, so this is for one nurse who works alone, with the visits of her list, in the hours in which patients are visited. Enter your hours under People, places and roads if they differ.")
		for _, l := range p.Left {
			if l.Days[0].From <= l.Days[0].To || l.Urgent {
				out.Left = append(out.Left, WeekLine{Name: l.Name, Href: CasePath(l.Case), For: strings.Join(inShort(l.For, 1), "; "), Words: l.Why})
			}
		}
	}
	if guesses {
		out.Notes = append(out.Notes, "Where some places are nobody said: the way to them is a guess, and they come last. A tap on the map under People, places and roads settles it.")
	}
	out.Notes = append(out.Notes, "Without a network you have this day as the file that you saved, or on paper. Writing a visit still needs the network: write it when you are connected again.")
	return out
}

// NewWeekWeigh compares prices of the same nurse.
func NewWeekWeigh(frame Frame, list []week.Weighed, set float64) Ask {
	t := AskTable{Caption: "The days ahead, planned with different prices", Head: []string{"Worth of the nurse of last time", "She comes", "Road a visit", "Not in the plan", "Between most and least work"}, Empty: "No visit is due in these days."}
	for _, x := range list {
		worth := oneDigit(x.SameMin) + " min of road"
		if x.SameMin == set {
			worth += " (set now)"
		}
		same, road := "cannot tell: no visit before", "no visits"
		if x.Known > 0 {
			same = fmt.Sprintf("%.0f %% of %d", 100*float64(x.Same)/float64(x.Known), x.Known)
		}
		if x.Visits > 0 {
			road = oneDigit(x.RoadMin/float64(x.Visits)) + " min"
		}
		t.Rows = append(t.Rows, []AskCell{{Text: worth}, {Text: same}, {Text: road}, {Text: strconv.Itoa(x.Left)}, {Text: oneDigit(x.UnevenMin/60) + " h"}})
	}
	return Ask{Frame: frame, Heading: "Road or the same nurse", Tables: []AskTable{t}, Links: []Link{{Href: "/week/set", Words: "Set it under the service's own numbers"}, {Href: "/week", Words: "Back to the week"}},
		Lead: []string{"A patient who sees the nurse of last time need not explain everything again; it can cost more road. Each line is a plan of the same days."}}
}

// WeekSetPage is people, places and roads.
type WeekSetPage struct {
	Frame
	Sentence string
	Problems []AskProblem
	Tables   []AskTable
	Pins     []WeekPin
	// Scale says how wide the map is, and EdgeKm how far it is from its middle to its edge.
	Scale, EdgeKm string
	Forms         []AskForm
}

// WeekPin is a place on the sketch map, in the map's units.
type WeekPin struct{ X, Y, TX, Anchor, Name string }

// weekDays are the days of the week in the order of a form, with their numbers.
var weekDays = []Option{{Value: "1", Words: "Monday"}, {Value: "2", Words: "Tuesday"}, {Value: "3", Words: "Wednesday"}, {Value: "4", Words: "Thursday"}, {Value: "5", Words: "Friday"}, {Value: "6", Words: "Saturday"}, {Value: "0", Words: "Sunday"}}

// NewWeekSet builds the page. missing are places of patients that nobody located.
func NewWeekSet(frame Frame, r *week.Roster, l week.Lessons, cases []week.Case) WeekSetPage {
	out := WeekSetPage{Frame: frame}
	var missing []string
	for _, c := range cases {
		if _, ok := r.Places[week.Key(c.Place)]; !ok && !slices.Contains(missing, c.Place) && c.Place != "" {
			missing = append(missing, c.Place)
		}
	}
	slices.Sort(missing)
	out.Sentence = fmt.Sprintf("%s with working hours, %s located.", countWords(len(r.Nurses), "nurse", "nurses"), countWords(len(r.Places), "place is", "places are"))
	if len(missing) > 0 {
		out.Sentence += fmt.Sprintf(" Nobody said where %s: their visits are planned last, with a guess.", countWords(len(missing), "place is", "places are"))
	}
	people := AskTable{Caption: "People", Head: []string{"Nurse", "Hours", "Starts from", "Skills", "Team", "Covers"}, Empty: "No nurse has working hours yet."}
	for _, n := range r.Nurses {
		var h []string
		for _, d := range weekDays {
			for _, x := range n.Hours {
				if strconv.Itoa(x.Weekday) == d.Value {
					h = append(h, d.Words[:3]+" "+week.Clock(x.From)+" to "+week.Clock(x.To))
				}
			}
		}
		people.Rows = append(people.Rows, []AskCell{{Text: n.Name}, {Text: orWords(strings.Join(h, ", "), "none: no visits are planned for her")}, {Text: orWords(n.Base, "not said")}, {Text: strings.Join(n.Skills, ", ")}, {Text: n.Team}, {Text: strings.Join(n.Covers, ", ")}})
	}
	places := AskTable{Caption: "Places", Head: []string{"Place", "Where"}, Empty: "No place is located yet."}
	most := 1.0
	for _, p := range r.Places {
		if p.East != nil && p.North != nil {
			most = max(most, math.Abs(*p.East), math.Abs(*p.North))
		}
	}
	scale := 46 / most
	keys := make([]string, 0, len(r.Places))
	for k := range r.Places {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	for _, k := range keys {
		p := r.Places[k]
		where := "not said"
		switch {
		case p.Lat != nil && p.Lon != nil:
			where = fmt.Sprintf("%.5f°, %.5f°", *p.Lat, *p.Lon)
		case p.East != nil && p.North != nil:
			where = fmt.Sprintf("%s km east, %s km north of the middle", oneDigit(*p.East), oneDigit(*p.North))
			pin := WeekPin{X: oneDigit(*p.East * scale), Y: oneDigit(-*p.North * scale), TX: oneDigit(*p.East*scale + 2), Anchor: "start", Name: p.Name}
			if *p.East > 0 { // the name stands where there is room for it
				pin.TX, pin.Anchor = oneDigit(*p.East*scale-2), "end"
			}
			out.Pins = append(out.Pins, pin)
		}
		places.Rows = append(places.Rows, []AskCell{{Text: p.Name}, {Text: where}})
	}
	for _, m := range missing {
		places.Rows = append(places.Rows, []AskCell{{Text: m}, {Text: "nobody said where"}})
	}
	out.EdgeKm = oneDigit(50 / scale)
	out.Scale = "From the middle to the edge are " + out.EdgeKm + " km."
	learnt := AskTable{Caption: "What was learnt from the visits of the last four weeks", Head: []string{"What", "Now", "From"}}
	change, road := fmt.Sprintf("%.0f min, as set: fewer than 12 visits tell", r.Settings.ChangeMin), "as computed: fewer than 12 ways tell"
	if l.ChangeN >= 12 {
		change = fmt.Sprintf("%.0f min", l.ChangeMin)
	}
	if l.RoadN >= 12 {
		road = fmt.Sprintf("%s times as long as computed", unitNumber(l.Road))
	}
	learnt.Rows = [][]AskCell{{{Text: "A change of one wound's dressing"}, {Text: change}, {Text: countWords(l.ChangeN, "visit", "visits")}}, {{Text: "A way"}, {Text: road}, {Text: countWords(l.RoadN, "way", "ways")}}}
	out.Tables = []AskTable{people, places, learnt}
	out.Forms = weekForms(r, cases, missing)
	return out
}

func unitNumber(x float64) string { return strconv.FormatFloat(math.Round(x*100)/100, 'f', -1, 64) }

func weekForms(r *week.Roster, cases []week.Case, missing []string) []AskForm {
	var patients []Option
	for _, c := range cases {
		patients = append(patients, Option{Value: c.ID, Words: c.Name})
	}
	place := ""
	if len(missing) > 0 {
		place = missing[0]
	}
	s := r.Settings
	forms := []AskForm{
		{Title: "A nurse", Action: "/week/nurse", Submit: "Save the nurse", Lead: []string{"What is saved here replaces what was said of her before."}, Fields: []AskField{
			{Name: "account", Label: "Account, or a name without one", Type: "text", Needed: true}, {Name: "name", Label: "Name", Type: "text", Needed: true},
			{Name: "days", Label: "Works on", Type: "ticks", Options: weekDays}, {Name: "from", Label: "From", Type: "time", Value: "08:00"}, {Name: "to", Label: "To", Type: "time", Value: "16:00"},
			{Name: "base", Label: "Starts from and comes back to", Type: "text"}, {Name: "skills", Label: "Skills, with commas between", Type: "text"}, {Name: "team", Label: "Team", Type: "text"}, {Name: "covers", Label: "Covers the patients of, with commas between", Type: "text"}, {Name: "gone", Label: "She has left", Type: "ticks", Options: []Option{{Value: "yes", Words: "No visits are planned for her any more; what is fixed for her is said"}}}}},
		{Title: "Where a place is", Action: "/week/place", Submit: "Save the place", Lead: []string{"Either degrees, or kilometres from the middle of your own sketch map: a tap on the map fills them in."}, Fields: []AskField{
			{Name: "name", Label: "Place, as it stands in the case", Type: "text", Value: place, Needed: true}, {Name: "east", Label: "Kilometres east (west: minus)", Type: "text", Keypad: "text"}, {Name: "north", Label: "Kilometres north (south: minus)", Type: "text", Keypad: "text"},
			{Name: "lat", Label: "Degrees of latitude", Type: "text"}, {Name: "lon", Label: "Degrees of longitude", Type: "text"}}},
		{Title: "Travel times that you know", Action: "/week/roads", Submit: "Save the travel times", Lead: []string{"One line for each way: from, to, minutes. They come before what is computed from the map."}, Fields: []AskField{
			{Name: "legs", Label: "Travel times", Type: "lines"}, {Name: "detour", Label: "Roads are longer than the straight line, times", Type: "text", Keypad: "decimal", Value: fnum(r.Roads.Detour), Needed: true}}},
		{Title: "What a patient asks for", Action: "/week/wish", Submit: "Save the wish", Fields: []AskField{
			{Name: "case", Label: "Patient", Type: "select", Options: patients}, {Name: "days", Label: "Only on", Type: "ticks", Options: weekDays}, {Name: "from", Label: "Not before", Type: "time"}, {Name: "to", Label: "Begins at the latest at", Type: "time"}, {Name: "skills", Label: "Skills that her visits need, with commas between", Type: "text"}, {Name: "not", Label: "Accounts that do not see her, with commas between", Type: "text"}}},
		{Title: "The service's own numbers", Action: "/week/settings", Submit: "Save the numbers", Fields: []AskField{
			{Name: "full_pct", Label: "Chance of a full canister that a visit must come before, in %", Type: "text", Keypad: "decimal", Value: fnum(s.FullPct)}, {Name: "slack_h", Label: "Hours by which a change may be earlier or later than ordered", Type: "text", Keypad: "decimal", Value: fnum(s.SlackH)},
			{Name: "change_min", Label: "Minutes for a change of one wound, until enough visits tell", Type: "text", Keypad: "decimal", Value: fnum(s.ChangeMin)}, {Name: "wound_min", Label: "Minutes for each further wound", Type: "text", Keypad: "decimal", Value: fnum(s.WoundMin)}, {Name: "measure_min", Label: "Minutes for measuring", Type: "text", Keypad: "decimal", Value: fnum(s.MeasureMin)}, {Name: "other_min", Label: "Minutes for anything else", Type: "text", Keypad: "decimal", Value: fnum(s.OtherMin)},
			{Name: "day_from", Label: "Patients who did not say when are visited from", Type: "time", Value: week.Clock(s.DayFrom)}, {Name: "day_to", Label: "to", Type: "time", Value: week.Clock(s.DayTo)}, {Name: "promise_min", Label: "Minutes by which a visit may move before the patient is told", Type: "text", Keypad: "numeric", Value: strconv.Itoa(s.PromiseMin)}, {Name: "same_min", Label: "Minutes of road that it is worth when the nurse of last time comes", Type: "text", Keypad: "decimal", Value: fnum(s.SameMin)}, {Name: "guess_min", Label: "Minutes to a place of which nothing is known", Type: "text", Keypad: "decimal", Value: fnum(s.GuessMin)}}},
	}
	for i := range forms {
		for j := range forms[i].Fields {
			forms[i].Fields[j].In = strconv.Itoa(i) + "-"
		}
	}
	return forms
}

// WeekForms are the forms of what can happen on a day.
func WeekForms(r *week.Roster, cases []week.Case, dates []Option) []AskForm {
	var nurses, patients []Option
	for _, n := range r.Nurses {
		nurses = append(nurses, Option{Value: n.Account, Words: n.Name})
	}
	var places []Option
	for _, c := range cases {
		patients = append(patients, Option{Value: c.ID, Words: c.Name})
		if c.Place != "" && !hasOption(places, c.Place) {
			places = append(places, Option{Value: c.Place, Words: c.Place})
		}
	}
	absent := append(slices.Clone(nurses), Option{Value: week.Everybody, Words: "Everybody: a holiday"})
	all := append([]Option{{Value: "", Words: "Every road to it"}}, places...)
	forms := []AskForm{
		{Title: "Somebody cannot come", Action: "/week/off", Submit: "Plan without her", Fields: []AskField{{Name: "nurse", Label: "Who", Type: "select", Options: absent}, {Name: "from", Label: "From", Type: "select", Options: dates}, {Name: "to", Label: "To, that day included", Type: "select", Options: dates}, {Name: "at", Label: "From this time on the first day, if not the whole day", Type: "time"}}},
		{Title: "Add an urgent visit", Action: "/week/extra", Submit: "Find room for it", Fields: []AskField{{Name: "case", Label: "Patient", Type: "select", Options: patients}, {Name: "day", Label: "Day", Type: "select", Options: dates}, {Name: "why", Label: "For what", Type: "text", Needed: true}, {Name: "minutes", Label: "Minutes", Type: "text", Keypad: "numeric"}}},
		{Title: "A road is closed", Action: "/week/closed", Submit: "Plan around it", Fields: []AskField{{Name: "day", Label: "Day", Type: "select", Options: dates}, {Name: "from", Label: "To or from", Type: "select", Options: places}, {Name: "to", Label: "and", Type: "select", Options: all}, {Name: "extra", Label: "Minutes longer", Type: "text", Keypad: "numeric", Needed: true}}},
	}
	for i := range forms {
		for j := range forms[i].Fields {
			forms[i].Fields[j].In = "t" + strconv.Itoa(i) + "-"
		}
	}
	return forms
}

// WeekBrings compares a plan with the last four weeks as they were done.
func WeekBrings(r *week.Roster, p *week.Plan, seen []week.Seen, cases []week.Case, zone *time.Location) AskTable {
	done, plan := r.Done(seen, cases, zone), p.Expected()
	each := func(x float64, n int, unit string) string {
		if n == 0 {
			return "cannot tell: no visits"
		}
		return oneDigit(x/float64(n)) + unit
	}
	share := func(x, n int) string {
		if n == 0 {
			return "cannot tell: nobody came twice"
		}
		return fmt.Sprintf("%.0f %%", 100*float64(x)/float64(n))
	}
	full := "cannot tell: no canister was read"
	if done.FullKnown > 0 {
		full = fmt.Sprintf("%s of %d that were read", oneDigit(done.Full), done.FullKnown)
	}
	weeks := 4.0
	t := AskTable{Caption: "What it brings: the last four weeks as they were done, and this plan", Head: []string{"What", "As done", "This plan"}}
	add := func(what, was, now string) {
		t.Rows = append(t.Rows, []AskCell{{Text: what}, {Text: was}, {Text: now}})
	}
	add("Visits a week", oneDigit(float64(done.Visits)/weeks), oneDigit(float64(plan.Visits)/float64(p.Days)*7))
	add("Road a visit, computed from the map", each(done.RoadMin, done.Visits, " min"), each(plan.RoadMin, plan.Visits, " min"))
	add("The nurse of last time came", share(done.Same, done.Known), share(plan.Same, plan.Known))
	add("Changes later than ordered and slack", share(done.Late, done.Known), "none that is in the plan")
	add("Canisters full before the visit; in the plan, to be expected", full, fmt.Sprintf("%s of %d", oneDigit(plan.Full), plan.FullKnown))
	add("Between the nurse with most and with least work, a week", oneDigit(done.UnevenMin/weeks/60)+" h", oneDigit(plan.UnevenMin/60)+" h")
	return t
}

// Typed puts what was typed back into the form that was sent, so that nothing is lost.
func (p *WeekSetPage) Typed(path string, form url.Values) {
	for i := range p.Forms {
		if p.Forms[i].Action == path {
			retype(&p.Forms[i], form)
		}
	}
}

// Typed puts what was typed back into the form that was sent.
func (p *WeekPage) Typed(path string, form url.Values) {
	for i := range p.Forms {
		if p.Forms[i].Action == path {
			retype(&p.Forms[i], form)
		}
	}
}

func retype(f *AskForm, form url.Values) {
	f.Quiet = true // open
	for j := range f.Fields {
		x := &f.Fields[j]
		if len(x.Options) > 0 {
			x.Options = slices.Clone(x.Options)
			for k := range x.Options {
				x.Options[k].Selected = slices.Contains(form[x.Name], x.Options[k].Value)
			}
		} else if form.Has(x.Name) {
			x.Value = form.Get(x.Name)
		}
	}
}
