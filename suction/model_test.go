package suction

import (
	"math"
	"testing"

	"lowtide/therapy"
)

// twoStages is the contract's own example.
func twoStages() Setup {
	s, _ := Class("portable")
	s.FluidML = 100
	s.Stages = therapy.Program{{SuctionMmHg: 110, HoldMin: 4}, {SuctionMmHg: 60, HoldMin: 3}}
	return s
}

// fixed integrates to endS with n equal steps, no events.
func fixed(p *Path, x [2]float64, m mode, endS float64, n int) [2]float64 {
	for range n {
		x = p.take(x, endS/float64(n), m).x1
	}
	return x
}

// TestOrderOfConvergence halves the step: a method of order 4 gains a factor 16.
func TestOrderOfConvergence(t *testing.T) {
	s := twoStages()
	s.LeakExponent, s.LeakMLMin, s.Tube.BoreMM = 0.7, 400, 1.2
	p := PathOf(s)
	x, m := [2]float64{20, 5}, mode{pump: true}
	ref := fixed(&p, x, m, 2, 20000)
	var last float64
	for _, n := range []int{20, 40, 80, 160} {
		y := fixed(&p, x, m, 2, n)
		e := math.Hypot(y[0]-ref[0], y[1]-ref[1])
		if last > 0 {
			order := math.Log2(last / e)
			t.Logf("n=%d error %.3g order %.2f", n, e, order)
			if order < 3.8 || order > 5 {
				t.Errorf("n=%d: order %.2f, want 4", n, order)
			}
		}
		last = e
	}
}
