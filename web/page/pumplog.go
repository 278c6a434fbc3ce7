package page

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/rule/value"
	"lowtide/state"
	"lowtide/unit"
)

// PumpLogPage shows what a case's pump logs tell, and takes another one.
type PumpLogPage struct {
	Frame
	CaseHref string
	Logs     []PumpLogView
	// May tells whether the person may import.
	May    bool
	Import PumpLogImport
}

// PumpLogImport is the form, with what a file that was looked at told.
type PumpLogImport struct {
	Action, Look, Key string
	Problems          []string
	// Pump is the pump's number, Pumps those with the patient, Names those that the file holds.
	Pump  string
	Pumps []string
	// Ahead is by how many minutes the clock was ahead at the read-out, Before at BeforeAt.
	Ahead      string
	Before     string
	BeforeAt   string
	Note       string
	Start      string
	NeedsStart bool
	File       string
	Name       string
	Names      []string
	// Remembered says that the mapping is that of an earlier import.
	Remembered string
	Ask        []string
	Doubts     []string
	Columns    []PumpLogColumn
	Settings   []PumpLogChoice
	Delimiter  string
	Header     int
}

// PumpLogColumn is one column of the table.
type PumpLogColumn struct {
	Number       int
	Name, Sample string
	Means, Units []Option
	Negative     bool
}

// PumpLogChoice is a setting of the whole table.
type PumpLogChoice struct {
	Name, Label string
	Options     []Option
}

// PumpLogView is what the logs of one pump tell.
type PumpLogView struct {
	Title, Why string
	Entries    []Link
	Parts      []Part
	Cannot     []string
	Tables     []PumpLogTable
}

// PumpLogTable is one table of a log.
type PumpLogTable struct {
	ID, Caption, None string
	Head              []string
	Rows              [][]string
	// Cut says that not all rows are shown.
	Cut string
}

// mostLogRows bounds each table of the page.
const mostLogRows = 45

// NewPumpLog builds the page.
func NewPumpLog(frame Frame, c *casebook.Case, logs []state.Delivered, v value.Values, k Clock, may bool, in PumpLogImport) PumpLogPage {
	p := PumpLogPage{Frame: frame, CaseHref: CasePath(c.ID), May: may, Import: in}
	for i := len(logs) - 1; i >= 0; i-- {
		p.Logs = append(p.Logs, pumpLogView(c, &logs[i], v, k, i))
	}
	return p
}

func pumpLogView(c *casebook.Case, d *state.Delivered, values value.Values, k Clock, n int) PumpLogView {
	v := PumpLogView{Title: "Pump " + d.Pump, Entries: entryLinks(c, d.Entries, k)}
	r := d.Result
	if r == nil {
		v.Why = "Cannot tell: " + d.Why + "."
		return v
	}
	dur := state.LogDuration
	put := func(label, text string) { v.Parts = append(v.Parts, Part{label, text}) }
	put("Log", k.At(r.From)+" to "+k.At(r.To))
	put("Covered", fmt.Sprintf("%s (%s %%); unknown %s", dur(r.CoveredMin), unit.Number(r.CoveredPct, 0), dur(r.UnknownMin)))
	if r.OrderedMin > 0 {
		put("At the ordered suction", fmt.Sprintf("%s; below %s, above %s, between stages %s", dur(r.AtTargetMin), dur(r.BelowMin), dur(r.AboveMin), dur(r.OtherMin)))
	} else {
		put("At the ordered suction", "cannot tell: no order is recorded for that time")
	}
	put("Off", dur(r.OffMin))
	if s := r.Dose.SharePct; s != nil {
		put("Share of the ordered dose", fmt.Sprintf("%s %% of what is covered; %s to %s %% with what is unknown", unit.Number(*s, 0), unit.Number(*r.Dose.LeastPct, 0), unit.Number(*r.Dose.MostPct, 0)))
	}
	put("Program seen", r.Pattern.Words)
	put("Leak", leakWords(r))
	put("Battery", batteryWords(r))
	put("Nights and days", fmt.Sprintf("at the ordered suction %s of the night and %s of the day that is covered; alarms %d at night, %d by day", share(r.Night.AtTargetMin, r.Night.CoveredMin), share(r.Day.AtTargetMin, r.Day.CoveredMin), r.Night.Alarms, r.Day.Alarms))
	v.Cannot = r.Cannot
	v.Tables = logTables(r, values, k, n)
	return v
}

func share(a, b float64) string {
	if b <= 0 {
		return "an unknown share"
	}
	return unit.Number(100*a/b, 0) + " %"
}

func leakWords(r *state.LogResult) string {
	l := r.Leak
	if l.Method == "" || len(l.Points) == 0 {
		return "cannot tell: the log has neither flow nor the motor's share"
	}
	words := fmt.Sprintf("by the %s, last day %s %s", l.Method, unit.Number(l.Points[len(l.Points)-1].Value, 1), l.Unit)
	switch {
	case l.PerDay == nil:
		return words + "; too short under this dressing for a trend"
	case l.Growing == "yes":
		return words + fmt.Sprintf("; grows by %s %s a day", unit.Number(*l.PerDay, 1), l.Unit)
	}
	return words + "; no growth that stands out from its noise"
}

func batteryWords(r *state.LogResult) string {
	b := r.Battery
	switch {
	case !b.Told:
		return "not in the log"
	case b.LeftPct == nil:
		return fmt.Sprintf("lowest %s %%; %s, too few or too close together to tell ageing", unit.Number(*b.LowPct, 0), countWords(len(b.Discharges), "discharge", "discharges"))
	}
	return fmt.Sprintf("lowest %s %%; a full charge lasted %s h at first and %s h at last (%s %%)", unit.Number(*b.LowPct, 0), unit.Number(*b.FirstH, 1), unit.Number(*b.LastH, 1), unit.Number(*b.LeftPct, 0))
}

// logTables are days, episodes, times off, alarms and changes, newest first.
func logTables(r *state.LogResult, v value.Values, k Clock, n int) []PumpLogTable {
	dur := state.LogDuration
	days := PumpLogTable{Caption: "Day by day", None: "no day", Head: []string{"Day", "At the ordered suction", "Off", "Longest off", "Unknown", v.Text(value.PumpHours) + " reached"}}
	for _, d := range slices.Backward(r.Days) {
		met := d.MetBy(v.In(value.PumpHours, "h"))
		if met == "" {
			met = "part of a day"
		}
		day := d.Date
		if t, err := time.Parse(time.DateOnly, d.Date); err == nil {
			day = strings.ReplaceAll(t.Format("Mon 2 Jan"), " ", "\u00a0") // as elsewhere, and never in two lines
		}
		days.Rows = append(days.Rows, []string{day, dur(d.AtTargetMin), dur(d.OffMin), dur(d.LongestOffMin), dur(d.UnknownMin), met})
	}
	eps := PumpLogTable{Caption: "Leaks, blockages and low suction of 10 min and more", None: "none found", Head: []string{"From", "What", "For", "Size"}}
	for _, e := range slices.Backward(r.Episodes) {
		kind := e.Kind
		if e.Open {
			kind += ", end not seen"
		}
		eps.Rows = append(eps.Rows, []string{k.At(e.From), kind, dur(e.Minutes), fmt.Sprintf("%s %s from its usual %s", unit.Number(e.Size, 1), e.Unit, unit.Number(e.Usual, 1))})
	}
	off := PumpLogTable{Caption: "Times off", None: "none", Head: []string{"From", "To", "For", "With unknown time beside it"}}
	for _, s := range slices.Backward(r.OffSpell) {
		off.Rows = append(off.Rows, []string{k.At(s.From), k.At(s.To), dur(s.Minutes), "at most " + dur(s.MostMin)})
	}
	alarms := PumpLogTable{Caption: "Alarms, repeats joined", None: "none in the log", Head: []string{"From", "To", "Alarm", "Rows"}}
	for _, a := range slices.Backward(r.Alarms) {
		alarms.Rows = append(alarms.Rows, []string{k.At(a.From), k.At(a.To), a.Words, strconv.Itoa(a.Rows)})
	}
	steps := PumpLogTable{Caption: "Lasting changes", None: "none that stands out from the noise", Head: []string{"At", "Of", "From", "To"}}
	for _, b := range slices.Backward(r.Breaks) {
		steps.Rows = append(steps.Rows, []string{k.At(b.At), b.Of, unit.Number(b.Before, 1) + " " + b.Unit, unit.Number(b.After, 1) + " " + b.Unit})
	}
	out := []PumpLogTable{days, eps, off, alarms, steps}
	for i := range out {
		out[i].ID = fmt.Sprintf("log-%d-%d", n, i)
		if m := len(out[i].Rows); m > mostLogRows {
			out[i].Cut = fmt.Sprintf("The newest %d of %d are shown; the command lowtide log lists all.", mostLogRows, m)
			out[i].Rows = out[i].Rows[:mostLogRows]
		}
	}
	return out
}

// Guessed fills the form with how a table is read.
func (p *PumpLogImport) Guessed(g state.LogGuess, m state.LogMapping, answered bool) {
	p.Doubts, p.Names, p.Delimiter, p.Header = g.Doubts, g.Pumps, m.Delimiter, m.HeaderLine
	if !answered {
		for _, q := range g.Ask {
			p.Ask = append(p.Ask, q.Words)
		}
	}
	p.Ask = append(p.Ask, m.Check()...)
	width := len(m.Names)
	for _, r := range g.Rows {
		width = max(width, len(r))
	}
	for i := range min(width, 40) {
		col := PumpLogColumn{Number: i + 1}
		if i < len(m.Names) {
			col.Name = m.Names[i]
		}
		var samples []string
		for _, r := range g.Rows {
			if i < len(r) && r[i] != "" && !slices.Contains(samples, r[i]) && len(samples) < 2 {
				samples = append(samples, r[i])
			}
		}
		col.Sample = strings.Join(samples, ", ")
		means, unitName := "", ""
		for _, c := range m.Columns {
			if c.Number == i+1 {
				means, unitName, col.Negative = string(c.Means), c.Unit, c.Negative
			}
		}
		col.Means = append(col.Means, Option{Value: "", Words: "leave out", Selected: means == ""})
		seen := map[string]bool{}
		col.Units = []Option{{Value: "", Words: "none", Selected: unitName == ""}}
		for _, x := range state.LogMeanings {
			col.Means = append(col.Means, Option{Value: string(x.Channel), Words: string(x.Channel), Selected: means == string(x.Channel)})
			for _, u := range x.Units {
				if u != "" && !seen[u] {
					seen[u] = true
					col.Units = append(col.Units, Option{Value: u, Words: u, Selected: u == unitName})
				}
			}
		}
		p.Columns = append(p.Columns, col)
	}
	pick := func(name, label, now string, options ...string) {
		c := PumpLogChoice{Name: name, Label: label}
		for _, o := range options {
			value, words, _ := strings.Cut(o, "|")
			c.Options = append(c.Options, Option{Value: value, Words: words, Selected: value == now})
		}
		p.Settings = append(p.Settings, c)
	}
	pick("dates", "Dates such as 3/4/2026", m.Dates, "|not told or not written so", "day first|day first", "month first|month first")
	decimal := "point"
	if m.Decimal == "," {
		decimal = "comma"
	}
	pick("decimal", "Decimal mark", decimal, "point|point", "comma|comma")
	for _, c := range m.Columns {
		p.NeedsStart = p.NeedsStart || c.Means == "elapsed"
	}
	if len(p.Names) > 1 {
		options := []string{}
		for _, n := range p.Names {
			options = append(options, n+"|"+n)
		}
		pick("name", "Pump in the file", p.Name, options...)
	}
}

func delimiterWord(d string) string {
	switch d {
	case ";":
		return "semicolon"
	case "\t":
		return "tab"
	case "|":
		return "pipe"
	}
	return "comma"
}
