package chart

import (
	"lowtide/unit"
)

// suction draws depth downward from the ambient line: what the entries tell of therapy as columns with words, the
// ordered depth as a thin line (or a band with its mean), and the depths that the pump showed as marks.
func (p *plot) suction(t told, y float64) float64 {
	p.title(y+12, "Suction, mmHg below ambient")
	y0, y1 := y+24, y+24+suctionPx
	deepest := 150.0
	for _, o := range t.orders {
		deepest = max(deepest, o.deep)
	}
	for _, s := range t.shown {
		deepest = max(deepest, s.mmHg)
	}
	deepest = scale(1.2 * min(deepest, 2000)) // the words on therapy stand below the deepest line
	at := func(mmHg float64) float64 { return y0 + (y1-y0)*min(max(mmHg, 0), deepest)/deepest }
	for _, s := range t.spells {
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
	for _, o := range t.orders {
		p.ordered(o, at, y0)
	}
	logged := p.delivered(t.logs, at, y0)
	free := p.a.x0 - 100
	var dots []Point
	for _, s := range t.shown {
		if !p.a.Holds(s.at) {
			continue
		}
		pt := Point{p.a.x(s.at), at(s.mmHg)}
		if s.by == "at a visit" {
			dots = append(dots, pt)
		} else {
			p.add(Marker{pt, Square, 7, InkDeep})
		}
		words := unit.Number(s.mmHg, 0)
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
	if len(t.shown) > 0 {
		p.text(0, y1+17, "Points: suction shown, round at a visit, square at an alarm.", Start, InkSoft)
		y1 += 18
	}
	return y1 + 8
}

// spell draws a column: on is tinted, off is hatched with a thick line at ambient, not known is left white.
func (p *plot) spell(s Spell, y0, y1 float64) {
	from, to := p.a.cut(s.From), p.a.cut(s.To)
	x0, x1 := p.a.x(from), p.a.x(to)
	if x1-x0 < 0.05 {
		return
	}
	switch s.State {
	case On:
		p.add(Rect{At: Point{x0, y0}, WidthPx: x1 - x0, HeightPx: y1 - y0, Fill: InkPale})
	case Off:
		x1 = max(x1, x0+2) // a short gap must still be seen
		p.add(Rect{At: Point{x0, y0}, WidthPx: x1 - x0, HeightPx: y1 - y0, Fill: InkPaper},
			Hatch{At: Point{x0, y0}, WidthPx: x1 - x0, HeightPx: y1 - y0, SpacingPx: 7, Pen: Pen{InkSoft, 0.75, nil}},
			Line{Point{x0, y0 + 2}, Point{x1, y0 + 2}, Pen{InkText, 4, nil}})
	}
	words := string(s.State)
	w := wide(words, axisPx)
	if x1-x0 >= w+4 || s.State == Off {
		x := (x0 + x1) / 2
		x = min(max(x, p.a.x0+w/2), p.a.x1-w/2)
		if s.State == Off {
			p.add(Rect{At: Point{x - w/2 - 2, y1 - 15}, WidthPx: w + 4, HeightPx: 14, Fill: InkPaper})
		}
		p.text(x, y1-4, words, Middle, InkText)
	}
}

// ordered draws the depth of one order.
func (p *plot) ordered(o ordered, at func(float64) float64, y0 float64) {
	if !o.to.After(p.a.From) || !o.from.Before(p.a.To) {
		return
	}
	x0, x1 := p.a.x(p.a.cut(o.from)), p.a.x(p.a.cut(o.to))
	words := o.words()
	y := at(o.deep)
	switch {
	case !o.any:
		y = y0 + 14
	case o.shallow == o.deep:
		p.add(Line{Point{x0, y}, Point{x1, y}, Pen{InkWater, 1.5, nil}})
	default:
		pen := Pen{InkWater, 0.75, []float64{2, 2}}
		p.add(Line{Point{x0, at(o.shallow)}, Point{x1, at(o.shallow)}, pen}, Line{Point{x0, y}, Point{x1, y}, pen},
			Line{Point{x0, at(o.shallow)}, Point{x0, y}, pen}, Line{Point{x1, at(o.shallow)}, Point{x1, y}, pen})
		if o.meanKnown {
			p.add(Line{Point{x0, at(o.mean)}, Point{x1, at(o.mean)}, Pen{InkWater, 1.5, nil}})
		}
	}
	w := wide(words, axisPx)
	switch {
	case w+6 <= x1-x0:
		p.text(x0+4, y-5, words, Start, InkWater)
	case x1-x0 > wide("000", axisPx)+2 && o.any:
		p.text(x0+2, y-5, unit.Number(o.deep, 0), Start, InkWater)
	}
}
