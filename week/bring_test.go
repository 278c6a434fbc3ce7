package week_test

import (
	"os"
	"testing"

	"lowtide/evidence/weekgen"
	"lowtide/week"
)

// TestBrings: against going by hand the plan leaves no more visits out and takes less road a visit, for services of 5 and 10
// nurses, and in long runs of 20 and 40.
func TestBrings(t *testing.T) {
	sizes := []int{5, 10}
	if os.Getenv("LOWTIDE_DEEP") != "" {
		sizes = []int{5, 10, 20, 40}
	}
	for _, nurses := range sizes {
		s := weekgen.Make(7, nurses, 5)
		ask := week.Ask{Cases: s.Cases, Now: s.Now, Start: s.Now, Days: 7, Seed: 1, Rounds: 1500}
		hand, plan := s.Roster.ByHand(ask), s.Roster.Make(ask)
		if out := check(s.Roster, s.Cases, hand, s.Now); len(out) > 0 {
			t.Fatal("by hand: ", out)
		}
		h, p := hand.Expected(), plan.Expected()
		each := func(x float64, n int) float64 { return x / float64(max(n, 1)) }
		t.Logf("%d nurses: by hand %d visits, %d left, %.1f min road a visit, same nurse %d %%, %.2f canisters full, %.1f h uneven; plan %d, %d, %.1f, %d %%, %.2f, %.1f",
			nurses, h.Visits, len(hand.Left), each(h.RoadMin, h.Visits), 100*h.Same/max(h.Known, 1), h.Full, h.UnevenMin/60, p.Visits, len(plan.Left), each(p.RoadMin, p.Visits), 100*p.Same/max(p.Known, 1), p.Full, p.UnevenMin/60)
		if len(plan.Left) > len(hand.Left) || each(p.RoadMin, p.Visits) >= each(h.RoadMin, h.Visits) {
			t.Errorf("%d nurses: the plan is no better", nurses)
		}
	}
}

// TestLived: ten days of a service of ten nurses, planned anew every morning: the plan takes less road a visit than going by
// hand, makes no more changes late, finds no more canisters full, and the nurse of last time comes no less often.
func TestLived(t *testing.T) {
	live := func(plan func(r *week.Roster, ask week.Ask) *week.Plan) weekgen.Lived {
		l := weekgen.Live(weekgen.Make(1, 10, 3.5), 10, plan)
		t.Logf("%d visits, %.1f min road a visit, same nurse %.0f %%, late %.1f %%, full %.1f %%, %d waiting days", l.Visits, l.RoadMin/float64(l.Visits), 100*float64(l.Same)/float64(l.Known), 100*float64(l.Late)/float64(l.Known), 100*l.Full/float64(l.FullKnown), l.Open)
		return l
	}
	hand := live((*week.Roster).ByHand)
	plan := live(func(r *week.Roster, ask week.Ask) *week.Plan {
		ask.Rounds = 600
		return r.Make(ask)
	})
	share := func(a, b int) float64 { return float64(a) / float64(b) }
	if plan.RoadMin/float64(plan.Visits) >= hand.RoadMin/float64(hand.Visits) || share(plan.Late, plan.Known) > share(hand.Late, hand.Known) ||
		plan.Full/float64(plan.FullKnown) > hand.Full/float64(hand.FullKnown) || share(plan.Same, plan.Known) < share(hand.Same, hand.Known) || plan.Visits < hand.Visits {
		t.Error("the plan is no better")
	}
}
