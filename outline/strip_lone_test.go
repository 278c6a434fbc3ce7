package outline_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"lowtide/evidence/scene"
	"lowtide/outline"
)

// TestSecondStripNotSeen: photos of two strips on sloping skin of which one is found. Both were once accepted, 14.8 %
// too large and 18.9 % too small.
func TestSecondStripNotSeen(t *testing.T) {
	for _, seed := range []uint64{3_001_309, 273_005_592} {
		d := scene.Hard(seed, 2)
		if len(d.Strips) != 2 || d.OneLaid() {
			t.Fatalf("%d: %d strips were laid", seed, len(d.Strips))
		}
		_, q, err := outline.FindStrips(render(t, d), outline.FindOptions{RulerMm: d.RulerMm})
		var r *outline.Refusal
		if !errors.As(err, &r) || r.Reason != outline.OneStripOnly || len(q.Strips) != 1 || !strings.Contains(r.Remedy, "uncover") {
			t.Errorf("%d: %v, %d strips seen", seed, err, len(q.Strips))
		}
	}
}

// TestOneStripLaid: one strip is refused until somebody says that only one was laid; then it gives the size, less surely
// than two, and says what it cannot tell. With two strips in the photo the statement is refused.
func TestOneStripLaid(t *testing.T) {
	d := scene.Ordinary(900, 2, 5, 2, true)
	both := render(t, d)
	two, _, err := outline.FindStrips(both, outline.FindOptions{})
	if err != nil {
		t.Fatal(err)
	}
	var r *outline.Refusal
	if _, _, err := outline.FindStrips(both, outline.FindOptions{OneLaid: true}); !errors.As(err, &r) || r.Reason != outline.StripsMany {
		t.Errorf("two strips, said to be one: %v", err)
	}
	d.Strips = d.Strips[:1]
	img := render(t, d)
	if _, _, err := outline.FindStrips(img, outline.FindOptions{}); !errors.As(err, &r) || r.Reason != outline.OneStripOnly {
		t.Errorf("one strip, nothing said: %v", err)
	}
	one, _, err := outline.FindStrips(img, outline.FindOptions{OneLaid: true})
	if err != nil {
		t.Fatal(err)
	}
	var got [2]outline.Measures
	for i, p := range []outline.Plane{two, one} {
		if got[i], err = outline.Measure(outline.Traced{Outer: d.Loop()}, p, outline.MeasureOptions{Exact: true}); err != nil {
			t.Fatal(err)
		}
	}
	want := outline.Area(d.Wound)
	m := got[1]
	if m.Scale != "one strip" || math.Abs(m.AreaCm2/want-1) > 0.02 || !(m.SE > 1.2*got[0].SE) {
		t.Errorf("one strip: %.3f ± %.3f cm², two: %.3f ± %.3f; want %.3f", m.AreaCm2, m.SE, got[0].AreaCm2, got[0].SE, want)
	}
	if !strings.Contains(m.CannotTell, "slopes") || got[0].CannotTell != "" {
		t.Errorf("one strip cannot tell %q, two %q", m.CannotTell, got[0].CannotTell)
	}
}

// TestOneStripOnSlopes: on skin that slopes by 10 and 20 degrees, either way, the area is off by no more than the note of
// a lone strip says (eq. 14). The wound and the strip are exact, so that the slope is all that is wrong; 1 % is left for
// marks and lens, and for a wound that is no point.
func TestOneStripOnSlopes(t *testing.T) {
	seen, near := 0, 0.0
	for seed := range uint64(2) {
		for _, slope := range []float64{-20, -10, 10, 20} {
			d := scene.Ordinary(7300+seed, 2, 25, 1, true)
			d.Strips[0].SlopeDeg = slope
			p, _, err := outline.FindStrips(render(t, d), outline.FindOptions{OneLaid: true})
			if err != nil {
				continue // some look too oblique
			}
			m, err := outline.Measure(outline.Traced{Outer: d.Loop()}, p, outline.MeasureOptions{Exact: true})
			if err != nil {
				continue
			}
			seen++
			most, off := outline.SlopeMost(m, p, math.Abs(slope)), math.Abs(m.AreaCm2/outline.Area(d.Wound)-1)
			near = math.Max(near, off/most)
			if off > most+0.01 {
				t.Errorf("%d: slope %g: off by %.1f %%, stated at most %.1f %%", seed, slope, 100*off, 100*most)
			}
		}
	}
	t.Logf("%d measured; the largest error was %.2f of its bound", seen, near)
	if seen < 4 || near < 0.3 {
		t.Errorf("%d measured, the largest error %.2f of its bound: nothing was tried", seen, near)
	}
}
