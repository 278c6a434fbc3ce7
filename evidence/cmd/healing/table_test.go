package main

import (
	"math"
	"os"
	"strings"
	"testing"
)

// TestCalibration holds the forecasts to their targets. In short form, with 150 wounds, a share may miss its target by
// two standard errors of a share of that many; with LOWTIDE_DEEP=1, on 2,000 wounds of each set, by nothing.
func TestCalibration(t *testing.T) {
	n, errors := 150, 2.0
	if os.Getenv("LOWTIDE_DEEP") == "1" {
		n, errors = 2000, 0
	}
	seen := simulate(n, kinds, 1, "")
	check(t, "seen while tuning", seen, errors)
	// by wound, false alarms are held to their target on these kinds only: among those held out are wounds that stand or
	// grow for weeks in the midst of healing, and a call comes late there (docs/model/healing.md, Measured)
	if v, slack := seen.anyAlarm.value(), errors*math.Sqrt(0.1*0.9/float64(seen.anyAlarm.of)); v > 0.10+slack {
		t.Errorf("false alarms by wound: %.3f of %d", v, seen.anyAlarm.of)
	}
	if errors == 0 {
		check(t, "held out", simulate(n, heldOut, 2, ""), errors)
		check(t, "sparse charts", simulate(n, sparse, 3, ""), errors)
	}
	var b strings.Builder
	seen.print(&b, "wounds")
	t.Log("\n" + b.String())
}

func check(t *testing.T, set string, a *tally, errors float64) {
	t.Helper()
	within := func(what string, s share, lo, hi float64) {
		if s.of == 0 {
			return
		}
		slack := errors * math.Sqrt(0.8*0.2/float64(s.of))
		if v := s.value(); v < lo-slack || v > hi+slack {
			t.Errorf("%s: %s: %.3f of %d, want %.2f to %.2f", set, what, v, s.of, lo, hi)
		}
	}
	within("size in 2 weeks", a.size14, 0.75, 0.85)
	within("size in 4 weeks", a.size28, 0.75, 0.85)
	within("date of closure", a.date, 0.75, 0.85)
	within("false alarms", a.alarm, 0, 0.10)
	within("true stalls called", a.stall, 0.80, 1)
	own := brier(a.chances, a.outcomes)
	if rate := brier(a.rate, a.outcomes); own > 0.9*rate {
		t.Errorf("%s: Brier score %.4f, current rate continues %.4f", set, own, rate)
	}
	// against the exponential fit the gain is near its target, so that the short form asks for a gain at all
	bar := 0.9
	if errors > 0 {
		bar = 1
	}
	if expo := brier(a.expo, a.outcomes); own > bar*expo {
		t.Errorf("%s: Brier score %.4f, exponential fit %.4f", set, own, expo)
	}
}

// A truth must be what it says: closed stays closed, depth and area never negative, and no two seeds alike.
func TestWoundsAreSound(t *testing.T) {
	for _, set := range [][]string{kinds, heldOut, sparse} {
		for i, k := range set {
			w := newTruth(k, newRand(3, i))
			if len(w.area) != lifeDays || w.area[0] < 2 {
				t.Fatalf("%s: %d days from %v cm²", k, len(w.area), w.area[0])
			}
			closed := false
			for d, a := range w.area {
				if a < 0 || math.IsNaN(a) || w.depth[d] < 0 || (closed && a > 0) {
					t.Fatalf("%s: day %d: %v cm²", k, d, a)
				}
				closed = a == 0
			}
		}
	}
}
