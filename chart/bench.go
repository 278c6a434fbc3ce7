package chart

import (
	"strings"

	"lowtide/unit"
)

// Depth is the suction at one moment of a program that is tried: depths below ambient in mmHg. Low and High are the
// spread, equal when none was computed.
type Depth struct {
	TS                                        float64
	OrderedMmHg, WoundMmHg, LowMmHg, HighMmHg float64
}

// BenchScale is a depth that holds everything of several programs, so that their charts can be compared.
func BenchScale(programs ...[]Depth) float64 {
	deepest := 100.0
	for _, p := range programs {
		for _, d := range p {
			deepest = max(deepest, d.OrderedMmHg, d.WoundMmHg, d.HighMmHg)
		}
	}
	return scale(1.08 * min(deepest, 900))
}

const benchPx = 190.0

// Bench draws a program that is tried: the ordered depth as a thin broken line, the depth at the wound as a full
// line, its spread tinted, all downward from the line marked "ambient". deepestMmHg is the end of the scale.
func Bench(list []Depth, title string, deepestMmHg, widthPx float64, id string) Drawing {
	d := Drawing{ID: id, WidthPx: max(260, widthPx), HeightPx: benchPx + 76, Title: title,
		Desc: "Suction in mmHg below ambient over the time in minutes: ordered as a broken line, at the wound as a full line. The table below the chart holds the numbers."}
	x0, x1, y0, y1 := leftPx, d.WidthPx-rightPx, 24.0, 24.0+benchPx
	add := func(s ...Shape) { d.Shapes = append(d.Shapes, s...) }
	text := func(x, y float64, words string, a Anchor, ink Ink) {
		add(Text{Point{x, y}, words, axisPx, a, ink, false})
	}
	endS := 60.0
	if n := len(list); n > 0 {
		endS = max(endS, list[n-1].TS)
	}
	at := func(tS, mmHg float64) Point {
		return Point{x0 + (x1-x0)*tS/endS, y0 + (y1-y0)*min(max(mmHg, 0), deepestMmHg)/deepestMmHg}
	}
	add(Text{Point{0, 12}, "Suction, mmHg below ambient", wordsPx, Start, InkText, true})
	step := 25.0
	for deepestMmHg/step > 6 {
		step *= 2
	}
	for m := step; m <= deepestMmHg; m += step {
		add(Line{at(0, m), at(endS, m), Pen{InkLine, 0.5, nil}})
		text(x0-4, at(0, m).Y+4, unit.Number(m, 0), End, InkSoft)
	}
	minutes := endS / 60
	each := minuteStep(minutes, x1-x0)
	for m := 0.0; m <= minutes+1e-9; m += each {
		p := at(m*60, 0)
		add(Line{Point{p.X, y0}, Point{p.X, y1 + 5}, Pen{InkLine, 0.5, nil}})
		a := Middle
		if m == 0 {
			a = Start
		}
		if p.X+wide(unit.Number(m, 0), axisPx)/2 <= x1 {
			text(p.X, y1+17, unit.Number(m, 0), a, InkSoft)
		}
	}
	text(x1, y1+32, "minutes", End, InkSoft)
	var ordered, wound, low, high []Point
	spread := false
	for i, s := range list {
		if i > 0 && s.OrderedMmHg != list[i-1].OrderedMmHg {
			ordered = append(ordered, at(s.TS, list[i-1].OrderedMmHg))
		}
		ordered = append(ordered, at(s.TS, s.OrderedMmHg))
		wound = append(wound, at(s.TS, s.WoundMmHg))
		low, high = append(low, at(s.TS, s.LowMmHg)), append(high, at(s.TS, s.HighMmHg))
		spread = spread || s.HighMmHg > s.LowMmHg
	}
	words := []string{"Broken line: ordered. Full line: at the wound."}
	if spread {
		for i, j := 0, len(low)-1; i < j; i, j = i+1, j-1 {
			low[i], low[j] = low[j], low[i]
		}
		add(Area{[][]Point{append(high, low...)}, "#c3dae3"})
		words = append(words, "Tinted: the spread.")
	}
	add(Polyline{[][]Point{wound}, Pen{InkDeep, 1.6, nil}}, Polyline{[][]Point{ordered}, Pen{InkWater, 1.2, []float64{5, 3}}})
	add(Line{at(0, 0), at(endS, 0), Pen{InkDeep, 2, nil}})
	text(x0-4, y0+4, "0", End, InkSoft)
	add(Text{Point{x1, y0 - 4}, "ambient", axisPx, End, InkDeep, true})
	text(0, y1+48, strings.Join(words, " "), Start, InkSoft)
	return d
}

// minuteStep is a step of a time axis at which numbers do not touch.
func minuteStep(minutes, widthPx float64) float64 {
	for _, s := range []float64{1, 2, 5, 10, 15, 20, 30, 60} {
		if minutes/s*wide("0000", axisPx) < widthPx {
			return s
		}
	}
	return 120
}

// benchRows is how many lines the table behind a Bench chart has at most.
const benchRows = 24

// BenchTable holds the numbers of a Bench chart, evenly spaced in time.
func BenchTable(list []Depth, caption string) Table {
	t := Table{Caption: caption, Header: []string{"Minute", "Ordered, mmHg", "At the wound, mmHg"}}
	spread := false
	for _, s := range list {
		spread = spread || s.HighMmHg > s.LowMmHg
	}
	if spread {
		t.Header = append(t.Header, "Spread, mmHg")
	}
	every := max(1, (len(list)+benchRows-1)/benchRows)
	for i := 0; i < len(list); i += every {
		s := list[i]
		cells := []string{unit.Number(s.TS/60, 1), unit.Number(s.OrderedMmHg, 0), unit.Number(s.WoundMmHg, 1)}
		if spread {
			cells = append(cells, unit.Number(s.LowMmHg, 1)+" to "+unit.Number(s.HighMmHg, 1))
		}
		t.Rows = append(t.Rows, TableRow{Cells: cells})
	}
	return t
}
