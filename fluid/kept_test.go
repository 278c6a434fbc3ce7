package fluid

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"lowtide/evidence/kept"
	"lowtide/unit"
)

var update = flag.Bool("update", false, "write testdata/kept.tsv anew")

// TestKept holds what is forecast of invented canisters to six digits. What is right is for the closed forms, the tables and
// the simulations beside it; this shows that a changed number or comparison anywhere in the package changes what a nurse
// reads. When a change is meant: go test ./fluid -run TestKept -update.
func TestKept(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 0))
	f := func(lo, hi float64) float64 { return lo + (hi-lo)*rnd.Float64() }
	var out bytes.Buffer
	for i := range 420 {
		c, end := keptCourse(rnd)
		now := end.Add(time.Duration(f(-6, 60) * float64(time.Hour)))
		tr := Fit(c, now)
		before := now.Add(time.Duration(f(-3, 96) * float64(time.Hour)))
		days, ok := tr.FillDays()
		full, okFull := tr.ChanceFull(before)
		fills, okFills := tr.ChanceFills(now, before)
		later := tr.At(now.Add(time.Duration(f(0, 48) * float64(time.Hour))))
		parts := []any{
			tr.Forecast(before), later.Forecast(time.Time{}), Changes(c, now),
			fmt.Sprintf("%.6g", []any{days, ok, full, okFull, fills, okFills, tr.Rate(), tr.Collected(f(0, 5)), tr.CollectedBetween(now, before), tr.Intervals(), tr.Asks()}), // some are infinite
			tr.Smallest([]unit.Volume{300, 500, 800}, now, now.Add(time.Duration(f(12, 96)*float64(time.Hour))), f(0.02, 0.3)),
			[]any{Expected(c.Area), Protein(unit.Rate(f(0, 900)))},
		}
		fmt.Fprint(&out, i)
		for _, p := range parts {
			d, err := kept.Digest(p, 6)
			if err != nil {
				t.Fatalf("%d: %v", i, err)
			}
			fmt.Fprintf(&out, "\t%s", d)
		}
		out.WriteByte('\n')
	}
	wrong, err := kept.Compare("testdata/kept.tsv", out.Bytes(), []string{"course", "forecast", "later", "changes", "figures", "smallest", "expected"}, *update)
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range wrong {
		t.Error(w)
	}
}

// keptCourse is an output that swings, rises or dries up, read by eye, with changes, spills, pauses and slips.
func keptCourse(rnd *rand.Rand) (Course, time.Time) {
	f := func(lo, hi float64) float64 { return lo + (hi-lo)*rnd.Float64() }
	size := []unit.Volume{0, 300, 300, 500, 800, 1000}[rnd.IntN(6)]
	c := Course{Canister: size, Area: unit.Area(f(0, 120) * float64(rnd.IntN(3))), UsableShare: []float64{0, 0.9, 0.8, 1}[rnd.IntN(4)]}
	rate, drift := math.Exp(f(2.5, 7)), f(-0.15, 0.15) // mL a day
	h, ml := 0.0, 0.0
	full := float64(size)
	if full == 0 {
		full = 400
	}
	for range rnd.IntN(26) {
		step := []float64{0, 0.3, 2, 6, 8, 12, 12, 24, 24, 48, 70}[rnd.IntN(11)]
		h += step
		ml += rate * math.Exp(drift*h/24) * step / 24 * math.Exp(0.3*rnd.NormFloat64())
		r := Reading{At: at(h), Content: unit.Volume(math.Round(ml/5) * 5)}
		switch {
		case ml > full || rnd.IntN(9) == 0:
			r.NewCanister, ml = true, 0
			if rnd.IntN(2) == 0 {
				c.Readings = append(c.Readings, Reading{At: r.At, Content: unit.Volume(math.Round(min(ml, full)))})
			}
			r.Content = unit.Volume(float64(rnd.IntN(2)) * f(0, 30))
			ml = float64(r.Content)
			if rnd.IntN(4) == 0 {
				r.Size = 500
			}
		case rnd.IntN(14) == 0:
			r.Spilled, ml = true, ml*f(0.2, 1)
		case rnd.IntN(14) == 0:
			r.SpilledVolume = unit.Volume(f(5, 40))
			ml = max(0, ml-float64(r.SpilledVolume))
		case rnd.IntN(12) == 0:
			ml *= f(0.2, 0.9) // fell, and nobody wrote why
			r.Content = unit.Volume(math.Round(ml))
		}
		c.Readings = append(c.Readings, r)
		if rnd.IntN(12) == 0 {
			rate *= f(0.2, 5)
		}
		if rnd.IntN(8) == 0 {
			c.Pauses = append(c.Pauses, Pause{at(h - f(0, 5)), at(h + f(-1, 4))})
		}
	}
	return c, at(h)
}
