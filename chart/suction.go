package chart

import (
	"strings"

	"lowtide/state"
	"lowtide/unit"
)

// suction draws depth downward from the ambient line: what the entries tell of therapy as columns with words, the
// ordered depth as a thin line (or a band with its mean), and the depths that the pump showed as marks.
func (p *plot) suction(t pumpTide, y float64) float64 {
	title, height := "Suction, mmHg below ambient", suctionPx
	if t.Pump != "" {
		height = severalPx
		title = "Pump " + pumpWords(t.PumpTide) + ": suction, mmHg"
	}
	p.title(y+12, title)
	y0, y1 := y+24, y+24+height
	deepest := 150.0
	for _, o := range t.Orders {
		deepest = max(deepest, o.Deep)
	}
	for _, s := range t.Shown {
		deepest = max(deepest, float64(s.Suction))
	}
	deepest = scale(1.2 * min(deepest, 2000)) // the words on therapy stand below the deepest line
	at := func(mmHg float64) float64 { return y0 + (y1-y0)*min(max(mmHg, 0), deepest)/deepest }
	for _, s := range t.Spells {
		p.spell(s, y0, y1)
	}
	p.grid(y0, y1)
	step := 50.0
	for deepest/step > 4 {
		step *= 2
	}
	for m := step; m <= deepest; m += step {
		p.add(Line{Point{p.a.x0, at(m)}, Point{p.a.x1, at(m)}, Pen{InkLine, 0.5, nil}})
		p.text(p.a.x0-4, at(m)+4, unit.Number(m, 0), End, InkSoft)
	}
	for _, o := range t.Orders {
		p.ordered(o, at, y0)
	}
	logged := p.delivered(t.Logs, at, y0)
	free := p.a.x0 - 100
	var dots []Point
	for _, s := range t.Shown {
		if !p.a.Holds(s.At) {
			continue
		}
		pt := Point{p.a.x(s.At), at(float64(s.Suction))}
		if !s.AtAlarm {
			dots = append(dots, pt)
		} else {
			p.add(Marker{pt, Square, 7, InkDeep})
		}
		words := unit.Number(float64(s.Suction), 0)
		w := wide(words, axisPx)
		x := min(max(pt.X, p.a.x0+w/2+1), p.a.x1-w/2)
		if x-w/2 > free+2 {
			p.text(x, pt.Y+15, words, Middle, InkText)
			free = x + w/2
		}
	}
	p.add(Dots{dots, 7, InkDeep}, Line{Point{p.a.x0, y0}, Point{p.a.x1, y0}, Pen{InkDeep, 2, nil}})
	p.text(p.a.x0-4, y0+4, "0", End, InkSoft)
	p.add(Text{Point{p.a.x1, y0 - 4}, "ambient", axisPx, End, InkDeep, true})
	if logged {
		p.text(0, y1+17, "Dark line: suction delivered, by the pump's log; broken at ambient: unknown.", Start, InkSoft)
		y1 += 18
	}
	if len(t.Shown) > 0 {
		p.text(0, y1+17, "Points: suction shown, round at a visit, square at an alarm.", Start, InkSoft)
		y1 += 18
	}
	return y1 + 8
}

// doingWords says what suction does; why it is off is not for a picture.
func doingWords(d state.Doing) string {
	if d.IsOff() {
		return string(state.SuctionOff)
	}
	return string(d)
}

// orderWords says an order's suction.
func orderWords(o state.OrderSpan) string {
	switch {
	case !o.Any:
		return "ordered: suction not stated"
	case o.Shallow == o.Deep:
		return "ordered " + unit.Suction(o.Deep).String()
	case o.MeanKnown:
		return "ordered " + unit.Number(o.Shallow, 0) + " to " + unit.Suction(o.Deep).String() + ", mean " + unit.Number(o.Mean, 0)
	}
	return "ordered " + unit.Number(o.Shallow, 0) + " to " + unit.Suction(o.Deep).String() + ", holds not stated"
}

// pumpWords names a pump with its wounds.
func pumpWords(p state.PumpTide) string {
	switch len(p.Wounds) {
	case 0:
		return p.Pump
	case 1:
		return p.Pump + " (wound " + p.Wounds[0] + ")"
	}
	return p.Pump + " (wounds " + strings.Join(p.Wounds, ", ") + ")"
}

// spell draws a column: on is tinted, off is hatched with a thick line at ambient, not known is left white.
func (p *plot) spell(s state.DrawnSpell, y0, y1 float64) {
	from, to := p.a.cut(s.From), p.a.cut(s.To)
	x0, x1 := p.a.x(from), p.a.x(to)
	if x1-x0 < 0.05 {
		return
	}
	switch {
	case s.Doing == state.SuctionOn:
		p.add(Rect{At: Point{x0, y0}, WidthPx: x1 - x0, HeightPx: y1 - y0, Fill: InkPale})
	case s.Doing.IsOff():
		x1 = max(x1, x0+2) // a short gap must still be seen
		p.add(Rect{At: Point{x0, y0}, WidthPx: x1 - x0, HeightPx: y1 - y0, Fill: InkPaper},
			Hatch{At: Point{x0, y0}, WidthPx: x1 - x0, HeightPx: y1 - y0, SpacingPx: 7, Pen: Pen{InkSoft, 0.75, nil}},
			Line{Point{x0, y0 + 2}, Point{x1, y0 + 2}, Pen{InkText, 4, nil}})
	}
	words := doingWords(s.Doing)
	w := wide(words, axisPx)
	if x1-x0 >= w+4 || s.Doing.IsOff() {
		x := (x0 + x1) / 2
		x = min(max(x, p.a.x0+w/2), p.a.x1-w/2)
		if s.Doing.IsOff() {
			p.add(Rect{At: Point{x - w/2 - 2, y1 - 15}, WidthPx: w + 4, HeightPx: 14, Fill: InkPaper})
		}
		p.text(x, y1-4, words, Middle, InkText)
	}
}

// ordered draws the depth of one order.
func (p *plot) ordered(o state.OrderSpan, at func(float64) float64, y0 float64) {
	if !o.To.After(p.a.From) || !o.From.Before(p.a.To) {
		return
	}
	x0, x1 := p.a.x(p.a.cut(o.From)), p.a.x(p.a.cut(o.To))
	words := orderWords(o)
	y := at(o.Deep)
	switch {
	case !o.Any:
		y = y0 + 14
	case o.Shallow == o.Deep:
		p.add(Line{Point{x0, y}, Point{x1, y}, Pen{InkWater, 1.5, nil}})
	default:
		pen := Pen{InkWater, 0.75, []float64{2, 2}}
		p.add(Line{Point{x0, at(o.Shallow)}, Point{x1, at(o.Shallow)}, pen}, Line{Point{x0, y}, Point{x1, y}, pen},
			Line{Point{x0, at(o.Shallow)}, Point{x0, y}, pen}, Line{Point{x1, at(o.Shallow)}, Point{x1, y}, pen})
		if o.MeanKnown {
			p.add(Line{Point{x0, at(o.Mean)}, Point{x1, at(o.Mean)}, Pen{InkWater, 1.5, nil}})
		}
	}
	w := wide(words, axisPx)
	switch {
	case w+6 <= x1-x0:
		p.text(x0+4, y-5, words, Start, InkWater)
	case x1-x0 > wide("000", axisPx)+2 && o.Any:
		p.text(x0+2, y-5, unit.Number(o.Deep, 0), Start, InkWater)
	}
}
