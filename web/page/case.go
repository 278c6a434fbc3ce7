package page

import (
	"fmt"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/chart"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
	"lowtide/unit"
	"lowtide/wording"
)

// CasePage is one patient's therapy.
type CasePage struct {
	Frame
	Name string
	// About says who and where in short lines; Warnings what is wrong with the record itself.
	About, Warnings []string
	State, AsOf     string
	// Now is the first screen: what decides and what is so now.
	Now      CaseNow
	Actions  []Link
	More     []Link
	Contents []Link
	// Plan is what needs doing; what stands behind it has a page of its own, at WhyHref.
	Plan              []PlanLevel
	WhyHref, WhyWords string
	NoFindings        string
	// Start is what belongs to the start of the therapy; nil when all of it is done.
	Start  *StartView
	Order  OrderView
	Tide   ChartView
	Ranges []Pick
	Body   *BodyView
	Wounds []WoundView
	// Decision is when the next decision is due.
	Decision      string
	Canister      []Part
	CanisterLinks []Link
	Pumps         []PumpView
	// Figures are the numbers of canister and pump; how they came about is at WhyHref.
	Figures CaseFigures
	People  []PersonView
	Log     []LogShort
	LogHref string
	// Supplies is added by AddSupplies.
	Supplies *SuppliesView
}

// ChartView is a chart in two widths with its table.
type ChartView struct {
	// Wide and Narrow are SVG; an empty Narrow lets Wide serve phones too.
	Wide, Narrow string
	// TableHref is where the table is when it does not come with the chart, TableWords says how long it is.
	TableHref, TableWords string
	Table                 chart.Table
	Links                 []string // the log address of each row of the table
}

// OrderView is the order in force.
type OrderView struct {
	None  string
	Parts []Part
	Entry Link
	Lacks []string
}

// FigureView is a number with how it came about.
type FigureView struct {
	Name, Text, Method, Source, At string
	Entries                        []Link
}

// WoundView is one wound.
type WoundView struct {
	Title string
	Href  string
	// Parts are what is recorded, Figures the numbers worked out of it.
	Parts   []Part
	Figures []Part
	Open    []Link // what does not add up in the filler count
	Size    *ChartView
	Entries []Link
}

// PumpView is a pump that is with the patient.
type PumpView struct {
	Parts []Part
	Entry Link
}

// PersonView is somebody to call.
type PersonView struct{ Role, Name, Phone, Tel string }

// LogShort is a line of the log in short.
type LogShort struct {
	When, Words, State string
	Href               string
}

// Days that the tide chart can show; 0 is all of the therapy.
var TideDays = []int{7, 14, 42, 0}

// The widths in which charts are drawn: for a laptop and paper, and for a phone.
const (
	wideChartPx   = 920
	narrowChartPx = 358
	sizeChartPx   = 400
)

// NewCase builds the page of a case. days says how much of the therapy the tide chart shows.
func NewCase(frame Frame, c *casebook.Case, r *review.Review, eq *equipment.Set, now time.Time, days int) CasePage {
	k := Clock{c.Zone, now}
	p := CasePage{Frame: frame, Name: r.Person.Name, LogHref: CasePath(c.ID, "log"), AsOf: k.At(r.AsOf)}
	p.Frame.Case, p.Frame.Person = c.ID, r.Person.Name
	p.About, p.State = aboutPatient(c, r, k), therapyState(r, k)
	p.Warnings = warnings(c)
	p.Decision = DecisionDueWords(c, k)
	p.Actions, p.More = actions(c)
	p.Plan, p.Start = planOf(r, k, whyPart, rule.Levels), startView(r)
	p.WhyHref, p.WhyWords = whyPart, "Why: "+countWords(len(r.Findings), "finding", "findings")+", and how each number came about"
	if len(r.Findings) == 0 {
		p.NoFindings = "No rule asks for anything as of " + k.At(now) + ". That says nothing about what is not recorded."
	}
	p.Contents = []Link{{"#tide", "Pictures"}, {"#wounds", "Wounds"}, {"#order", "Order"}, {"#canister", "Canister and pump"}, {"#people", "People to call"}, {"#newest", "Newest entries"}}
	p.Order = orderView(c, r, k)
	p.Tide, p.Ranges = tideView(r, days), rangePicks(c, days)
	for i := range c.Wounds {
		p.Wounds = append(p.Wounds, woundView(c, &c.Wounds[i], i, r, k))
	}
	p.Body = bodyView(c, k)
	p.canister(c, r, k)
	p.pumps(c, eq, k)
	p.Figures = caseFigures(c, r, k)
	p.people(c)
	p.newest(c, k)
	p.caseNow(c, r, k)
	return p
}

func aboutPatient(c *casebook.Case, r *review.Review, k Clock) []string {
	var out []string
	put := func(label, text string) {
		if text != "" {
			out = append(out, label+text)
		}
	}
	put("", joined(", ", r.Person.Place, r.Person.Address))
	if c.Person == nil {
		return append(out, "The patient is not registered yet: no name, no place, days counted in UTC.")
	}
	b := c.Person.Body
	put("Born ", wording.Date(b.Born))
	put("Record ", b.Record)
	put("Nurse ", joined(", ", b.Nurse, b.Team))
	put("Mobility: ", b.Mobility)
	put("Speaks ", b.Language)
	if b.WeightKg != nil {
		put("", unit.Number(*b.WeightKg, 1)+" kg")
	}
	return out
}

func therapyState(r *review.Review, k Clock) string {
	t := r.Therapy
	switch {
	case t.State == "ended":
		return "Therapy ended " + k.At(*t.EndedAt) + "."
	case t.State == "open":
		words := "In therapy since " + k.Day(*t.StartedAt)
		if f, ok := r.Figure("therapy.day", ""); ok {
			words += " (" + f.Text + ")"
		}
		return words + ". " + suctionWords(t, k) + offWords(r) + " " + k.Planned(t.NextVisit) + "."
	}
	return "Therapy has not started. " + k.Planned(t.NextVisit) + "."
}

// suctionWords say what suction is doing, and how long that is believed.
func suctionWords(t state.Therapy, k Clock) string {
	out := "Suction is " + string(t.Suction)
	if t.Since != nil && t.Suction != state.SuctionOn {
		out += " since " + k.At(*t.Since)
	}
	if t.Why != "" {
		out += ": " + t.Why
	}
	if t.BelievedUntil != nil {
		out += ", taken to be so until " + k.At(*t.BelievedUntil) + " if nobody looks"
	}
	return out + "."
}

// offWords add up the time without suction, where there was any or nobody knows; empty otherwise.
func offWords(r *review.Review) string {
	if r.State == nil {
		return ""
	}
	k := r.State.Suction
	day, change := state.OffWords(k.OffDay, k.UnknownDay), state.OffWords(k.OffChange, k.UnknownChange)
	switch none := state.OffWords(0, 0); {
	case day == none && change == none:
		return ""
	case day == change:
		return " Without suction in the last 24 hours and since the change: " + day + "."
	default:
		return " Without suction in the last 24 hours: " + day + "; since the change: " + change + "."
	}
}

// warnings tell what is wrong with the record itself.
func warnings(c *casebook.Case) []string {
	var out []string
	if c.UnknownEntries > 0 {
		out = append(out, countWords(c.UnknownEntries, "entry is", "entries are")+" not known to this program, and no rule looked there. The log shows what was written.")
	}
	if c.Conflicts > 0 {
		out = append(out, countWords(c.Conflicts, "entry", "entries")+" arrived with two different contents. The log marks them: check which is right.")
	}
	if c.Person != nil && !c.ZoneKnown {
		out = append(out, "The patient's time zone is not known to this program: days are counted in UTC.")
	}
	return out
}

// actions are what is opened every day, and the rest, which is folded.
func actions(c *casebook.Case) (first, more []Link) {
	first = []Link{{CasePath(c.ID, "visit"), "Visit"}, {CasePath(c.ID, "call"), "Call"}, {KindPath(c.ID, casebook.KindCanisterRead), "Canister"}, {CasePath(c.ID, "photo"), "Photo"}}
	more = []Link{{CasePath(c.ID, "sign"), "Sign off"}, {CasePath(c.ID, "decision"), "Decision"}, {CasePath(c.ID, "papers"), "Papers"}, {CasePath(c.ID, "pump-log"), "Pump log"}, {CasePath(c.ID, "bench"), "Bench"}, {CasePath(c.ID, "log"), "Log"}}
	for _, k := range casebook.Buttons() {
		if k.Name != casebook.KindCanisterRead {
			more = append(more, Link{KindPath(c.ID, k.Name), k.Title})
		}
	}
	return first, more
}

func tideView(r *review.Review, days int) ChartView {
	t := chart.TideOf(r.State, days)
	v := chartView(r.Case, t.Drawing(wideChartPx, "tide-wide").SVG(), t.Drawing(narrowChartPx, "tide-narrow").SVG(), t.Table())
	v.TableHref, v.TableWords = fmt.Sprintf("?days=%d&part=table", days), "The numbers as a table ("+countWords(len(v.Table.Rows), "line", "lines")+")"
	return v
}

// TablePage is the table of a tide chart.
type TablePage struct {
	Frame
	CaseHref string
	Chart    ChartView
}

// NewTideTable builds the page of the table behind the tide chart.
func NewTideTable(frame Frame, c *casebook.Case, r *review.Review, eq *equipment.Set, now time.Time, days int) TablePage {
	p := TablePage{Frame: frame, CaseHref: CasePath(c.ID) + fmt.Sprintf("?days=%d#tide", days)}
	p.Frame.Case, p.Frame.Person = c.ID, r.Person.Name
	p.Chart = chartView(c.ID, "", "", chart.TideOf(r.State, days).Table())
	return p
}

func chartView(caseID, wide, narrow string, table chart.Table) ChartView {
	v := ChartView{Wide: wide, Narrow: narrow, Table: table}
	for _, row := range table.Rows {
		href := ""
		if row.Entry != "" {
			href = LogPath(caseID, row.Entry)
		}
		v.Links = append(v.Links, href)
	}
	return v
}

func rangePicks(c *casebook.Case, days int) []Pick {
	var out []Pick
	for _, d := range TideDays {
		words := fmt.Sprintf("%d days", d)
		if d == 0 {
			words = "all of it"
		}
		out = append(out, Pick{Href: CasePath(c.ID) + fmt.Sprintf("?days=%d#tide", d), Words: words, On: d == days})
	}
	return out
}

func (p *CasePage) people(c *casebook.Case) {
	if c.Person == nil {
		return
	}
	for _, x := range c.Person.Body.Contacts {
		p.People = append(p.People, PersonView{x.Role, x.Name, x.Phone, tel(x.Phone)})
	}
}

// tel is the address that dials a number, or empty when there is nothing to dial.
func tel(phone string) string {
	digits := strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' || r == '+' {
			return r
		}
		return -1
	}, phone)
	if len(digits) < 2 {
		return ""
	}
	return "tel:" + digits
}

// newestLines is how many lines of the log the case page shows.
const newestLines = 8

func (p *CasePage) newest(c *casebook.Case, k Clock) {
	for i := len(c.Log) - 1; i >= 0 && len(p.Log) < newestLines; i-- {
		l := &c.Log[i]
		p.Log = append(p.Log, LogShort{k.At(l.At), lineSaid(l, k).Title, stateWords(l.State), LogPath(c.ID, l.Entry.ID)})
	}
}

// lineSaid puts what a line tells now into words, or what it told when nothing counts of it any more.
func lineSaid(l *casebook.Line, k Clock) Said {
	if l.Now != nil {
		return Say(l.Now, k)
	}
	return Say(l.Entry.Body, k)
}
