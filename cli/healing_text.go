package cli

import (
	"fmt"
	"io"
	"math"
	"time"

	"lowtide/healing"
	"lowtide/rule/value"
	"lowtide/unit"
)

// printHealing writes an assessment for a person.
func printHealing(w io.Writer, a healing.Assessment, v value.Values) {
	fmt.Fprintln(w, a.Sentence)
	printFigures(w, a.Figures)
	if a.Now.Area != nil || a.Now.Depth != nil || a.Now.Volume != nil {
		fmt.Fprintln(w, "Size ahead (between the two last numbers four times in five; the scale is the", a.Scale+"):")
		for _, x := range a.Ahead {
			if x.Area == nil && x.Depth == nil && x.Volume == nil && x.Bare == nil {
				continue // a note says why
			}
			fmt.Fprintf(w, "  %s (in %v days):", day(x.Date), x.Days)
			printBand(w, " area", x.Area, "cm²")
			printBand(w, " depth", x.Depth, "cm")
			printBand(w, " volume", x.Volume, "cm³")
			printBand(w, " bed not granulated", x.Bare, "%")
			fmt.Fprintln(w)
		}
	}
	if a.Status != healing.Closed {
		printArrival(w, "Closed", a.Closure, a.AsOf)
	}
	for _, g := range a.Goals {
		printArrival(w, fmt.Sprintf("Goal %q, %s below %v", g.ID, g.Measure, g.Below), g, a.AsOf)
	}
	switch {
	case a.Status == healing.Closed:
	case a.NotImproving == nil:
		fmt.Fprintln(w, v.Fill("Improving or not: cannot tell; sizes over at least {progress_shortest}, the last within {size_fresh}, are needed."))
	default:
		fmt.Fprintf(w, "Chance that it is not improving over the last %.0f days, from all measures together: %s\n", a.WindowDays, percent(*a.NotImproving))
	}
	for _, m := range a.Milestones {
		fmt.Fprintf(w, "%s (due %s): %s", m.Title, day(m.Due), m.State)
		if m.Chance != nil && m.Met == nil {
			fmt.Fprintf(w, ", chance %s", percent(*m.Chance))
		}
		fmt.Fprintf(w, ". %s [%s]\n", m.Right, m.Source)
	}
	for _, o := range a.Odd {
		fmt.Fprintf(w, "Odd: %s %v on %s: %s\n", o.Measure, o.Value, day(o.At), o.Why)
	}
	for _, l := range a.LeftOut {
		fmt.Fprintf(w, "Left out: %s on %s: %s\n", l.Measure, day(l.At), l.Why)
	}
	for _, n := range a.Notes {
		fmt.Fprintln(w, "Note:", n)
	}
	fmt.Fprintln(w, "It supports and does not replace clinical judgement; the prescriber and the local protocol decide.")
}

func printFigures(w io.Writer, f healing.Figures) {
	for _, x := range []struct {
		name string
		v    *float64
		how  func(float64) string
	}{
		{"area gone since the first size", f.AreaReduction, percent}, {"depth gone", f.DepthReduction, percent}, {"volume gone", f.VolumeReduction, percent},
		{"edge advance", f.LinearAdvance, func(x float64) string { return unit.Number(x, 3) + " cm a week" }},
		{"rise of the bed", f.VerticalAdvance, func(x float64) string { return unit.Number(x, 3) + " cm a week" }},
		{"halving time of the area", f.HalvingDays, func(x float64) string { return unit.Number(x, 0) + " days" }},
		{"doubling time of the area", f.DoublingDays, func(x float64) string { return unit.Number(x, 0) + " days" }},
	} {
		if x.v != nil {
			fmt.Fprintf(w, "  %s: %s\n", x.name, x.how(*x.v))
		}
	}
}

func printBand(w io.Writer, name string, b *healing.Band, u string) {
	if b != nil {
		fmt.Fprintf(w, "%s %s %s (%s to %s)", name, unit.Number(b.Median, 1), u, unit.Number(b.P10, 1), unit.Number(b.P90, 1))
	}
}

func printArrival(w io.Writer, what string, x healing.Arrival, asOf time.Time) {
	if x.MedianDays == nil {
		fmt.Fprintf(w, "%s: %s\n", what, x.Basis)
		return
	}
	at := func(d float64) string { return day(asOf.AddDate(0, 0, int(math.Round(d)))) }
	fmt.Fprintf(w, "%s: about %s, %s between %s and %s, %s\n", what, at(*x.MedianDays), unit.HowSure, at(*x.P10Days), at(*x.P90Days), x.Basis)
}

// percent never rounds a chance to certainty.
func percent(x float64) string {
	switch {
	case x > 0 && x < 0.01:
		return "under 1 %"
	case x > 0.99 && x < 1:
		return "over 99 %"
	}
	return unit.Number(100*x, 0) + " %"
}

func day(t time.Time) string { return t.Format("2 Jan 2006") }
