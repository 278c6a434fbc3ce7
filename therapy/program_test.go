package therapy

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func Example() {
	p := Program{{SuctionMmHg: 125, HoldMin: 5}, {SuctionMmHg: 0, HoldMin: 2}}
	fmt.Println(p.Kind())
	fmt.Printf("mean %.1f mmHg, %.1f cycles a day\n", p.MeanMmHg(), p.CyclesADay())
	// Output:
	// intermittent
	// mean 89.3 mmHg, 205.7 cycles a day
}

func TestKind(t *testing.T) {
	for want, p := range map[string]Program{
		"empty":        nil,
		"continuous":   {{SuctionMmHg: 125, HoldMin: 60}},
		"intermittent": {{SuctionMmHg: 125, HoldMin: 5}, {HoldMin: 2}},
		"variable":     {{SuctionMmHg: 110, HoldMin: 4}, {SuctionMmHg: 60, HoldMin: 3}},
	} {
		if got := p.Kind(); got != want {
			t.Errorf("%v: %s, want %s", p, got, want)
		}
	}
	if got := (Program{{SuctionMmHg: 80, HoldMin: 1}, {SuctionMmHg: 80, HoldMin: 2}}).Kind(); got != "continuous" {
		t.Errorf("one depth in two stages: %s", got)
	}
}

func TestCheck(t *testing.T) {
	for name, p := range map[string]Program{
		"none":     nil,
		"no time":  {{SuctionMmHg: 100}},
		"negative": {{SuctionMmHg: -100, HoldMin: 1}},
		"NaN":      {{SuctionMmHg: 100, HoldMin: math.NaN()}},
		"infinite": {{SuctionMmHg: 100, HoldMin: math.Inf(1)}},
		"vacuum":   {{SuctionMmHg: 800, HoldMin: 1}},
	} {
		if s := p.Check(); s.OK || s.Sentence == "" {
			t.Errorf("%s: %+v", name, s)
		}
		if got := p.Pieces(100); got != nil {
			t.Errorf("%s has pieces %v", name, got)
		}
		p.At(10)
		p.Total(Window{0, 100}, nil)
	}
}

// TestRamp: from ambient at the very start, from the last stage later. 60 s from 0 to 100 and 60 s hold have a mean
// of (50 + 100)/2 = 75; in the next cycle from 40 to 100: 70, with the second stage's 40.
func TestRamp(t *testing.T) {
	p := Program{{SuctionMmHg: 100, HoldMin: 1, RampMin: 1}, {SuctionMmHg: 40, HoldMin: 1}}
	for _, c := range []struct {
		t, want float64
		stage   int
	}{{0, 0, 0}, {30, 50, 0}, {60, 100, 0}, {119.9, 100, 0}, {120, 40, 1}, {180, 40, 0}, {210, 70, 0}, {240, 100, 0}} {
		if m := p.At(c.t); math.Abs(m.SuctionMmHg-c.want) > 1e-9 || m.Stage != c.stage {
			t.Errorf("at %g s: %+v, want %g in stage %d", c.t, m, c.want, c.stage)
		}
	}
	if got := p.Total(Window{0, 120}, nil).MeanMmHg; math.Abs(got-75) > 1e-9 {
		t.Errorf("first stage's mean %g, want 75", got)
	}
	if got, want := p.MeanMmHg(), (70.0+100+40)/3; math.Abs(got-want) > 1e-9 {
		t.Errorf("settled mean %g, want %g", got, want)
	}
	if s := p.Shares(); len(s) != 3 || !s[2].Ramp || math.Abs(s[2].Share-1.0/3) > 1e-12 {
		t.Errorf("%+v", s)
	}
}

// TestPause: two overlapping pauses of 10 to 30 and 20 to 40 s and one beyond the window take 30 s out of 100.
func TestPause(t *testing.T) {
	p := Program{{SuctionMmHg: 100, HoldMin: 60}}
	got := p.Total(Window{0, 100}, []Window{{20, 40}, {10, 30}, {500, 600}, {70, 60}})
	if got.PausedS != 30 || got.TherapyS != 70 || math.Abs(got.MeanMmHg-70) > 1e-9 || math.Abs(got.RunningMeanMmHg-100) > 1e-9 {
		t.Errorf("%+v", got)
	}
	if got := p.Total(Window{0, 100}, []Window{{-5, 200}}); got.TherapyS != 0 || got.MeanMmHg != 0 || got.RunningMeanMmHg != 0 {
		t.Errorf("paused throughout: %+v", got)
	}
}

func programs(t *rapid.T) Program {
	var p Program
	for range rapid.IntRange(1, 5).Draw(t, "stages") {
		p = append(p, Stage{SuctionMmHg: rapid.Float64Range(0, 200).Draw(t, "suction"), HoldMin: rapid.Float64Range(0.1, 10).Draw(t, "hold"),
			RampMin: rapid.SampledFrom([]float64{0, 0, 0.5, 2}).Draw(t, "ramp")})
	}
	return p
}

// TestLawPiecesAreTheWaveform: the pieces join without gaps, agree with At, and their areas add up to Total's.
func TestLawPiecesAreTheWaveform(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, end := programs(t), rapid.Float64Range(1, 5000).Draw(t, "end")
		at, area := 0.0, 0.0
		for _, q := range p.Pieces(end) {
			if math.Abs(q.FromS-at) > 1e-6 || q.ToS <= q.FromS {
				t.Fatalf("gap at %g: %+v", at, q)
			}
			at = q.ToS
			d := q.ToS - q.FromS
			area += d * (q.StartMmHg + q.SlopeMmHgS*d/2)
			m := p.At(q.FromS + d/2)
			if math.Abs(m.SuctionMmHg-q.StartMmHg-q.SlopeMmHgS*d/2) > 1e-6 || m.Stage != q.Stage {
				t.Fatalf("%+v against %+v", m, q)
			}
		}
		if math.Abs(at-end) > 1e-9 {
			t.Fatalf("ends at %g, want %g", at, end)
		}
		if got := p.Total(Window{0, end}, nil).DoseMmHgH * 3600; math.Abs(got-area) > 1e-6*(1+area) {
			t.Fatalf("area %g, want %g", got, area)
		}
	})
}

// TestLawWindowsAddUp: a window cut in two has the same totals.
func TestLawWindowsAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := programs(t)
		a, b, c := rapid.Float64Range(0, 1000).Draw(t, "a"), rapid.Float64Range(1000, 2000).Draw(t, "b"), rapid.Float64Range(2000, 9000).Draw(t, "c")
		pause := []Window{{rapid.Float64Range(0, 4000).Draw(t, "p"), rapid.Float64Range(0, 9000).Draw(t, "q")}}
		x, y, z := p.Total(Window{a, b}, pause), p.Total(Window{b, c}, pause), p.Total(Window{a, c}, pause)
		if math.Abs(x.DoseMmHgH+y.DoseMmHgH-z.DoseMmHgH) > 1e-6 || math.Abs(x.PausedS+y.PausedS-z.PausedS) > 1e-6 {
			t.Fatalf("%+v + %+v, want %+v", x, y, z)
		}
		if z.TherapyS+z.PausedS-z.WindowS > 1e-6 {
			t.Fatalf("%+v", z)
		}
	})
}

// TestLawMeanIsTheLongRun: over many cycles the mean comes to the settled cycle's, and shares add up to 1.
func TestLawMeanIsTheLongRun(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := programs(t)
		cycles := 1000.0
		got := p.Total(Window{p.CycleS(), (cycles + 1) * p.CycleS()}, nil).MeanMmHg
		if math.Abs(got-p.MeanMmHg()) > 1e-6 {
			t.Fatalf("%g, want %g", got, p.MeanMmHg())
		}
		sum := 0.0
		for _, s := range p.Shares() {
			sum += s.Share
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Fatalf("shares add up to %g", sum)
		}
	})
}

// TestPiecesEndWithTheCycle: an end that is a whole number of cycles, but for the rounding of hours, ends the pieces. The sum
// of these three stages falls short of two cycles by its last digit.
func TestPiecesEndWithTheCycle(t *testing.T) {
	p := Program{{SuctionMmHg: 31, HoldMin: 1.6323784024330028}, {SuctionMmHg: 170, HoldMin: 0.6887575841120096}, {SuctionMmHg: 150, HoldMin: 0.7415517017368709}}
	for n := 1; n <= 400; n++ {
		for _, end := range []float64{float64(n) * p.CycleS(), float64(n) * p.CycleS() / 3600 * 3600} {
			pieces := p.Pieces(end)
			if got := pieces[len(pieces)-1].ToS; got != end {
				t.Fatalf("%d cycles: the last piece ends at %g s, not at %g", n, got, end)
			}
			at := 0.0
			for i, x := range pieces {
				if x.FromS != at && i%3 != 0 || !(x.ToS > x.FromS) {
					t.Fatalf("%d cycles: piece %d from %g to %g, the one before ended at %g", n, i, x.FromS, x.ToS, at)
				}
				at = x.ToS
			}
		}
	}
}
