package page

import (
	"fmt"
	"math"

	"github.com/a-h/templ"

	"lowtide/chart"
	"lowtide/equipment"
	"lowtide/state"
	"lowtide/unit"
)

// BenchPage is the page on which a program is tried before it is set.
type BenchPage struct {
	Frame
	BenchForm
	// Action is where the form goes; Keep is where a program goes as a draft of an order, empty where nobody may.
	Action, Keep string
	CaseHref     string
	// Known says what was taken from the case.
	Known  string
	Result BenchResult
}

// BenchResult is everything that is computed: the part of the page that is drawn again.
type BenchResult struct {
	// Said is the outcome in a sentence for each program.
	Said []string
	// Now is the same in a few words, for a phone on which the chart is out of sight.
	Now      string
	Programs []BenchView
	// Rows are the figures, one column for each program.
	Rows  []BenchRow
	Void  string
	Model string
}

// BenchView is one program.
type BenchView struct {
	Title, Sentence string
	Notes           []string
	Chart           ChartView
	Stages          BenchStages
}

// BenchStages is the table of a program's stages, one column for each: of several programs side by side, or on a
// phone, the rows of a wider table would be cut off.
type BenchStages struct {
	Stages []string
	Rows   []BenchRow
}

// BenchRow is one figure of every program.
type BenchRow struct {
	Label string
	Cells []string
}

// NewBench builds the page. The programs are computed only when there is nothing to mend.
func NewBench(frame Frame, f BenchForm, eq *equipment.Set) BenchPage {
	p := BenchPage{Frame: frame, BenchForm: f, Action: "/bench"}
	if len(f.Problems) == 0 {
		p.Result = NewBenchResult(f, eq)
	}
	return p
}

// NewBenchResult tries the programs.
func NewBenchResult(f BenchForm, eq *equipment.Set) BenchResult {
	in := f.Input
	names, list := []string{"Program A"}, []state.BenchRun{in.Bench(in.A, eq)}
	if len(in.B) > 0 {
		names, list = append(names, "Program B"), append(list, in.Bench(in.B, eq))
	}
	r := BenchResult{Void: unit.Volume(in.Setup.VoidML).String() + " of gas are left in the filler under suction",
		Model: "Figures of a model of a class of pump, not readings: docs/model/suction.md. Suction is a depth below the pressure of the room."}
	var drawn [][]chart.Depth
	for i := range list {
		drawn = append(drawn, depths(&list[i]))
	}
	deepest := chart.BenchScale(drawn...)
	for i := range list {
		v := benchView(names[i], &list[i], drawn[i], deepest, len(list) > 1, fmt.Sprintf("bench-%c", 'a'+i))
		r.Programs = append(r.Programs, v)
		said := names[i] + ": " + v.Sentence
		if list[i].MeanOrderedMmHg > 0 {
			said += fmt.Sprintf(" Mean at the wound %s mmHg, ordered %s.", unit.Number(list[i].MeanWoundMmHg, 0), unit.Number(list[i].MeanOrderedMmHg, 0))
		}
		r.Said = append(r.Said, said)
		if i > 0 {
			r.Now += "; "
		}
		r.Now += fmt.Sprintf("%s: %s mmHg at the wound, %s ordered", string(rune('A'+i)), unit.Number(list[i].MeanWoundMmHg, 0), unit.Number(list[i].MeanOrderedMmHg, 0))
	}
	r.rows(list)
	return r
}

// depths puts trace and band together; both have the same times.
func depths(b *state.BenchRun) []chart.Depth {
	out := make([]chart.Depth, len(b.Trace))
	for i, s := range b.Trace {
		out[i] = chart.Depth{TS: s.TS, OrderedMmHg: s.OrderedMmHg, WoundMmHg: s.WoundMmHg, LowMmHg: s.WoundMmHg, HighMmHg: s.WoundMmHg}
		if b.Band != nil && i < len(b.Band.Trace) {
			out[i].LowMmHg, out[i].HighMmHg = b.Band.Trace[i].LowMmHg, b.Band.Trace[i].HighMmHg
		}
	}
	return out
}

// benchHalfPx is the width of a chart that stands beside another.
const benchHalfPx = 400

func benchView(title string, b *state.BenchRun, list []chart.Depth, deepest float64, beside bool, id string) BenchView {
	v := BenchView{Title: title, Sentence: b.Sentence, Notes: b.Notes}
	width := float64(wideChartPx)
	if beside {
		width = benchHalfPx
	}
	if b.Setup.Hours > b.TraceHours {
		v.Notes = append(v.Notes, "The chart shows the first "+unit.Duration(b.TraceHours).String()+"; the figures are over "+unit.Duration(b.Setup.Hours).String()+".")
	}
	v.Chart = chartView("", chart.Bench(list, title+": ordered and at the wound", deepest, width, id+"-wide").SVG(),
		chart.Bench(list, title+": ordered and at the wound", deepest, narrowChartPx, id+"-narrow").SVG(),
		chart.BenchTable(list, title+": suction over time"))
	v.Stages = benchStagesOf(b)
	return v
}

// benchStagesOf turns the stages' results into words.
func benchStagesOf(b *state.BenchRun) BenchStages {
	rows := []BenchRow{{Label: "Hold"}, {Label: "At the wound"}, {Label: "Longest time to reach"}, {Label: "Mean there"}, {Label: "Would settle at"}, {Label: "Pump runs"}}
	var out BenchStages
	for i := range b.Stages {
		s := &b.Stages[i]
		reached, took := "reached and held", "never"
		switch {
		case s.TimesReached == 0 && !s.Reached:
			reached = "not reached"
		case !s.Reached:
			reached = fmt.Sprintf("reached %d of %d times", s.TimesReached, s.Times)
		case !s.Held:
			reached = "passed, not held"
		}
		if s.LongestS != nil {
			took = unit.Number(*s.LongestS, 1) + " s"
		}
		out.Stages = append(out.Stages, fmt.Sprintf("%d: %s mmHg", i+1, unit.Number(s.SuctionMmHg, 1)))
		for k, cell := range []string{unit.Number(s.HoldMin, 1) + " min", reached, took, unit.Number(s.MeanWoundMmHg, 0) + " mmHg",
			unit.Number(s.Steady.WoundMmHg, 0) + " mmHg", unit.Number(100*s.Duty, 1) + " %"} {
			rows[k].Cells = append(rows[k].Cells, cell)
		}
	}
	out.Rows = rows
	return out
}

// rows fills the table that sets the programs side by side.
func (r *BenchResult) rows(list []state.BenchRun) {
	row := func(label string, cell func(b *state.BenchRun) string) {
		x := BenchRow{Label: label}
		for i := range list {
			text := "cannot tell"
			if list[i].Path.AmbientMmHg > 0 {
				text = cell(&list[i])
			}
			x.Cells = append(x.Cells, text)
		}
		r.Rows = append(r.Rows, x)
	}
	n := unit.Number
	row("Ordered, time-mean", func(b *state.BenchRun) string { return n(b.MeanOrderedMmHg, 0) + " mmHg" })
	row("At the wound, time-mean", func(b *state.BenchRun) string { return n(b.MeanWoundMmHg, 0) + " mmHg" })
	row("Off the order by", func(b *state.BenchRun) string {
		if b.MeanOrderedMmHg == 0 {
			return "nothing is ordered"
		}
		off := n(100*math.Abs(b.MeanWoundMmHg-b.MeanOrderedMmHg)/b.MeanOrderedMmHg, 0) + " %"
		switch {
		case off == "0 %":
			return "nothing"
		case b.MeanWoundMmHg > b.MeanOrderedMmHg:
			return off + " deeper"
		}
		return off + " shallower"
	})
	row("Spread of the mean", func(b *state.BenchRun) string {
		if b.Band == nil || !b.Band.OK {
			return "not computed"
		}
		return n(b.Band.Mean.Low, 0) + " to " + n(b.Band.Mean.High, 0) + " mmHg"
	})
	row("Pump runs", func(b *state.BenchRun) string {
		text := n(100*b.Duty, 1) + " % of the time"
		if b.Band != nil && b.Band.OK {
			text += " (" + n(100*b.Band.Duty.Low, 1) + " to " + n(100*b.Band.Duty.High, 1) + ")"
		}
		return text
	})
	row("Pump starts", func(b *state.BenchRun) string { return unit.Rough(b.StartsPerHour, 0) + " an hour" })
	row("Air moved", func(b *state.BenchRun) string { return unit.Rough(b.FlowMLMin, 1) + " mL/min" })
	row("Largest leak at which it holds", func(b *state.BenchRun) string {
		if b.Largest.LeakMLMin == nil {
			return b.Largest.Sentence
		}
		return unit.Rough(*b.Largest.LeakMLMin, 0) + " mL/min"
	})
	row("With the canister half full", func(b *state.BenchRun) string {
		switch {
		case b.Setup.FluidML >= b.Setup.CanisterML/2:
			return "it is that full already"
		case b.HalfFull == nil:
			return "cannot tell"
		}
		return n(b.HalfFull.MeanWoundMmHg, 0) + " mmHg at the wound, pump starts " + unit.Rough(b.HalfFull.StartsPerHour, 0) + " an hour"
	})
	row("Liquid in the tube", func(b *state.BenchRun) string {
		switch h := b.Path.HeadMmHg; {
		case h > 0:
			return "takes " + n(h, 1) + " mmHg"
		case h < 0:
			return "adds " + n(-h, 1) + " mmHg"
		}
		return "does nothing"
	})
	row("Pressure of the room", func(b *state.BenchRun) string { return n(b.Path.AmbientMmHg, 0) + " mmHg" })
	row("A full battery lasts", func(b *state.BenchRun) string {
		if b.Battery == nil {
			return "not forecast for this class"
		}
		return fmt.Sprintf("about %s, %s between %s and %s", unit.Duration(b.Battery.Hours), unit.HowSure, unit.Duration(b.Battery.LowH), unit.Duration(b.Battery.HighH))
	})
}

// benchOften is how many of the numbers are always in sight; those of the tube and the vent come after them.
const benchOften = 8

// benchFilled tells whether anything is written in the rows.
func benchFilled(rows [][2]BenchNumber) bool {
	for _, r := range rows {
		if r[0].Value != "" || r[1].Value != "" {
			return true
		}
	}
	return false
}

func benchWrong(list []BenchNumber) bool {
	for _, n := range list {
		if n.Problem != "" {
			return true
		}
	}
	return false
}

// benchNow is the outcome in a few words.
func benchNow(problems []FormProblem, r BenchResult) string {
	if len(problems) > 0 {
		return "Nothing is drawn: " + problems[0].Text
	}
	return "Time-mean by the model. " + r.Now + "."
}

func benchID(i int) string { return fmt.Sprintf("bench-program-%d", i) }

// keypad is the keypad that a phone shows; those for numbers have no minus.
func (n BenchNumber) keypad() string {
	if n.Least < 0 {
		return "text"
	}
	return "decimal"
}

// attributes tell the script the ends of the slider, and join the number to its hint.
func (n BenchNumber) attributes() templ.Attributes {
	a := templ.Attributes{"data-slide": unit.Number(n.Slide, 2), "data-slide-to": unit.Number(n.SlideTo, 2), "data-slide-step": unit.Number(n.Step, 2), "data-slide-label": n.In + n.Label + ", slider"}
	if n.In != "" {
		a["aria-label"] = n.In + n.Label
	}
	if n.Hint != "" {
		a["aria-describedby"] = n.ID() + "-hint"
	}
	if n.Problem != "" {
		a["aria-invalid"] = "true"
	}
	return a
}
