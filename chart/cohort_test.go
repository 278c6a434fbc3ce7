package chart

import (
	"strings"
	"testing"
	"time"

	"lowtide/state"
)

// TestCohortChart: median, band, this wound's points and how many cases there are.
func TestCohortChart(t *testing.T) {
	c := closing(false)
	h := state.HealingOf(c, c.Wound("A"), inForce(t), t0.Add(5*168*time.Hour+30*time.Hour))
	cohort := state.Cohort{WoundType: "diabetic foot", N: 23}
	for wk, left := range []float64{1, 0.8, 0.6, 0.45} {
		p := state.CohortPoint{Weeks: float64(wk), N: 23 - wk, Left: state.Band{Median: left, P10: left / 2, P90: left * 1.3}}
		cohort.Points = append(cohort.Points, p)
	}
	for _, width := range []float64{358, 920} {
		d := Cohort(cohort, h, width, "cohort")
		svg := d.SVG()
		wellFormed(t, svg)
		for _, want := range []string{"23 ended cases", "weeks since the first size", "Points: this wound"} {
			if !strings.Contains(svg, want) {
				t.Errorf("%g px: no %q", width, want)
			}
		}
		points := 0
		for _, s := range d.Shapes {
			switch x := s.(type) {
			case Marker:
				points++
				if x.At.X < 0 || x.At.X > d.WidthPx || x.At.Y < 0 || x.At.Y > d.HeightPx {
					t.Errorf("%g px: a point at %v", width, x.At)
				}
			case Text:
				if x.At.X-map[Anchor]float64{End: wide(x.Words, x.SizePx)}[x.Anchor] < -1 {
					t.Errorf("%g px: %q starts outside", width, x.Words)
				}
			}
		}
		if points != 6 {
			t.Errorf("%g px: %d points, want 6", width, points)
		}
	}
}
