package outline

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// ringAt is a wavy edge: an ellipse of half axes a and b about c, turned, with a bulge so that it fits in one way only.
func ringAt(c Point, a, b, turn, shrink float64) []Point {
	var out []Point
	for i := range 240 {
		t := 2 * math.Pi * float64(i) / 240
		f := 1 + 0.3*math.Exp(-8*(1-math.Cos(t-0.7)))
		x, y := (a*f-shrink)*math.Cos(t), (b*f-shrink)*math.Sin(t)
		out = append(out, Point{c.X + x*math.Cos(turn) - y*math.Sin(turn), c.Y + x*math.Sin(turn) + y*math.Cos(turn)})
	}
	return out
}

func measuresOf(edge []Point, up *Point) Measures {
	se := 0.01 * Area(edge)
	return Measures{EdgeCm: edge, AreaCm2: Area(edge), PerimeterCm: Perimeter(edge), SE: se, SEParts: []Part{{"as stored", se}}, UpCm: up}
}

// TestCompareCircle: a circle of 3 cm that became one of 2.6 cm: 4 mm at every hour. By the formula
// 2·π(9 − 6.76)/(2π·5.6) = 0.4 cm exactly.
func TestCompareCircle(t *testing.T) {
	circle := func(c Point, r float64) (out []Point) {
		for i := range 720 {
			a := math.Pi * float64(i) / 360
			out = append(out, Point{c.X + r*math.Cos(a), c.Y + r*math.Sin(a)})
		}
		return out
	}
	ch, err := Compare(measuresOf(circle(Point{1, 2}, 3), nil), measuresOf(circle(Point{-4, 9}, 2.6), nil), CompareOptions{})
	if err != nil || ch.Laid != "as photographed" || len(ch.Still) != 0 {
		t.Fatalf("%v %+v", err, ch)
	}
	for _, s := range ch.Sectors {
		if math.Abs(s.AdvanceMm-4) > 0.01 || s.Says != "closing" {
			t.Errorf("%d o'clock: %+v, want 4 mm", s.Hour, s)
		}
	}
}

// TestLawCompareTurns: turning and moving the second photo changes nothing, whether the head or the shape tells.
func TestLawCompareTurns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		turn := rapid.Float64Range(-3, 3).Draw(t, "turn")
		at := Point{rapid.Float64Range(-20, 20).Draw(t, "x"), rapid.Float64Range(-20, 20).Draw(t, "y")}
		head := rapid.Bool().Draw(t, "head")
		var up1, up2 *Point
		if head {
			up1, up2 = &Point{0, -1}, &Point{math.Sin(turn), -math.Cos(turn)}
		}
		before := measuresOf(ringAt(Point{}, 4, 2.2, 0, 0), up1)
		want, err := Compare(before, measuresOf(ringAt(Point{}, 4, 2.2, 0, 0.3), up1), CompareOptions{})
		if err != nil {
			t.Fatal(err)
		}
		got, err := Compare(before, measuresOf(ringAt(at, 4, 2.2, turn, 0.3), up2), CompareOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if wantLaid := map[bool]string{true: "head", false: "shape"}[head]; got.Laid != wantLaid {
			t.Fatalf("laid by %q, want %q", got.Laid, wantLaid)
		}
		for i, s := range got.Sectors {
			// A turn is found to one of 360 steps: half a degree at 4 cm moves a point of the edge by 0.35 mm.
			if math.Abs(s.AdvanceMm-want.Sectors[i].AdvanceMm) > 0.5 {
				t.Fatalf("turned by %g: %d o'clock %g mm, unturned %g mm", turn, s.Hour, s.AdvanceMm, want.Sectors[i].AdvanceMm)
			}
		}
	})
}

// TestCompareOneSideStill: the right half closes by 6 mm, the left stands still. With two fixed places the left is
// found; twelve o'clock is the head.
func TestCompareOneSideStill(t *testing.T) {
	half := func(right float64) (out []Point) {
		for i := range 720 {
			a := math.Pi * float64(i) / 360
			r := 3.0
			if c := math.Cos(a); c > 0 {
				r -= right * math.Min(1, 4*c)
			}
			out = append(out, Point{r * math.Cos(a), r * math.Sin(a)})
		}
		return out
	}
	up := &Point{0, -1}
	ch, err := Compare(measuresOf(half(0), up), measuresOf(half(0.6), up), CompareOptions{Fixed: [][2]Point{{{5, 5}, {5, 5}}, {{-5, 4}, {-5, 4}}}})
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range ch.Sectors {
		left := s.Hour >= 7 && s.Hour <= 11
		if left && (s.Says != "standing still" || math.Abs(s.AdvanceMm) > 0.05) || s.Hour == 3 && (s.Says != "closing" || math.Abs(s.AdvanceMm-6) > 0.1) {
			t.Errorf("%+v", s)
		}
	}
	if len(ch.Still) < 5 {
		t.Errorf("still at %v", ch.Still)
	}
}
