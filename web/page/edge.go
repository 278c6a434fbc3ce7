package page

import (
	"fmt"
	"strconv"
	"strings"

	"lowtide/casebook"
	"lowtide/state"
	"lowtide/unit"
)

// EdgePage lays two confirmed outlines of a wound over each other.
type EdgePage struct {
	Frame
	CaseHref, WoundHref, Name, Action string
	From, To                          Choice
	// Words say why nothing is compared; empty when something is.
	Words         string
	Lead, Laid    string
	Box           string
	First, Second string
	Hours         []EdgeHour
	Sectors       []EdgeSector
	Notes         []string
}

// EdgeHour is a number on the clock around the drawing.
type EdgeHour struct{ X, Y, Words string }

// EdgeSector is one hour of the edge in words.
type EdgeSector struct{ Hour, Advance, SE, Says string }

// EdgePath is the address of the comparison.
func EdgePath(caseID, wound string) string { return CasePath(caseID, "wound", wound, "edge") }

// NewEdge builds the page for two outlines by their entries; empty ones are the first and the newest.
func NewEdge(frame Frame, c *casebook.Case, w *casebook.Wound, from, to string, k Clock) EdgePage {
	p := EdgePage{Frame: frame, CaseHref: CasePath(c.ID), WoundHref: WoundPath(c.ID, w.Name), Name: w.Name, Action: EdgePath(c.ID, w.Name)}
	if len(w.Outlines) < 2 {
		p.Words = "It takes two confirmed outlines of this wound on photos of two days."
		return p
	}
	a, b := w.Outline(from), w.Outline(to)
	if a == nil {
		a = &w.Outlines[0]
	}
	if b == nil {
		b = &w.Outlines[len(w.Outlines)-1]
	}
	p.From, p.To = Choice{Name: "from", Label: "Earlier", Value: a.ID}, Choice{Name: "to", Label: "Later", Value: b.ID}
	for i := range w.Outlines {
		o := &w.Outlines[i]
		words := k.At(o.At) + ", " + unit.Number(o.Body.AreaCm2, 1) + " cm²"
		p.From.Options = append(p.From.Options, Option{o.ID, words, o.ID == a.ID})
		p.To.Options = append(p.To.Options, Option{o.ID, words, o.ID == b.ID})
	}
	if !a.At.Before(b.At) {
		p.Words = "Choose an earlier and a later photo."
		return p
	}
	ch := state.ChangeOf(w, a, b)
	if ch.Refused != nil {
		p.Words = ch.Refused.Words + " " + ch.Refused.Remedy
		return p
	}
	p.fill(ch, k)
	return p
}

// fill puts a comparison into words and lines.
func (p *EdgePage) fill(ch state.EdgeChange, k Clock) {
	p.Lead = fmt.Sprintf("From %s to %s the edge came in by %s on average.", k.At(ch.From.At), k.At(ch.To.At), unit.Span(ch.Change.AdvanceMm, ch.Change.SEMm, "mm"))
	if slow := state.HourWords(ch.Slow); slow != "" {
		p.Lead += " It stood still at " + slow + ". Is it undermined there? Does something press on it?"
	}
	p.Laid = map[string]string{"fixed places": "by marks on the skin", "head": "by their centres and the direction of the head", "shape": "by their centres and their shape", "as photographed": "by their centres, turned as photographed"}[ch.Change.Laid]
	p.Notes = ch.Change.Notes
	reach := 0.5
	for _, line := range [][][2]float64{ch.First, ch.Second} {
		for _, q := range line {
			reach = max(reach, q[0], -q[0], q[1], -q[1])
		}
	}
	// The drawing is 200 units wide, with room for the numbers of the clock.
	scale := 78 / reach
	p.Box = "-100 -100 200 200"
	p.First, p.Second = svgPoints(ch.First, scale), svgPoints(ch.Second, scale)
	clock := [12][2]float64{{0.5, -0.866}, {0.866, -0.5}, {1, 0}, {0.866, 0.5}, {0.5, 0.866}, {0, 1}, {-0.5, 0.866}, {-0.866, 0.5}, {-1, 0}, {-0.866, -0.5}, {-0.5, -0.866}, {0, -1}}
	for i, d := range clock {
		p.Hours = append(p.Hours, EdgeHour{svgNumber(92 * d[0]), svgNumber(92*d[1] + 3), strconv.Itoa(i + 1)})
	}
	for _, s := range ch.Change.Sectors {
		p.Sectors = append(p.Sectors, EdgeSector{strconv.Itoa(s.Hour) + " o'clock", unit.Number(s.AdvanceMm, 1) + " mm", unit.Number(unit.Z80*s.SEMm, 1) + " mm", s.Says})
	}
}

func svgNumber(v float64) string { return strconv.FormatFloat(v, 'f', 1, 64) }

func svgPoints(line [][2]float64, scale float64) string {
	var b strings.Builder
	for i, q := range line {
		if i > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(svgNumber(q[0]*scale) + "," + svgNumber(q[1]*scale))
	}
	return b.String()
}
