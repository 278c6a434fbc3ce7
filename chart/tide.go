package chart

import (
	"math"
	"slices"
	"time"

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
	severalPx       = 60.0 // of each of several pumps, so that a paper keeps its pages
	rowPx           = 30.0
)

// Tide is the tide chart of a case over a range: one time axis; for each pump suction downward from the line marked
// "ambient" and canister fill above it, wound sizes on top, visits and alarms as marks with words below, and a line at now.
type Tide struct {
	Range
	s     *state.State
	tide  *state.Tide
	pumps []pumpTide
}

// pumpTide is a pump with the forecast of its canister past the newest reading; ahead is nil once therapy has ended.
type pumpTide struct {
	state.PumpTide
	ahead *state.FillAhead
}

// goesOn tells that a forecast is drawn.
func (p pumpTide) goesOn() bool { return p.ahead != nil && len(p.ahead.Points) > 1 }

// TideOf is the tide chart of the last days, all of them for 0, which reaches past now where the fill of a canister can be
// forecast. The state is not modified.
func TideOf(s *state.State, days int) *Tide {
	t := &Tide{s: s, tide: s.Tide()}
	t.Range = lastDays(s, t.tide, days)
	to := aheadTo(s, t.Range)
	for _, p := range t.tide.Pumps {
		x := pumpTide{PumpTide: p}
		if !t.tide.Ended {
			ahead := p.Ahead(s.AsOf, to)
			x.ahead = &ahead
		}
		t.pumps = append(t.pumps, x)
	}
	if t.GoesOn() {
		t.Range = t.until(to)
	}
	return t
}

// GoesOn tells that the forecast of a canister is drawn past now.
func (t *Tide) GoesOn() bool { return slices.ContainsFunc(t.pumps, pumpTide.goesOn) }

// Drawing draws the chart, widthPx wide but at least 280. id starts the IDs inside it.
func (t *Tide) Drawing(widthPx float64, id string) Drawing {
	d := Drawing{ID: id, WidthPx: max(280, widthPx), Title: "Tide chart",
		Desc: "From " + t.day(t.From) + " to " + t.day(t.s.AsOf) + ". Below the line marked ambient: ordered suction and the suction that the pump showed. Above it: canister fill and wound sizes. The table below the chart holds every number."}
	if t.GoesOn() {
		d.Desc += " The dashed line past the newest reading is the median of what the canister will hold if nobody changes it, and the band holds the truth four times in five."
	}
	p := newPlot(&d, t.s, t.Range)
	top := 14.0 // room for the word "now"
	y := top
	for _, w := range t.tide.Wounds {
		if len(w.Sizes) > 0 {
			y = p.wound(w, y)
		}
	}
	for _, k := range t.pumps {
		y = p.canister(k, y)
		y = p.suction(k, y)
	}
	y = p.visits(t.tide, y)
	y = p.alarms(t.tide.Alarms, y)
	p.days(top, y)
	d.HeightPx = y + 22
	return d
}

func (t *Tide) day(at time.Time) string { return at.In(t.s.Zone()).Format("Mon 2 Jan 2006") }

// plot is a drawing in the making.
type plot struct {
	d     *Drawing
	a     axis
	now   time.Time
	ticks []tick
}

func newPlot(d *Drawing, s *state.State, r Range) *plot {
	a := axis{Range: r, x0: leftPx, x1: d.WidthPx - rightPx}
	return &plot{d: d, a: a, now: s.AsOf, ticks: a.ticks(s)}
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
func (p *plot) canister(t pumpTide, y float64) float64 {
	title, ahead := "Canister fill, mL", "; dashed: forecast; band: four times in five"
	if t.Pump != "" {
		title, ahead = "Pump "+t.Pump+": canister, mL", "; dashed: forecast"
	}
	if t.goesOn() && p.a.Holds(p.now) {
		title += ahead
	}
	p.title(y+12, title)
	y0, y1 := y+18, y+canisterStripPx
	p.grid(y0, y1)
	top, any := 0.0, false
	for _, k := range t.Canisters {
		for _, r := range k {
			any = any || p.a.Holds(r.At)
			top = max(top, r.ML)
		}
	}
	if t.SizeML != nil {
		top = max(top, *t.SizeML)
	} else {
		top = scale(top)
	}
	if !any {
		p.text(p.a.x0+4, y1-6, "not known: no reading in this time", Start, InkSoft)
		top = max(top, 1)
	}
	p.add(Line{Point{p.a.x0, y1}, Point{p.a.x1, y1}, Pen{InkSoft, 0.75, nil}})
	at := func(mL float64) float64 { return y1 - (y1-y0)*min(mL, top)/top }
	if t.SizeML != nil || any {
		p.text(p.a.x0-4, y1, "0", End, InkSoft)
		p.text(p.a.x0-4, y0+8, unit.Number(top, 0), End, InkSoft)
	}
	if t.SizeML != nil {
		p.add(Line{Point{p.a.x0, y0}, Point{p.a.x1, y0}, Pen{InkSoft, 0.75, []float64{1, 3}}})
	}
	p.fillAhead(t.ahead, at)
	p.fills(t.Canisters, at, y1, t.goesOn())
	return y1 + 8
}

// fills draws every canister: a filled run that ends in a vertical line where the canister was changed.
// goesOn tells that a forecast begins at the last reading, so that its words stand before it.
func (p *plot) fills(list [][]state.CanisterPoint, at func(float64) float64, y1 float64, goesOn bool) {
	var areas, runs [][]Point
	var dots []Point
	var emptied [][2]Point
	for _, k := range list {
		var run []Point
		for _, r := range k {
			if !p.a.Holds(r.At) {
				continue
			}
			x := p.a.x(r.At)
			if !r.Known {
				// What was in it is not known: only the change itself is drawn.
				emptied = append(emptied, [2]Point{{x, y1 - 14}, {x, y1}})
				continue
			}
			pt := Point{x, at(r.ML)}
			run = append(run, pt)
			if r.ML > 0 {
				dots = append(dots, pt)
			}
			if r.Changed {
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
		if last := k[len(k)-1]; last.Known && !last.Changed && last.ML > 0 && p.a.Holds(last.At) {
			pt, words := Point{p.a.x(last.At), at(last.ML)}, unit.Volume(last.ML).String()
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

// visits draws the dressing changes and the next visit. Their row's word says what they are.
func (p *plot) visits(t *state.Tide, y float64) float64 {
	mid, y1 := p.row("Visits", y)
	in := p.bars(t.Visits, mid)
	n := len(in)
	if t.Planned != nil && t.Planned.After(p.now) && p.a.Holds(*t.Planned) {
		x := p.a.x(*t.Planned)
		p.add(Marker{Point{x, mid}, Ring, 9, InkText})
		p.text(min(x, p.a.x1-wide("planned", axisPx)/2), y+13, "planned", Middle, InkText)
		n++
	}
	p.noneIn(n, mid)
	return y1 + 4
}

// alarms draws what was reported, with words where there is room.
func (p *plot) alarms(list []state.TideMark, y float64) float64 {
	mid, y1 := p.row("Alarms", y)
	free := p.a.x0
	in := p.within(list)
	for i, e := range in {
		x := p.a.x(e.At)
		if x < free {
			continue
		}
		room, before := p.a.x1, p.a.x0
		if i > 0 {
			before = p.a.x(in[i-1].At)
		}
		if i+1 < len(in) {
			room = p.a.x(in[i+1].At) - 2
		}
		switch w := wide(e.Words, axisPx); {
		case x+4+w <= room:
			p.text(x+4, mid+4, e.Words, Start, InkText)
			free = x + 4 + w
		case x-4-w >= max(free, before+4):
			p.text(x-4, mid+4, e.Words, End, InkText)
		}
	}
	p.bars(list, mid)
	p.noneIn(len(in), mid)
	return y1 + 4
}

// row begins a row of marks and returns the middle of the marks and the row's end.
func (p *plot) row(title string, y float64) (mid, end float64) {
	p.title(y+12, title)
	p.grid(y+16, y+rowPx)
	return y + 22, y + rowPx
}

func (p *plot) within(list []state.TideMark) []state.TideMark {
	var in []state.TideMark
	for _, e := range list {
		if p.a.Holds(e.At) {
			in = append(in, e)
		}
	}
	return in
}

// bars draws a stroke for each mark in the range, and returns those.
func (p *plot) bars(list []state.TideMark, mid float64) []state.TideMark {
	in := p.within(list)
	var bars [][2]Point
	for _, e := range in {
		x := p.a.x(e.At)
		bars = append(bars, [2]Point{{x, mid - 6.5}, {x, mid + 6.5}})
	}
	p.add(Lines{bars, Pen{InkText, 2, nil}})
	return in
}

func (p *plot) noneIn(n int, mid float64) {
	if n == 0 {
		p.text(p.a.x0+4, mid+4, "none recorded in this time", Start, InkSoft)
	}
}
