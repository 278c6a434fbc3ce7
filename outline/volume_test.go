package outline

import (
	"errors"
	"math"
	"testing"
)

// flatPlane is a square view of 100 px a cm.
func flatPlane(t *testing.T) Plane {
	t.Helper()
	var marks []Mark
	for _, p := range []Point{{-8, -6}, {8, -6}, {8, 6}, {-8, 6}, {0, -6}, {0, 6}} {
		marks = append(marks, Mark{Point{1000 + 100*p.X, 750 + 100*p.Y}, p})
	}
	p, err := PlaneFromMarks(marks, 2000, 1500)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func measured(t *testing.T, p Plane, edge []Point) Measures {
	t.Helper()
	var loop []Point
	for _, q := range edge {
		loop = append(loop, p.ToPx(q))
	}
	m, err := Measure(Traced{Outer: loop}, p, MeasureOptions{Exact: true})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// TestCheckThinPlate: the surface and the volume by SciPy's thin plates.
func TestCheckThinPlate(t *testing.T) {
	var ref []struct {
		Edge   []Point
		Clicks [][3]float64
		Ask    []Point
		Want   []float64
		Volume float64
	}
	readJSON(t, "testdata/ref/scipy-thin-plate/want.json", &ref)
	for i, c := range ref {
		at, z := append([]Point(nil), c.Edge...), make([]float64, len(c.Edge))
		for _, d := range c.Clicks {
			at, z = append(at, Point{d[0], d[1]}), append(z, d[2])
		}
		s, ok := bend(at, z)
		if !ok {
			t.Fatal("no plate")
		}
		for j, a := range c.Ask {
			if got := s.depth(a); math.Abs(got-c.Want[j]) > 1e-6 {
				t.Errorf("plate %d at %v: %.8f, want %.8f", i, a, got, c.Want[j])
			}
		}
		if v := s.integrate([][]Point{c.Edge}, 160); math.Abs(v/c.Volume-1) > 0.005 {
			t.Errorf("plate %d: volume %.4f, want %.4f", i, v, c.Volume)
		}
	}
}

// TestVolumeParaboloid: a bowl z = D(1 − (r/R)²) has half the volume of the cylinder. Depths at nine places bring the
// surface within 3 % of it; one depth in the middle gives something between cone and straight walls.
func TestVolumeParaboloid(t *testing.T) {
	p := flatPlane(t)
	const R, D = 3.0, 2.0
	var edge []Point
	for i := range 180 {
		a := math.Pi * float64(i) / 90
		edge = append(edge, Point{R * math.Cos(a), R * math.Sin(a)})
	}
	m := measured(t, p, edge)
	depth := func(x, y float64) Depth { return Depth{p.ToPx(Point{x, y}), D * (1 - (x*x+y*y)/(R*R))} }
	nine := []Depth{depth(0, 0), depth(1.5, 0), depth(-1.5, 0), depth(0, 1.5), depth(0, -1.5), depth(2, 1.5), depth(-2, 1.5), depth(2, -1.5), depth(-2, -1.5)}
	v, err := VolumeFromDepths(m, p, nine)
	if want := math.Pi * R * R * D / 2; err != nil || math.Abs(v.Cm3/want-1) > 0.03 {
		t.Errorf("%v: %.2f cm³, want %.2f", err, v.Cm3, want)
	}
	v, err = VolumeFromDepths(m, p, nine[:1])
	if err != nil || !(v.Cm3 > v.LowCm3 && v.Cm3 < v.HighCm3) || math.Abs(v.HighCm3/v.LowCm3-12/math.Pi) > 1e-9 {
		t.Errorf("%v: %+v", err, v)
	}
	for name, bad := range map[string][]Depth{"none": nil, "outside": {{p.ToPx(Point{5, 0}), 1}}, "negative": {{p.ToPx(Point{0, 0}), -1}},
		"twice": {{p.ToPx(Point{0, 0}), 1}, {p.ToPx(Point{0, 0}), 2}}} {
		var r *Refusal
		if _, err := VolumeFromDepths(m, p, bad); !errors.As(err, &r) {
			t.Errorf("%s: %v, want a refusal", name, err)
		}
	}
	// An island takes its share away and is at skin level itself.
	m.HolesCm = [][]Point{{{-0.5, -0.5}, {0.5, -0.5}, {0.5, 0.5}, {-0.5, 0.5}}}
	w, err := VolumeFromDepths(m, p, nine)
	if err != nil || !(w.Cm3 < math.Pi*R*R*D/2-1.5) {
		t.Errorf("%v: with an island %.2f cm³", err, w.Cm3)
	}
}
