package outline

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestAdd: two photos of 10 and 6 cm² whose strips are off by 1 % in the same way, and whose lines by 0.3 and 0.4 cm²:
// 16 cm² ± √(0.16² + 0.3² + 0.4²). On one photo the tilt of both lines is the same too.
func TestAdd(t *testing.T) {
	a := Summand{10, []Part{{partPrint, 0.1}, {partRetrace, 0.3}, {"marks and lens", 0.2}}, "1"}
	b := Summand{6, []Part{{partPrint, 0.06}, {partRetrace, 0.4}, {"marks and lens", 0.1}}, "2"}
	for _, c := range []struct {
		photo string
		tilt  float64
	}{{"2", math.Hypot(0.2, 0.1)}, {"1", 0.3}} {
		b.Photo = c.photo
		got := Add([]Summand{a, b})
		want := []Part{{partPrint, 0.16}, {partRetrace, 0.5}, {"marks and lens", c.tilt}}
		for i, p := range want {
			if len(got.Parts) != len(want) || got.Parts[i].Name != p.Name || math.Abs(got.Parts[i].SE-p.SE) > 1e-15 {
				t.Fatalf("on photo %s: %+v", c.photo, got.Parts)
			}
		}
		if se := math.Sqrt(0.16*0.16 + 0.25 + c.tilt*c.tilt); got.AreaCm2 != 16 || math.Abs(got.SE-se) > 1e-15 {
			t.Errorf("on photo %s: %g ± %g, want %g", c.photo, got.AreaCm2, got.SE, se)
		}
	}
	if got := Add(nil); got.AreaCm2 != 0 || got.SE != 0 || got.Parts != nil {
		t.Errorf("nothing: %+v", got)
	}
}

// TestLawAdd: the error is the one of the covariance matrix that the assumption makes (JCGM 100:2008, eq. 13); it does not
// depend on the order, and grows when lines move to one photo.
func TestLawAdd(t *testing.T) {
	names := []string{partPrint, partRetrace, partPoints, "marks and lens", "slope of the skin"}
	rapid.Check(t, func(t *rapid.T) {
		var list []Summand
		for range rapid.IntRange(1, 6).Draw(t, "lines") {
			x := Summand{AreaCm2: rapid.Float64Range(0, 100).Draw(t, "area"), Photo: rapid.SampledFrom([]string{"a", "b"}).Draw(t, "photo")}
			for _, name := range names {
				if rapid.Bool().Draw(t, name) {
					x.Parts = append(x.Parts, Part{name, rapid.Float64Range(0, 5).Draw(t, "se")})
				}
			}
			list = append(list, x)
		}
		var v float64
		for i, x := range list {
			for j, y := range list {
				for _, p := range x.Parts {
					for _, q := range y.Parts {
						drawn := p.Name == partRetrace || p.Name == partPoints
						if p.Name == q.Name && (i == j || p.Name == partPrint || !drawn && x.Photo == y.Photo) {
							v += p.SE * q.SE
						}
					}
				}
			}
		}
		near := func(what string, a, b float64) {
			if math.Abs(a-b) > 1e-9*(1+b) {
				t.Fatalf("%s: %g, not %g", what, a, b)
			}
		}
		got := Add(list)
		near("covariance matrix", got.SE, math.Sqrt(v))
		near("another order", Add(rapid.Permutation(list).Draw(t, "order")).SE, got.SE)
		var squares float64
		for _, p := range got.Parts {
			squares += p.SE * p.SE
		}
		near("parts", math.Sqrt(squares), got.SE)
		for i := range list {
			list[i].Photo = "a"
		}
		if one := Add(list).SE; one < got.SE-1e-9*(1+got.SE) {
			t.Fatalf("on one photo %g, on several %g", one, got.SE)
		}
	})
}
