package fluid

import (
	"math"
	"strings"
	"testing"
	"time"

	"lowtide/unit"
)

// steady reads 60 mL a day, three times.
func steady() []Reading { return []Reading{fresh(0), read(24, 60), read(48, 120), read(72, 180)} }

// TestUsableShareEdges: a share above 0 and up to 1 is taken; else nine tenths are, and it is said. At the usable volume the
// canister is full, a millilitre below it is not.
func TestUsableShareEdges(t *testing.T) {
	for _, x := range []struct{ share, full float64 }{{0.9, 360}, {0, 360}, {-0.5, 360}, {1, 400}, {1.01, 360}, {0.5, 200}, {0.01, 4}, {math.NaN(), 360}} {
		for ml, full := range map[float64]bool{x.full: true, x.full - 1: false} {
			f := Predict(Course{Canister: 400, UsableShare: x.share, Area: 30, Readings: []Reading{fresh(0), read(12, ml/2), read(24, ml)}}, at(24), at(48))
			if (f.Status == Full) != full || f.UsableML == nil || math.Abs(*f.UsableML-x.full) > 1e-9 {
				t.Errorf("share %g, %g mL: %s %v", x.share, ml, f.Status, f.UsableML)
			}
			said := strings.Contains(strings.Join(f.Notes, " "), "share is not given: 90 %")
			if said != !(x.share > 0 && x.share <= 1) {
				t.Errorf("share %g: %q", x.share, f.Notes)
			}
		}
	}
}

// TestMayBeFullEdge: from one chance in ten it may be full by now.
func TestMayBeFullEdge(t *testing.T) {
	below, above := 0, 0
	for h := 72.0; h < 72+96; h += 0.5 {
		f := Predict(course(steady()...), at(h), at(h+24))
		p, ok := Fit(course(steady()...), at(h)).ChanceFull(at(h))
		if !ok || (f.Status == MayBeFull) != (p >= 0.1) {
			t.Errorf("after %g h: %s at a chance of %g", h, f.Status, p)
		}
		if p >= 0.08 && p < 0.1 {
			below++
		}
		if p >= 0.1 && p < 0.125 {
			above++
		}
	}
	if below == 0 || above == 0 {
		t.Errorf("%d times just below, %d just above", below, above)
	}
}

// TestOldReadingEdge: a reading more than seven days of therapy old is said to be old.
func TestOldReadingEdge(t *testing.T) {
	for days, old := range map[float64]bool{5.7: false, 7: false, 7.05: true, 8.7: true} {
		f := Predict(course(steady()...), at(72+24*days), at(72+24*days+24))
		if strings.Contains(strings.Join(f.Notes, " "), "days of therapy old") != old {
			t.Errorf("%g days: %q", days, f.Notes)
		}
	}
}

// TestHowManyIntervals: one interval is too few, two are not.
func TestHowManyIntervals(t *testing.T) {
	for n, status := range map[int]Status{2: FewReadings, 3: OK, 4: OK} {
		f := Predict(course(steady()[:n]...), at(24*float64(n-1)), at(24*float64(n)))
		if f.Status != status {
			t.Errorf("%d intervals: %s", n-1, f.Status)
		}
	}
	if f := Predict(course(steady()[:2]...), at(24), at(48)); !strings.Contains(f.Text, "1 interval ") {
		t.Errorf("%q", f.Text)
	}
	if f := Predict(course(steady()[:3]...), at(48), at(72)); !strings.Contains(f.Text, "2 intervals") {
		t.Errorf("%q", f.Text)
	}
}

// TestNotesCount: what was left out is counted, and a reading above the canister's size is named.
func TestNotesCount(t *testing.T) {
	notes := func(rs ...Reading) string {
		return strings.Join(Predict(course(append(steady(), rs...)...), at(73), at(97)).Notes, " ")
	}
	for _, x := range []struct {
		notes, says string
		want        bool
	}{
		{notes(), "later than", false}, {notes(read(80, 200)), "1 reading later than", true}, {notes(read(80, 200), read(90, 210)), "2 readings later than", true},
		{notes(read(72.5, math.NaN())), "1 reading left out", true}, {notes(read(72.5, -1), read(72.6, math.Inf(1))), "2 readings left out", true},
		{notes(read(73, 400)), "was read in a canister", false}, {notes(read(73, 401)), "401 mL was read in a canister of 400 mL", true},
	} {
		if strings.Contains(x.notes, x.says) != x.want {
			t.Errorf("%q: %v in %q", x.says, !x.want, x.notes)
		}
	}
}

// TestHorizon: a filling time is given up to 365 days ahead: its median is there just when the chance of a full canister on
// day 365 is at least a half, and so for the other points.
func TestHorizon(t *testing.T) {
	within, beyond := 0, 0
	for ml := unit.Volume(16000); ml <= 40000; ml += 500 {
		c := course(steady()...)
		c.Canister = ml
		tr := Fit(c, at(72))
		q, ok := tr.FillDays()
		p, _ := tr.ChanceFull(at(72 + 365*24))
		if !ok || !(math.Abs(p-0.5) < 1e-6) && math.IsInf(q.Median, 1) == (p >= 0.5) || !(math.Abs(p-0.1) < 1e-6) && math.IsInf(q.P10, 1) == (p >= 0.1) {
			t.Errorf("%g mL: %+v at a chance of %g", float64(ml), q, p)
		}
		if !math.IsInf(q.Median, 1) && (q.Median > 365 || q.Median < 0) {
			t.Errorf("%g mL: in %g days", float64(ml), q.Median)
		}
		if q.Median > 292 && q.Median <= 365 {
			within++
		}
		if math.IsInf(q.Median, 1) && !math.IsInf(q.P10, 1) {
			beyond++
		}
	}
	if within == 0 || beyond == 0 {
		t.Errorf("%d medians just within, %d just beyond", within, beyond)
	}
}

// TestSmallestEdges: a limit is a chance, its ends included; sizes that are none are left out; a period needs time.
func TestSmallestEdges(t *testing.T) {
	tr := Fit(course(steady()...), at(72))
	for limit, ok := range map[float64]bool{0: true, 1: true, -0.001: false, 1.001: false, 0.5: true} {
		if c := tr.Smallest([]unit.Volume{100, 800}, at(72), at(144), limit); (c.Status == OK) != ok || (len(c.Options) == 2) != ok {
			t.Errorf("limit %g: %+v", limit, c)
		}
	}
	c := tr.Smallest([]unit.Volume{800, 0, -5, 300, 300, unit.Volume(math.Inf(1)), 0.5}, at(72), at(144), 0.2)
	if len(c.Options) != 3 || c.Options[0].Size != 0.5 || c.Options[1].Size != 300 || c.Options[2].Size != 800 {
		t.Fatalf("%+v", c)
	}
	for _, o := range c.Options {
		if o.Within != (o.Chance <= 0.2) {
			t.Errorf("%+v", o)
		}
	}
	// At a limit of just its chance a size is within it.
	p := c.Options[1].Chance
	if c := tr.Smallest([]unit.Volume{300}, at(72), at(144), p); c.Smallest == nil || c.Smallest.Size != 300 {
		t.Errorf("limit %g: %+v", p, c)
	}
	if c := tr.Smallest([]unit.Volume{300}, at(72), at(72), 0.2); c.Status != CannotTell {
		t.Errorf("no time: %+v", c)
	}
	if c := tr.Smallest(nil, at(72), at(144), 0.2); c.Status != CannotTell {
		t.Errorf("no size: %+v", c)
	}
	// Without a share nine tenths are usable, as with it.
	bare := course(steady()...)
	for _, share := range []float64{0, -1, 1.5} {
		bare.UsableShare = share
		if got := Fit(bare, at(72)).Smallest([]unit.Volume{300}, at(72), at(144), 0.2); math.Abs(got.Options[0].Chance-p) > 1e-12 {
			t.Errorf("share %g: %g, want %g", share, got.Options[0].Chance, p)
		}
	}
}

// TestChanceFills: between two times it fills with the difference of the chances, and never with less than none.
func TestChanceFills(t *testing.T) {
	tr := Fit(course(steady()...), at(72))
	a, _ := tr.ChanceFull(at(120))
	b, _ := tr.ChanceFull(at(144))
	if p, ok := tr.ChanceFills(at(120), at(144)); !ok || math.Abs(p-(b-a)) > 1e-12 || !(p > 0) {
		t.Errorf("%g of %g and %g", p, a, b)
	}
	if p, ok := tr.ChanceFills(at(144), at(120)); !ok || p != 0 {
		t.Errorf("backwards: %g", p)
	}
	if _, ok := Fit(Course{Readings: steady()}, at(72)).ChanceFills(at(72), at(96)); ok {
		t.Error("without a size")
	}
}

// TestBrim: from 98 % of its size a canister may have overflowed; a reading's own size counts before the course's.
func TestBrim(t *testing.T) {
	tr := Fit(course(steady()...), at(72))
	for _, x := range []struct {
		ml, size float64
		brims    bool
	}{{391, 0, false}, {392, 0, true}, {400, 0, true}, {391, 300, true}, {392, 500, false}, {490, 500, true}, {489, 500, false}} {
		r := read(72, x.ml)
		r.Size = unit.Volume(x.size)
		if got := tr.look(r).brimming; got != x.brims {
			t.Errorf("%g mL of %g: %v", x.ml, x.size, got)
		}
	}
	none := Fit(Course{Readings: steady()}, at(72))
	if none.look(read(72, 400)).brimming {
		t.Error("without a size nothing brims")
	}
}

// TestPublishedOutputs: 1.3 mL from a cm² in a day (Dealey 2006), 245 and 1,031 mL a day at the median and 2.9 g of protein
// in a decilitre (Hourigan 2010).
func TestPublishedOutputs(t *testing.T) {
	if Expected(100) != 130 || MedianSoftTissue != 245 || MedianOpenAbdomen != 1031 || math.Abs(Protein(200)-5.8) > 1e-12 {
		t.Errorf("%v %v %v %v", Expected(100), MedianSoftTissue, MedianOpenAbdomen, Protein(200))
	}
}

// TestPauseEnds: an open pause pauses, one that ended does not.
func TestPauseEnds(t *testing.T) {
	for _, x := range []struct {
		p      Pause
		paused bool
	}{{Pause{From: at(71)}, true}, {Pause{From: at(70), To: at(71)}, false}, {Pause{From: at(71), To: at(73)}, true}, {Pause{From: at(73)}, false}} {
		c := course(steady()...)
		c.Pauses = []Pause{x.p}
		if f := Predict(c, at(72), at(96)); (f.Status == Paused) != x.paused {
			t.Errorf("%+v: %s", x.p, f.Status)
		}
	}
	var none time.Time
	if f := Predict(course(steady()...), at(72), none); f.Status != OK {
		t.Errorf("%s", f.Status)
	}
}
