package outline

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// TestCurveAgainstCylinder: patches on a cylinder, put through a pinhole camera point by point, look smaller by what
// is said when they are ovals, and by a quarter to a third more when they are as wide everywhere as in the middle.
func TestCurveAgainstCylinder(t *testing.T) {
	p := flatPlane(t)
	z := p.distanceCm(p.ToPx(Point{}))
	for _, radius := range []float64{4, 6, 9} {
		for _, wide := range []float64{2, 4, 6} { // on the skin, around the limb
			for _, tapers := range []bool{false, true} {
				const long = 3.0
				n := 400
				var loop []Point
				for i := range n {
					a := 2 * math.Pi * (float64(i) + 0.5) / float64(n)
					s, l := math.Cos(a), math.Sin(a)
					if !tapers { // the square around the circle
						k := math.Max(math.Abs(s), math.Abs(l))
						s, l = s/k, l/k
					}
					s, l = s*wide/2, l*long/2
					drop := radius * (1 - math.Cos(s/radius))
					f := z / (z + drop)
					loop = append(loop, p.ToPx(Point{l * f, radius * math.Sin(s/radius) * f}))
				}
				m, err := Measure(Traced{Outer: loop}, p, MeasureOptions{Up: &Point{1, 0}, BodyRadiusCm: radius})
				if err != nil {
					t.Fatal(err)
				}
				truth := wide * long
				if tapers {
					truth *= math.Pi / 4
				}
				lost, said := truth/m.AreaCm2-1, limb{radius, z}.lost(m.around())
				least, most := 0.65, 0.85
				if tapers {
					least, most = 0.95, 1.05 // an oval around a limb is not quite an oval on the photo
				}
				if r := said / lost; r < least || r > most {
					t.Errorf("radius %g, %g wide, tapers %v: lost %.4f, said %.4f", radius, wide, tapers, lost, said)
				}
			}
		}
	}
}

// TestCurveSaid: without a girth the notes say what a limb would hide, for an exact outline nothing is said, and a wound
// wider than its limb is refused.
func TestCurveSaid(t *testing.T) {
	p := flatPlane(t)
	var loop []Point
	for i := range 90 {
		a := math.Pi * float64(i) / 45
		loop = append(loop, p.ToPx(Point{3 * math.Cos(a), 2 * math.Sin(a)}))
	}
	said := func(opt MeasureOptions) string {
		m, err := Measure(Traced{Outer: loop}, p, opt)
		if err != nil {
			t.Fatal(err)
		}
		return strings.Join(m.Notes, " ")
	}
	if got := said(MeasureOptions{}); !strings.Contains(got, "larger than it looks") || !strings.Contains(got, "25 cm") {
		t.Errorf("without a girth: %q", got)
	}
	if got := said(MeasureOptions{BodyRadiusCm: 6}); !strings.Contains(got, "limb of 38 cm") || strings.Contains(got, "Nobody said") {
		t.Errorf("with a girth: %q", got)
	}
	if got := said(MeasureOptions{Exact: true}); strings.Contains(got, "limb") {
		t.Errorf("exact: %q", got)
	}
	var no *Refusal
	if _, err := Measure(Traced{Outer: loop}, p, MeasureOptions{BodyRadiusCm: 2.2}); !errors.As(err, &no) || !strings.Contains(no.Words, "14 cm around") {
		t.Errorf("a wound of 6 cm on a limb of 14 cm: %v", err)
	}
}
