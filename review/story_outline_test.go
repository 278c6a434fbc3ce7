package review_test

import (
	"math"

	"lowtide/casebook"
	"lowtide/rule"
)

// snapped is a photo of wound A.
func snapped(h float64, name string) step {
	return at(h, casebook.PhotoTaken{Wound: "A", WidthPx: 800, HeightPx: 600, Head: "top"}).called(name)
}

// ringPoints is a line around a wound in centimetres: radius by clock hour.
func ringPoints(radius func(clock float64) float64) [][2]float64 {
	var out [][2]float64
	for i := range 120 {
		a := 2 * math.Pi * float64(i) / 120
		r := radius(12 * float64(i) / 120)
		out = append(out, [2]float64{5 + r*math.Sin(a), 5 - r*math.Cos(a)})
	}
	return out
}

// traced is a confirmed outline on the photo of that name.
func traced(h float64, photo string, radius func(clock float64) float64) step {
	ring := ringPoints(radius)
	area := 0.0
	for i, p := range ring {
		q := ring[(i+1)%len(ring)]
		area += (p[0]*q[1] - p[1]*q[0]) / 2
	}
	px := make([][2]float64, len(ring))
	for i, p := range ring {
		px[i] = [2]float64{p[0] * 50, p[1] * 50}
	}
	s := at(h, casebook.OutlineTraced{Wound: "A", Parts: []casebook.TracedPart{{Edge: casebook.WritePoints(px), EdgeCm: casebook.WritePointsCm(ring)}},
		Scale: casebook.TracedScale{By: "two strips", PxPerCm: 50}, Marks: "10,10 400,20", MarksCm: "0.2,0.2 8,0.4", AreaCm2: math.Abs(area), AreaSECm2: 0.02 * math.Abs(area), LengthCm: num(4), WidthCm: num(3.9)})
	s.photo = photo
	return s
}

func even(r float64) func(float64) float64 { return func(float64) float64 { return r } }

// stuck is a wound whose edge stands where it was from two to four and came in elsewhere.
func stuck(was, is float64) func(float64) float64 {
	return func(clock float64) float64 {
		switch {
		case clock >= 1.5 && clock <= 4.5:
			return was
		case clock > 1 && clock < 1.5:
			return is + (was-is)*(clock-1)/0.5
		case clock > 4.5 && clock < 5:
			return is + (was-is)*(5-clock)/0.5
		}
		return is
	}
}

func init() {
	none := []casebook.Kind{casebook.KindWoundMeasured}
	storyOf(
		story{rule: "OUT-OLD-01", level: rule.Plan, wound: "A", without: none, tell: []step{at(-801, wound("A", nil)), snapped(-200, "old"), traced(-3, "old", even(2))}, says: []string{"Wound A", "Tue 24 Feb 04:00"},
			act: []step{snapped(1, "new"), traced(2, "new", even(1.9))}},
		story{rule: "OUT-METHOD-01", level: rule.Plan, wound: "A", tell: []step{snapped(-4, "first"), traced(-3, "first", even(2))}, says: []string{"Wound A", "Wed 4 Mar 08:00"}, act: []step{snapped(1, "second"), traced(2, "second", even(2))}},
		story{rule: "OUT-EDGE-01", level: rule.Plan, wound: "A", without: none, tell: []step{at(-801, wound("A", nil)), snapped(-350, "one"), traced(-349, "one", even(3)), snapped(-10, "two"), traced(-9, "two", stuck(3, 2.2))},
			says: []string{"Wound A", "2 to 4 o'clock", "mm", "Wed 4 Mar 02:00"}, act: []step{snapped(1, "three"), traced(2, "three", even(2))}},
		story{rule: "OUT-WAIT-01", level: rule.Note, wound: "A", tell: []step{snapped(-30, "waits")}, says: []string{"Wound A", "Tue 3 Mar 06:00"}, act: []step{traced(1, "waits", even(2))}},
	)
}
