package outline_test

import (
	"math"
	"math/rand/v2"
	"sort"
	"testing"

	"lowtide/evidence/scene"
	"lowtide/outline"
)

// TestPlaneStrongLens: boards of 9 × 6 squares through lenses that bend the picture far more than a phone's, by a
// polynomial that is not the fitted form, axis off the centre, corners found to 0.15 px: with the scale from squares
// on two sides every rectangle of four squares or more is within 3 % and the standard error covers it.
func TestPlaneStrongLens(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 1))
	var off []float64
	in95, n := 0, 0
	for range 150 {
		c := scene.Camera{WidthPx: 640, HeightPx: 480, FocalPx: 430 + 200*r.Float64(), AimX: 2 * r.NormFloat64(), AimY: 1.5 * r.NormFloat64(),
			TiltDeg: 45 * r.Float64(), ToDeg: 360 * r.Float64(), RollDeg: 30 * r.NormFloat64(), K1: -0.18 + 0.2*r.Float64(), K2: 0.02 * r.NormFloat64(),
			OffX: 15 * r.NormFloat64(), OffY: 10 * r.NormFloat64()}
		const square = 2.5
		for c.DistanceCm = 25; c.DistanceCm < 90; c.DistanceCm += 2 {
			c.Set()
			whole := true
			for _, q := range [4][2]float64{{-10, -6.25}, {10, -6.25}, {10, 6.25}, {-10, 6.25}} {
				p := c.See(q[0], q[1], 0)
				whole = whole && p.X > 10 && p.Y > 10 && p.X < 630 && p.Y < 470
			}
			if whole {
				break
			}
		}
		corner := func(row, col int) outline.Mark {
			x, y := float64(col)*square-10, float64(row)*square-6.25
			p := c.See(x, y, 0)
			return outline.Mark{Px: outline.Point{X: p.X + 0.15*r.NormFloat64(), Y: p.Y + 0.15*r.NormFloat64()}, Cm: outline.Point{X: x, Y: y}}
		}
		var marks []outline.Mark
		for row := range 6 {
			for _, col := range []int{0, 1, 7, 8} {
				marks = append(marks, corner(row, col))
			}
		}
		p, err := outline.PlaneFromMarks(marks, 640, 480)
		if err != nil {
			t.Fatal(err)
		}
		for range 10 {
			r0, c0 := r.IntN(4), r.IntN(7)
			r1, c1 := r0+2+r.IntN(4-r0), c0+2+r.IntN(7-c0)
			loop := []outline.Point{corner(r0, c0).Px, corner(r0, c1).Px, corner(r1, c1).Px, corner(r1, c0).Px}
			m, err := outline.Measure(outline.Traced{Outer: loop}, p, outline.MeasureOptions{Exact: true})
			if err != nil {
				t.Fatal(err)
			}
			want := float64((r1-r0)*(c1-c0)) * square * square
			off = append(off, math.Abs(m.AreaCm2/want-1))
			n++
			if math.Abs(m.AreaCm2-want) < 1.96*m.SE {
				in95++
			}
		}
	}
	sort.Float64s(off)
	t.Logf("median %.2f %%, 95th percentile %.2f %%, worst %.2f %%; within 1.96 SE %d of %d", 100*off[n/2], 100*off[n*95/100], 100*off[n-1], in95, n)
	if off[n-1] > 0.03 {
		t.Errorf("worst %.2f %%, want at most 3 %%", 100*off[n-1])
	}
	if in95 < n*9/10 {
		t.Errorf("%d of %d within 1.96 standard errors", in95, n)
	}
}
