package state

import (
	"math"
	"sort"
	"strconv"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/outline"
)

// EdgeChange is what became of a wound's edge between two confirmed outlines.
type EdgeChange struct {
	From, To *casebook.Outline
	// Refused says why the two cannot be compared; the rest is then empty.
	Refused *Refusal
	Change  outline.Change
	// First and Second are the edges in cm about their common centre, twelve o'clock upward, as they were laid over each
	// other.
	First, Second [][2]float64
	// Slow are the hours at which the edge surely came in less than on average and did not surely come in at all, where
	// at least two of them lie side by side: one hour alone is within the scatter of drawing. It is empty unless marks on
	// the skin laid the two over each other.
	Slow []int
}

// compareLeast is how far apart two photos must be for the finding about the edge: less hides the advance in the scatter
// of drawing. Chosen; at a usual advance of a millimetre a week.
const compareLeast = 5 * 24 * time.Hour

// ChangeOf lays two outlines of a wound over each other.
func ChangeOf(w *casebook.Wound, from, to *casebook.Outline) EdgeChange {
	ch := EdgeChange{From: from, To: to}
	before, no := measuresOf(from)
	after, no2 := measuresOf(to)
	if no == nil {
		no = no2
	}
	if no != nil {
		ch.Refused = no
		return ch
	}
	fixed := fixedPlaces(from, to)
	got, err := outline.Compare(before, after, outline.CompareOptions{Fixed: fixed})
	if err != nil {
		ch.Refused = refusalOf(err)
		return ch
	}
	ch.Change = got
	clock := 0.0
	if before.UpCm != nil {
		clock = -math.Pi/2 - math.Atan2(before.UpCm.Y, before.UpCm.X)
	}
	turn := got.TurnDeg * math.Pi / 180
	c1, c2 := outline.Centroid(before.EdgeCm), outline.Centroid(after.EdgeCm)
	if len(fixed) >= 2 {
		// The place of the second photo that falls on the first one's centre of area.
		var a, b outline.Point
		n := float64(len(fixed))
		for _, f := range fixed {
			a.X, a.Y, b.X, b.Y = a.X+f[0].X/n, a.Y+f[0].Y/n, b.X+f[1].X/n, b.Y+f[1].Y/n
		}
		c, s := math.Cos(-turn), math.Sin(-turn)
		x, y := c1.X-a.X, c1.Y-a.Y
		c2 = outline.Point{X: b.X + c*x - s*y, Y: b.Y + s*x + c*y}
	}
	ch.First, ch.Second = laid(before.EdgeCm, c1, clock), laid(after.EdgeCm, c2, clock+turn)
	ch.Slow = slowHours(got)
	return ch
}

// measuresOf reads back what an outline's entry says of its edge.
func measuresOf(o *casebook.Outline) (m outline.Measures, no *Refusal) {
	b := o.Body
	if len(b.Parts) != 1 || len(o.Added) > 0 || b.AddsTo != "" {
		return m, &Refusal{Reason: outline.LoopPoor, Words: "A wound in several parts cannot be read around the clock.", Remedy: "Compare its areas."}
	}
	edge, err := casebook.ReadPoints(b.Parts[0].EdgeCm)
	if err != nil || len(edge) < 3 {
		return m, &Refusal{Reason: outline.LoopPoor, Words: "The outline has no edge in centimetres.", Remedy: "Compare its area."}
	}
	m = outline.Measures{EdgeCm: pointsOf(edge), AreaCm2: b.AreaCm2, SE: b.AreaSECm2, Scale: b.Scale.By}
	m.PerimeterCm = outline.Perimeter(m.EdgeCm)
	for _, s := range b.Errors {
		m.SEParts = append(m.SEParts, outline.Part{Name: s.Name, SE: s.SECm2})
	}
	if head, err := casebook.ReadPoints(b.HeadCm); err == nil && len(head) == 1 {
		m.UpCm = &outline.Point{X: head[0][0], Y: head[0][1]}
	}
	return m, nil
}

// fixedPlaces pairs the marks on the skin of two outlines, by their order; none when they are not as many, or lie so
// differently that they cannot be the same ones.
func fixedPlaces(from, to *casebook.Outline) (out [][2]outline.Point) {
	a, errA := casebook.ReadPoints(from.Body.MarksCm)
	b, errB := casebook.ReadPoints(to.Body.MarksCm)
	if errA != nil || errB != nil || len(a) != len(b) || len(a) < 2 {
		return nil
	}
	for i := range a {
		for j := range i {
			d, e := math.Hypot(a[i][0]-a[j][0], a[i][1]-a[j][1]), math.Hypot(b[i][0]-b[j][0], b[i][1]-b[j][1])
			if math.Abs(d-e) > marksApart*(d+e)/2 {
				return nil
			}
		}
		out = append(out, [2]outline.Point{{X: a[i][0], Y: a[i][1]}, {X: b[i][0], Y: b[i][1]}})
	}
	return out
}

// marksApart is by what share the distance of two marks on the skin may differ between two photos: skin stretches and
// swelling goes down. Chosen.
const marksApart = 0.15

// laid turns an edge about a place.
func laid(edge []outline.Point, o outline.Point, turn float64) [][2]float64 {
	c, s := math.Cos(turn), math.Sin(turn)
	out := make([][2]float64, len(edge))
	for i, p := range edge {
		x, y := p.X-o.X, p.Y-o.Y
		out[i] = [2]float64{c*x - s*y, s*x + c*y}
	}
	return out
}

// slowHours finds runs of at least two neighbouring hours that surely lag behind the average and do not surely advance.
func slowHours(ch outline.Change) []int {
	const sure = 1.64 // one in twenty by chance, on each side
	if !(ch.AdvanceMm > sure*ch.SEMm) || ch.Laid != "fixed places" {
		return nil // laid by its centre, a side that stands still seems to close, and nothing is said
	}
	lags := map[int]bool{}
	for _, s := range ch.Sectors {
		lags[s.Hour] = s.AdvanceMm < sure*s.SEMm && s.AdvanceMm+sure*s.SEMm < ch.AdvanceMm
	}
	var out []int
	for h := 1; h <= 12; h++ {
		before, after := (h+10)%12+1, h%12+1
		if lags[h] && (lags[before] || lags[after]) {
			out = append(out, h)
		}
	}
	return out
}

// HourWords says hours of the clock as runs: "1 to 4 o'clock and 9 o'clock".
func HourWords(hours []int) string {
	if len(hours) == 0 {
		return ""
	}
	hours = append([]int(nil), hours...)
	sort.Ints(hours)
	has := map[int]bool{}
	for _, h := range hours {
		has[h] = true
	}
	if len(has) == 12 {
		return "all around"
	}
	var runs []string
	for _, h := range hours {
		if has[(h+10)%12+1] {
			continue // within a run, which may pass twelve
		}
		end := h
		for has[end%12+1] {
			end = end%12 + 1
		}
		if end == h {
			runs = append(runs, strconv.Itoa(h)+" o'clock")
		} else {
			runs = append(runs, strconv.Itoa(h)+" to "+strconv.Itoa(end)+" o'clock")
		}
	}
	return strings.Join(runs, " and ")
}

// lastChange compares the newest outline with the newest one that is long enough before it; nil when there are no two
// with strips.
func lastChange(w *casebook.Wound) *EdgeChange {
	n := len(w.Outlines)
	if n < 2 || w.Outlines[n-1].Body.Scale.By == "ruler" {
		return nil
	}
	to := &w.Outlines[n-1]
	for i := n - 2; i >= 0; i-- {
		if from := &w.Outlines[i]; to.At.Sub(from.At) >= compareLeast && from.Body.Scale.By != "ruler" {
			if ch := ChangeOf(w, from, to); ch.Refused == nil {
				return &ch
			}
			return nil
		}
	}
	return nil
}
