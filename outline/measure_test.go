package outline

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestMeasureEllipse: by hand, an ellipse of 6 × 4 cm with an island of 1 × 1 cm, lying along the x axis; the head is
// to the right. Area 6π − 1, length 6, width 4, head to toe 6, across 4.
func TestMeasureEllipse(t *testing.T) {
	p := flatPlane(t)
	var loop, island []Point
	for i := range 720 {
		a := math.Pi * float64(i) / 360
		loop = append(loop, p.ToPx(Point{3 * math.Cos(a), 2 * math.Sin(a)}))
	}
	for _, q := range []Point{{0, 0}, {1, 0}, {1, 1}, {0, 1}} {
		island = append(island, p.ToPx(q))
	}
	m, err := Measure(Traced{Outer: loop, Holes: [][]Point{island}}, p, MeasureOptions{Up: &Point{1, 0}, BodyRadiusCm: 6})
	if err != nil {
		t.Fatal(err)
	}
	area := 6*math.Pi - 1
	for name, v := range map[string][3]float64{
		"area": {m.AreaCm2, area, 1e-3}, "islands": {m.IslandsCm2, 1, 1e-6}, "length": {m.LengthCm, 6, 1e-4}, "width": {m.WidthCm, 4, 1e-3},
		"head to toe": {*m.HeadToToeCm, 6, 1e-4}, "across": {*m.AcrossCm, 4, 1e-3}, "px per cm": {m.PxPerCm, 100, 0.01}, "tilt": {m.TiltDeg, 0, 0.1},
		// The island's centre (½, ½) weighs −1 of the area.
		"centroid x": {m.CentroidCm.X, -0.5 / area, 1e-3}, "roundness": {m.Roundness, 4 * math.Pi * 6 * math.Pi / (15.8654 * 15.8654), 1e-3},
	} {
		if math.Abs(v[0]-v[1]) > v[2] {
			t.Errorf("%s: %g, want %g", name, v[0], v[1])
		}
	}
	sum := 0.0
	for _, part := range m.SEParts {
		sum += part.SE * part.SE
		// A wound 4 cm wide on a limb of 6 cm radius; the size of this share is checked in TestCurveAgainstCylinder. Without
		// the distance it would be ¾·w²/24R² for an oval: 1.4 %.
		if part.Name == "curve of the body" && !(part.SE/area > 0.014 && part.SE/area < 0.05) {
			t.Errorf("curve of the body: %g of the area", part.SE/area)
		}
	}
	if math.Abs(math.Sqrt(sum)-m.SE) > 1e-12 || len(m.SEParts) < 4 {
		t.Errorf("parts %v do not add to %g", m.SEParts, m.SE)
	}
}

// TestLawMeasureStart: which point comes first, and which way round, changes nothing; nor does the unit of the plane
// but by its square.
func TestLawMeasureStart(t *testing.T) {
	p := flatPlane(t)
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 40).Draw(t, "n")
		var loop []Point
		for i := range n {
			a := 2 * math.Pi * float64(i) / float64(n)
			r := rapid.Float64Range(50, 400).Draw(t, "r")
			loop = append(loop, Point{1000 + r*math.Cos(a), 750 + r*math.Sin(a)})
		}
		want, err := Measure(Traced{Outer: loop}, p, MeasureOptions{Exact: true})
		if err != nil {
			t.Fatal(err)
		}
		k := rapid.IntRange(0, n-1).Draw(t, "k")
		turned := append(append([]Point{}, loop[k:]...), loop[:k]...)
		if rapid.Bool().Draw(t, "back") {
			for i, j := 0, n-1; i < j; i, j = i+1, j-1 {
				turned[i], turned[j] = turned[j], turned[i]
			}
		}
		got, err := Measure(Traced{Outer: turned}, p, MeasureOptions{Exact: true})
		if err != nil {
			t.Fatal(err)
		}
		for name, v := range map[string][2]float64{"area": {got.AreaCm2, want.AreaCm2}, "length": {got.LengthCm, want.LengthCm}, "perimeter": {got.PerimeterCm, want.PerimeterCm}, "se": {got.SE, want.SE}} {
			if math.Abs(v[0]-v[1]) > 1e-6*v[1] {
				t.Fatalf("%s: %g and %g", name, v[0], v[1])
			}
		}
	})
}

// TestMeasureRefuses: outlines that have no size of their own.
func TestMeasureRefuses(t *testing.T) {
	p := flatPlane(t)
	good := []Point{{900, 700}, {1100, 700}, {1100, 800}, {900, 800}}
	for name, c := range map[string]Traced{
		"two points":     {Outer: good[:2]},
		"crossing":       {Outer: []Point{{900, 700}, {1100, 800}, {1100, 700}, {900, 850}}},
		"flat":           {Outer: []Point{{900, 700}, {1000, 700}, {1100, 700}}},
		"nowhere":        {Outer: []Point{{900, 700}, {math.NaN(), 700}, {1100, 900}}},
		"outside":        {Outer: []Point{{9000, 700}, {9100, 700}, {9100, 900}}},
		"island outside": {Outer: good, Holes: [][]Point{{{1000, 750}, {1300, 750}, {1000, 760}}}},
		"all island":     {Outer: good, Holes: [][]Point{{{901, 701}, {1099, 701}, {1099, 799}, {901, 799}}, {{901, 701}, {1099, 701}, {1099, 799}, {901, 799}}}},
	} {
		var r *Refusal
		if _, err := Measure(c, p, MeasureOptions{}); !errors.As(err, &r) || r.Reason != LoopPoor || r.Remedy == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := Measure(Traced{Outer: good}, Plane{}, MeasureOptions{}); err == nil {
		t.Error("an empty plane measured something")
	}
}
