package chart

import (
	"math"
	"time"

	"lowtide/casebook"
	"lowtide/state"
	"lowtide/unit"
)

// Sizes of letters and strips.
const (
	axisPx  = 11.0
	wordsPx = 12.0
	leftPx  = 34.0
	rightPx = 6.0

	woundStripPx    = 62.0
	canisterStripPx = 66.0
	suctionPx       = 130.0
	rowPx           = 30.0
)

// TideAhead draws the tide chart of a case over a range: one time axis; suction downward from the line marked "ambient",
// canister fill and wound sizes above it, visits and alarms as marks with words below, and a line at now.
//
// widthPx is the width of the drawing, at least 280. id starts the IDs inside it. ahead is the canister's fill forecast past
// its newest reading, drawn as a median with an 80 % band; it may be nil.
func TideAhead(c *casebook.Case, ahead *state.FillAhead, now time.Time, r Range, widthPx float64, id string) Drawing {
	d := Drawing{ID: id, WidthPx: max(280, widthPx), Title: "Tide chart",
		Desc: "From " + day(c, r.From) + " to " + day(c, now) + ". Below the line marked ambient: ordered suction and the suction that the pump showed. Above it: canister fill and wound sizes. The table below the chart holds every number."}
	if ahead != nil && len(ahead.Points) > 1 {
		d.Desc += " The dashed line past the newest reading is the median of what the canister will hold if nobody changes it, and the band holds the truth four times in five."
	}
	t := gather(c, now)
	t.ahead = ahead
	a := axis{Range: r, x0: leftPx, x1: d.WidthPx - rightPx}
	p := &plot{d: &d, a: a, c: c, now: now, ticks: a.ticks(c, now)}
	top := 14.0 // room for the word "now"
	y := top
	for _, w := range t.wounds {
		if len(w.Measured) > 0 {
			y = p.wound(w, y)
		}
	}
	y = p.canister(t, y)
	y = p.suction(t, y)
	for _, row := range []string{rowVisits, rowAlarms} {
		y = p.events(t, row, y)
	}
	p.days(top, y)
	d.HeightPx = y + 22
	return d
}

func day(c *casebook.Case, t time.Time) string { return t.In(c.Zone).Format("Mon 2 Jan 2006") }

// plot is a drawing in the making.
type plot struct {
	d     *Drawing
	a     axis
	c     *casebook.Case
	now   time.Time
	ticks []tick
}

func (p *plot) add(s ...Shape) { p.d.Shapes = append(p.d.Shapes, s...) }

func (p *plot) text(x, y float64, words string, anchor Anchor, ink Ink) {
	p.add(Text{Point{x, y}, words, axisPx, anchor, ink, false})
}

// title names a strip above it.
func (p *plot) title(y float64, words string) {
	p.add(Text{Point{0, y}, words, wordsPx, Start, InkText, true})
}

// grid draws the day lines of a strip.
func (p *plot) grid(y0, y1 float64) {
	var lines [][2]Point
	for _, t := range p.ticks {
		if len(p.ticks) <= 45 || t.label != "" {
			x := p.a.x(t.at)
			lines = append(lines, [2]Point{{x, y0}, {x, y1}})
		}
	}
	p.add(Lines{lines, Pen{InkLine, 0.5, nil}})
}

// days draws the time axis under everything, and the line at now through everything.
func (p *plot) days(top, y float64) {
	p.add(Line{Point{p.a.x0, y}, Point{p.a.x1, y}, Pen{InkSoft, 1, nil}})
	free := p.a.x0
	for _, t := range p.ticks {
		x := p.a.x(t.at)
		if t.label != "" {
			p.add(Line{Point{x, y}, Point{x, y + 5}, Pen{InkSoft, 1, nil}})
			// the last day may have no room for its name
			if left := min(x+2, p.a.x1-wide(t.label, axisPx)); left >= free {
				p.text(left, y+15, t.label, Start, InkText)
				free = left + wide(t.label, axisPx) + 3
			}
		}
	}
	if p.a.Holds(p.now) {
		x := p.a.x(p.now)
		p.add(Line{Point{x, top - 2}, Point{x, y}, Pen{InkDeep, 1.5, []float64{5, 3}}})
		w := wide("now", axisPx)
		p.add(Text{Point{min(x, p.a.x1-w/2), top - 4}, "now", axisPx, Middle, InkDeep, true})
	}
}

// scale returns a round end of a scale that holds the greatest value.
func scale(greatest float64) float64 {
	if !(greatest > 0) {
		return 1
	}
	base := math.Pow(10, math.Floor(math.Log10(greatest)))
	for _, k := range []float64{1, 1.5, 2, 3, 4, 5, 6, 8} {
		if base*k >= greatest {
			return base * k
		}
	}
	return base * 10
}

// canister draws the fill: readings joined within a canister, changes as vertical ends.
func (p *plot) canister(t told, y float64) float64 {
	title := "Canister fill, mL"
	if t.ahead != nil && len(t.ahead.Points) > 1 && p.a.Holds(p.now) {
		title += "; dashed: forecast, band 80 %"
	}
	p.title(y+12, title)
	y0, y1 := y+18, y+canisterStripPx
	p.grid(y0, y1)
	top, any := 0.0, false
	for _, k := range t.canisters {
		for _, r := range k {
			any = any || p.a.Holds(r.at)
			top = max(top, r.mL)
		}
	}
	if t.sizeML != nil {
		top = max(top, *t.sizeML)
	} else {
		top = scale(top)
	}
	if !any {
		p.text(p.a.x0+4, y1-6, "not known: no reading in this time", Start, InkSoft)
		top = max(top, 1)
	}
	p.add(Line{Point{p.a.x0, y1}, Point{p.a.x1, y1}, Pen{InkSoft, 0.75, nil}})
	at := func(mL float64) float64 { return y1 - (y1-y0)*min(mL, top)/top }
	if t.sizeML != nil || any {
		p.text(p.a.x0-4, y1, "0", End, InkSoft)
		p.text(p.a.x0-4, y0+8, unit.Number(top, 0), End, InkSoft)
	}
	if t.sizeML != nil {
		p.add(Line{Point{p.a.x0, y0}, Point{p.a.x1, y0}, Pen{InkSoft, 0.75, []float64{1, 3}}})
	}
	p.fillAhead(t.ahead, at)
	p.fills(t.canisters, at, y1, t.ahead != nil && len(t.ahead.Points) > 1)
	return y1 + 8
}

// fills draws every canister: a filled run that ends in a vertical line where the canister was changed.
// goesOn tells that a forecast begins at the last reading, so that its words stand before it.
func (p *plot) fills(list [][]reading, at func(float64) float64, y1 float64, goesOn bool) {
	var areas, runs [][]Point
	var dots []Point
	var emptied [][2]Point
	for _, k := range list {
		var run []Point
		for _, r := range k {
			if !p.a.Holds(r.at) {
				continue
			}
			x := p.a.x(r.at)
			if !r.known {
				// What was in it is not known: only the change itself is drawn.
				emptied = append(emptied, [2]Point{{x, y1 - 14}, {x, y1}})
				continue
			}
			pt := Point{x, at(r.mL)}
			run = append(run, pt)
			if r.mL > 0 {
				dots = append(dots, pt)
			}
			if r.change {
				run = append(run, Point{x, y1})
			}
		}
		if len(run) > 1 {
			runs = append(runs, run)
			areas = append(areas, append(append([]Point{}, run...), Point{run[len(run)-1].X, y1}, Point{run[0].X, y1}))
		}
	}
	p.add(Area{areas, InkPale}, Polyline{runs, Pen{InkWater, 1.5, nil}}, Lines{emptied, Pen{InkWater, 1, []float64{2, 2}}}, Dots{dots, 5, InkWater})
	if n := len(list); n > 0 {
		k := list[n-1]
		if last := k[len(k)-1]; last.known && !last.change && last.mL > 0 && p.a.Holds(last.at) {
			pt, words := Point{p.a.x(last.at), at(last.mL)}, unit.Volume(last.mL).String()
			if goesOn && pt.X-5-wide(words, axisPx) > p.a.x0 {
				p.text(pt.X-5, pt.Y-3, words, End, InkText)
			} else {
				p.beside(pt, words)
			}
		}
	}
}

// beside writes words next to a point, on the side that has room.
func (p *plot) beside(at Point, words string) {
	if at.X+5+wide(words, axisPx) <= p.a.x1 {
		p.text(at.X+5, at.Y+4, words, Start, InkText)
		return
	}
	p.text(at.X-5, at.Y-3, words, End, InkText)
}

// events draws one row of marks; the row's word says what they are, and words follow where there is room.
func (p *plot) events(t told, row string, y float64) float64 {
	p.title(y+12, row)
	y1 := y + rowPx
	p.grid(y+16, y1)
	free, n := p.a.x0, 0
	mid := y + 22
	var in []event
	var bars [][2]Point
	for _, e := range t.events {
		if e.row == row && p.a.Holds(e.at) {
			in = append(in, e)
		}
	}
	for i, e := range in {
		x := p.a.x(e.at)
		n++
		bars = append(bars, [2]Point{{x, mid - 6.5}, {x, mid + 6.5}})
		if row == rowVisits || x < free {
			continue
		}
		room, before := p.a.x1, p.a.x0
		if i > 0 {
			before = p.a.x(in[i-1].at)
		}
		if i+1 < len(in) {
			room = p.a.x(in[i+1].at) - 2
		}
		switch w := wide(e.words, axisPx); {
		case x+4+w <= room:
			p.text(x+4, mid+4, e.words, Start, InkText)
			free = x + 4 + w
		case x-4-w >= max(free, before+4):
			p.text(x-4, mid+4, e.words, End, InkText)
		}
	}
	p.add(Lines{bars, Pen{InkText, 2, nil}})
	if row == rowVisits && t.planned != nil && t.planned.After(p.now) && p.a.Holds(*t.planned) {
		x := p.a.x(*t.planned)
		p.add(Marker{Point{x, mid}, Ring, 9, InkText})
		p.text(min(x, p.a.x1-wide("planned", axisPx)/2), y+13, "planned", Middle, InkText)
		n++
	}
	if n == 0 {
		p.text(p.a.x0+4, mid+4, "none recorded in this time", Start, InkSoft)
	}
	return y1 + 4
}
