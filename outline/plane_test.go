package outline

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// camera takes plane centimetres to pixels: a tilted pinhole with a division lens, written on its own.
type camera struct {
	tilt, turn, dist, focal float64 // degrees, degrees, cm, px
	k                       float64 // at the half diagonal
	w, h                    float64
	atX, atY                float64 // where the plane's origin is seen, px from the centre
}

func (c camera) see(p Point) Point {
	t, r := c.tilt*math.Pi/180, c.turn*math.Pi/180
	x := p.X*math.Cos(r) - p.Y*math.Sin(r)
	y := p.X*math.Sin(r) + p.Y*math.Cos(r)
	z := c.dist + y*math.Sin(t)
	y *= math.Cos(t)
	x += c.atX * c.dist / c.focal
	y += c.atY * c.dist / c.focal
	u, v := c.focal*x/z, c.focal*y/z
	half := math.Hypot(c.w, c.h) / 2
	ru := math.Hypot(u, v) / half
	f := 2 / (1 + math.Sqrt(1-4*c.k*ru*ru)) // r_d/r_u of r_u = r_d/(1 + k r_d²), the quadratic's stable root
	return Point{c.w/2 + u*f, c.h/2 + v*f}
}

func grid(c camera, xs, ys []float64) []Mark {
	var out []Mark
	for _, x := range xs {
		for _, y := range ys {
			out = append(out, Mark{c.see(Point{x, y}), Point{x, y}})
		}
	}
	return out
}

// TestLawPlaneRecoversCamera: marks on two sides seen by any pinhole camera, with a lens term, give back a square
// in the middle exactly, and the tilt that the camera had.
func TestLawPlaneRecoversCamera(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := camera{tilt: rapid.Float64Range(0, 45).Draw(t, "tilt"), turn: rapid.Float64Range(-180, 180).Draw(t, "turn"),
			dist: rapid.Float64Range(25, 50).Draw(t, "dist"), focal: 2000, w: 3000, h: 2000,
			k: rapid.Float64Range(-0.1, 0.02).Draw(t, "k")}
		marks := grid(c, []float64{-5, -3, -1, 1, 3, 5}, []float64{-5, -4, 4, 5})
		p, err := PlaneFromMarks(marks, 3000, 2000)
		if err != nil {
			t.Fatal(err)
		}
		var loop []Point
		for _, q := range []Point{{-3, -2}, {3, -2}, {3, 2}, {-3, 2}} {
			loop = append(loop, c.see(q))
		}
		m, err := Measure(Traced{Outer: loop}, p, MeasureOptions{Exact: true})
		if err != nil {
			t.Fatal(err)
		}
		// The lens prior pulls k towards zero by a share of (mark sigma/prior)²: below 2e-3 of the area.
		if math.Abs(m.AreaCm2-24) > 0.05 || math.Abs(m.LengthCm-math.Hypot(6, 4)) > 0.01 {
			t.Fatalf("area %g, length %g; want 24, %g", m.AreaCm2, m.LengthCm, math.Hypot(6, 4))
		}
		if c.tilt > 3 && math.Abs(m.TiltDeg-c.tilt) > 1 {
			t.Fatalf("tilt %g, want %g", m.TiltDeg, c.tilt)
		}
		for _, k := range marks {
			if at := p.ToPx(k.Cm); math.Hypot(at.X-k.Px.X, at.Y-k.Px.Y) > 0.3 {
				t.Fatalf("mark at %v comes back at %v", k.Px, at)
			}
			if at := p.ToCm(p.ToPx(k.Cm)); math.Hypot(at.X-k.Cm.X, at.Y-k.Cm.Y) > 1e-6 {
				t.Fatalf("there and back moves %v to %v", k.Cm, at)
			}
		}
	})
}

// TestMarkTypedWrong: one mark of many that is 2 cm off does not move the area; it is left out and said so.
func TestMarkTypedWrong(t *testing.T) {
	c := camera{tilt: 20, dist: 35, focal: 2000, w: 3000, h: 2000}
	marks := grid(c, []float64{-5, -3, -1, 1, 3, 5}, []float64{-5, -4, 4, 5})
	marks[7].Cm.X += 2
	p, err := PlaneFromMarks(marks, 3000, 2000)
	if err != nil {
		t.Fatal(err)
	}
	var loop []Point
	for _, q := range []Point{{-3, -2}, {3, -2}, {3, 2}, {-3, 2}} {
		loop = append(loop, c.see(q))
	}
	m, err := Measure(Traced{Outer: loop}, p, MeasureOptions{Exact: true})
	if err != nil || p.MarksLeft != 1 || math.Abs(m.AreaCm2-24) > 0.05 {
		t.Fatalf("%v; left out %d; area %g, want 24", err, p.MarksLeft, m.AreaCm2)
	}
}

// TestPlaneRefuses: too few marks, marks on a line, numbers that are none, marks that fit no plane.
func TestPlaneRefuses(t *testing.T) {
	c := camera{tilt: 20, dist: 35, focal: 2000, w: 3000, h: 2000}
	line := grid(c, []float64{-5, -3, 0, 3, 5}, []float64{1})
	nan := grid(c, []float64{-5, 5}, []float64{-1, 1})
	nan[0].Px.X = math.NaN()
	jumble := grid(c, []float64{-5, 0, 5}, []float64{-3, 0, 3})
	for i := range jumble {
		jumble[i].Cm.X, jumble[i].Cm.Y = float64((i*7)%9), float64((i*5)%9)
	}
	for name, marks := range map[string][]Mark{"few": line[:3], "line": line, "nan": nan, "jumble": jumble} {
		var r *Refusal
		if _, err := PlaneFromMarks(marks, 3000, 2000); !errors.As(err, &r) || r.Remedy == "" {
			t.Errorf("%s: got %v, want a refusal with a remedy", name, err)
		}
	}
}

// TestRuler: the scale of a line, and a standard error that admits a tilt of 15 degrees.
func TestRuler(t *testing.T) {
	p, err := PlaneFromRuler(Point{100, 100}, Point{600, 100}, 10, 1600, 1200)
	if err != nil {
		t.Fatal(err)
	}
	m, err := Measure(Traced{Outer: []Point{{700, 500}, {900, 500}, {900, 600}, {700, 600}}}, p, MeasureOptions{})
	if err != nil {
		t.Fatal(err)
	}
	// 200 × 100 px at 50 px a cm: 8 cm².
	if math.Abs(m.AreaCm2-8) > 1e-6 || m.SE < 0.04*8 || m.CannotTell == "" {
		t.Errorf("area %g ± %g, notes %q", m.AreaCm2, m.SE, m.Notes)
	}
}
