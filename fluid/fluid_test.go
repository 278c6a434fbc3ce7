package fluid

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"lowtide/unit"
)

var day0 = time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)

// at is h hours after day0.
func at(h float64) time.Time { return day0.Add(time.Duration(h * float64(time.Hour))) }

func read(h, ml float64) Reading { return Reading{At: at(h), Content: unit.Volume(ml)} }

func fresh(h float64) Reading { return Reading{At: at(h), NewCanister: true} }

func course(rs ...Reading) Course {
	return Course{Canister: 400, UsableShare: 0.9, Area: 30, Readings: rs}
}

func TestForecast(t *testing.T) {
	steady := []Reading{fresh(0), read(24, 60), read(48, 120), read(72, 180)}
	cases := []struct {
		name   string
		course Course
		asOf   float64
		status Status
	}{
		{"steady", course(steady...), 72, OK},
		{"no readings", course(), 0, CannotTell},
		{"only a new canister", course(fresh(0)), 0, FewReadings},
		{"one interval", course(fresh(0), read(24, 75)), 24, FewReadings},
		{"no canister size", Course{Readings: steady}, 72, CannotTell},
		{"full", course(fresh(0), read(24, 180), read(48, 360)), 48, Full},
		{"just below full", course(fresh(0), read(24, 180), read(48, 335)), 48, OK},
		{"may be full by now", course(steady...), 72 + 96, MayBeFull},
		{"lower reading", course(fresh(0), read(24, 150), read(48, 300), read(72, 40)), 72, Ask},
		{"a little lower reading", course(fresh(0), read(24, 100), read(30, 75)), 30, Ask},
		{"lower, then above again", course(fresh(0), read(24, 100), read(30, 75), read(48, 175)), 48, OK},
		{"lower, then a new canister", course(fresh(0), read(24, 100), read(36, 50), fresh(48), read(60, 50)), 60, OK},
		{"paused", Course{Canister: 400, UsableShare: 0.9, Readings: steady, Pauses: []Pause{{From: at(71)}}}, 72, Paused},
		{"same time twice", course(fresh(0), read(24, 60), read(24, 60), read(48, 120)), 48, OK},
		{"only later readings", course(steady...), -1, CannotTell},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			f := Predict(c.course, at(c.asOf), at(c.asOf+24))
			if f.Status != c.status {
				t.Errorf("status %s (%s), want %s", f.Status, f.Text, c.status)
			}
			if f.Text == "" {
				t.Error("no sentence")
			}
			checkSound(t, f)
		})
	}
}

// checkSound holds of every forecast: it encodes to JSON (which refuses NaN and Inf) and points are in order.
func checkSound(t interface{ Errorf(string, ...any) }, f Forecast) {
	if _, err := json.Marshal(f); err != nil {
		t.Errorf("not JSON: %v", err)
	}
	qs := []Quantiles{f.Rate, f.Protein, f.CollectedAfterH["24"], f.CollectedAfterH["48"], f.CollectedAfterH["72"]}
	if f.Content != nil {
		qs = append(qs, *f.Content)
	}
	for i, q := range qs {
		if !(q.P10 <= q.Median && q.Median <= q.P90 && q.P10 >= 0) {
			t.Errorf("points %d out of order: %+v", i, q)
		}
	}
	if p := f.ChanceFullBefore; p != nil && !(*p >= 0 && *p <= 1) {
		t.Errorf("chance %v", *p)
	}
	a := f.FullAt
	if a.Even.Before(a.Early) || a.Late.Before(a.Even) {
		t.Errorf("times out of order: %+v", a)
	}
	told := func(w When) bool { return w.Within() != w.Beyond }
	if points := told(a.Early) && told(a.Even) && told(a.Late); points != a.Told() {
		t.Errorf("an answer without its points, or points without an answer: %+v", a)
	}
	if (a.Status == FullRead) != (f.Status == Full) || (a.Status == FullBeyond) != (a.Told() && a.Early.Beyond) {
		t.Errorf("%s: %+v", f.Status, a)
	}
}

// Sixty a day from 180 mL towards 360 mL: three days, by hand.
func TestFillDays(t *testing.T) {
	var rs []Reading
	for d := range 8 {
		rs = append(rs, fresh(float64(d)*24), read(float64(d)*24+23.99, 60))
	}
	rs = append(rs, fresh(192), read(216, 60), read(240, 120), read(264, 180))
	q, ok := Fit(course(rs...), at(264)).FillDays()
	if !ok || math.Abs(q.Median-3) > 0.25 || q.P10 > 3 || q.P90 < 3 {
		t.Errorf("%+v, want about 3 days", q)
	}
}

func TestSpillIsNotALowerOutput(t *testing.T) {
	known := course(fresh(0), read(24, 60), read(48, 120), Reading{At: at(72), Content: 80, SpilledVolume: 100})
	unknown := course(fresh(0), read(24, 60), read(48, 120), Reading{At: at(72), Content: 80, Spilled: true})
	for _, c := range []Course{known, unknown} {
		f := Predict(c, at(72), time.Time{})
		if f.Status != OK || f.Rate.Median < 45 || f.Rate.Median > 80 || math.Abs(f.Content.Median-80) > 25 {
			t.Errorf("status %s, rate %+v, content %+v", f.Status, f.Rate, f.Content)
		}
	}
}

func TestPauseIsNotALowerOutput(t *testing.T) {
	c := course(fresh(0), read(24, 60), read(72, 120), read(96, 180))
	c.Pauses = []Pause{{From: at(30), To: at(54)}}
	withPause := Fit(c, at(96)).Rate()
	c.Pauses = nil
	without := Fit(c, at(96)).Rate()
	if !(withPause.Median > without.Median) || math.Abs(withPause.Median-60) > 8 {
		t.Errorf("rate %v with the pause, %v without; want about 60", withPause.Median, without.Median)
	}
}

// A planned pause moves the filling time by its length.
func TestPauseAhead(t *testing.T) {
	c := course(fresh(0), read(24, 60), read(48, 120))
	a := Predict(c, at(48), time.Time{})
	c.Pauses = []Pause{{From: at(50), To: at(60)}}
	b := Predict(c, at(48), time.Time{})
	if got := b.FullAt.Even.At.Sub(a.FullAt.Even.At); got != 10*time.Hour {
		t.Errorf("moved by %v, want 10 h", got)
	}
}

// A fall with no recorded change keeps both explanations: nearly full and newly changed. Its early point must stay as
// early as the fuller one says.
func TestFallKeepsTheDangerousExplanation(t *testing.T) {
	c := course(fresh(0), read(24, 100), read(48, 200), read(72, 300), read(96, 20))
	f := Predict(c, at(96), at(120))
	if f.FullAt.Early.After(at(110)) {
		t.Errorf("p10 %v; a misread canister would be full at once", f.FullAt.Early)
	}
	if f.FullAt.Late.At.Before(at(144)) {
		t.Errorf("p90 %v; a changed canister would last days", f.FullAt.Late)
	}
	// Answered: with the change recorded the doubt is gone.
	c.Readings[4].NewCanister = true
	if g := Predict(c, at(96), at(120)); g.Status != OK || *g.ChanceFullBefore > 0.05 || g.FullAt.Early.By(at(130)) {
		t.Errorf("answered: %s, chance %v, p10 %v", g.Status, *g.ChanceFullBefore, g.FullAt.Early)
	}
}

// The old canister's reading and the new canister carry the same minute, in either order.
func TestReadingAtTheChange(t *testing.T) {
	a := course(fresh(0), read(24, 150), read(48, 300), fresh(48), read(72, 150))
	b := course(fresh(0), read(24, 150), fresh(48), read(48, 300), read(72, 150))
	fa, fb := Predict(a, at(72), time.Time{}), Predict(b, at(72), time.Time{})
	if fa.Status != OK || fa.Rate != fb.Rate || math.Abs(fa.Rate.Median-150) > 15 || fa.IntervalsUsed != 3 {
		t.Errorf("%s %+v, %s %+v", fa.Status, fa.Rate, fb.Status, fb.Rate)
	}
}

func TestSmallest(t *testing.T) {
	tr := Fit(course(fresh(0), read(24, 60), read(48, 120), read(72, 180)), at(72))
	c := tr.Smallest([]unit.Volume{800, 300, 500, 300, -1}, at(72), at(72+96), 0.1)
	if len(c.Options) != 3 || c.Smallest == nil || c.Smallest.Size == 300 {
		t.Fatalf("%+v", c)
	}
	for i := 1; i < len(c.Options); i++ {
		if c.Options[i].Chance > c.Options[i-1].Chance {
			t.Errorf("a larger canister fills more often: %+v", c.Options)
		}
	}
	if c := tr.Smallest([]unit.Volume{300}, at(72), at(72+24*14), 0.1); c.Smallest != nil || c.Text == "" {
		t.Errorf("%+v", c)
	}
	for _, c := range []Choice{tr.Smallest(nil, at(72), at(96), 0.1), tr.Smallest([]unit.Volume{300}, at(96), at(72), 0.1), tr.Smallest([]unit.Volume{300}, at(72), at(96), math.NaN())} {
		if c.Status != CannotTell {
			t.Errorf("%+v", c)
		}
	}
}

// TestTrackLater: a track moved to a later time forecasts as a fit made then, and what comes between two times is that of
// the later track.
func TestTrackLater(t *testing.T) {
	c := fortnight()
	early, late := Fit(c, at(27*12)), Fit(c, at(27*12+30))
	moved := early.At(at(27*12 + 30))
	for _, x := range []struct{ got, want Quantiles }{{moved.Rate(), late.Rate()}, {moved.Collected(1), late.Collected(1)}, {moved.CollectedBetween(at(27*12+30), at(27*12+54)), late.Collected(1)}} {
		if x.got != x.want {
			t.Errorf("%+v, want %+v", x.got, x.want)
		}
	}
	if q := early.CollectedBetween(at(27*12+5), at(27*12+5)); q != (Quantiles{}) {
		t.Errorf("no time: %+v", q)
	}
	paused := c
	paused.Pauses = []Pause{{From: at(27*12 + 10), To: at(27*12 + 34)}}
	if q := Fit(paused, at(27*12)).CollectedBetween(at(27*12+10), at(27*12+34)); q != (Quantiles{}) {
		t.Errorf("a pause: %+v", q)
	}
	defer func() {
		if recover() == nil {
			t.Error("a track was moved back")
		}
	}()
	late.At(at(27 * 12))
}

// TestSizeOfReading: a reading near the brim of the canister that it was in says "at least so much", whatever canister is
// in place now.
func TestSizeOfReading(t *testing.T) {
	full, small := course(), course()
	for h, ml := range map[float64]float64{0: 0, 24: 250, 48: 495} {
		r := read(h, ml)
		r.NewCanister, r.Size = h == 0, 500
		full.Readings = append(full.Readings, r)
		r.Size = 0
		small.Readings = append(small.Readings, r)
	}
	full.Canister, small.Canister = 300, 800
	a, b := Fit(full, at(48)).Rate(), Fit(small, at(48)).Rate()
	if a.P90 <= b.P90 || a.P10 < 0.95*b.P10 {
		t.Errorf("brimming %+v, with room %+v", a, b)
	}
}

func TestChanges(t *testing.T) {
	daily := func(mls ...float64) Course {
		c := course()
		for d, ml := range mls {
			c.Readings = append(c.Readings, fresh(float64(d)*24), read(float64(d)*24+23.9, ml))
		}
		return c
	}
	rise := Changes(daily(50, 55, 50, 45, 55, 50, 160, 150, 155), at(24*9))
	if len(rise) != 1 || !rise[0].Rise() || !rise[0].From.Equal(at(6*24)) || math.Abs(rise[0].Factor-3) > 0.4 {
		t.Errorf("rise: %+v", rise)
	}
	drop := Changes(daily(150, 155, 140, 150, 145, 25, 30, 25), at(24*8))
	if len(drop) != 1 || drop[0].Rise() || !drop[0].From.Equal(at(5*24)) {
		t.Errorf("drop: %+v", drop)
	}
	// An output that stops is a change and no string of misreadings.
	stop := Changes(daily(50, 55, 50, 45, 50, 0, 5), at(24*7))
	if len(stop) != 1 || stop[0].Rise() || !stop[0].From.Equal(at(5*24)) {
		t.Errorf("stop: %+v", stop)
	}
	for name, c := range map[string]Course{
		"steady": daily(50, 55, 50, 45, 55, 50, 60, 50, 45), "noisy": daily(50, 90, 40, 75, 110, 45, 60, 95, 50),
		"falling": daily(150, 137, 126, 115, 105, 97, 89, 81, 75), "nothing": course(),
	} {
		if got := Changes(c, at(24*9)); len(got) != 0 {
			t.Errorf("%s: %+v", name, got)
		}
	}
}

// TestOldReading: a forecast long after the newest reading says so, is nearly but never certain, and its output a day and what is
// collected in a day tell the same.
func TestOldReading(t *testing.T) {
	c := course()
	c.Readings = []Reading{fresh(0), read(24, 75), read(48, 150)}
	f := Predict(c, at(48+24*365), at(24))
	if !strings.Contains(strings.Join(f.Notes, " "), "365 days of therapy old") || !strings.Contains(strings.Join(f.Notes, " "), "before the time of the forecast") || !strings.Contains(f.Text, "chance forty-nine in fifty") {
		t.Errorf("%s %q", f.Text, f.Notes)
	}
	day := f.CollectedAfterH["24"]
	if f.Rate.P10 < day.P10/1.5 || f.Rate.P90 > day.P90*1.5 {
		t.Errorf("a day %+v, in 24 h %+v", f.Rate, day)
	}
	if p := f.ChanceFullBefore; p == nil || *p > 0.01 {
		t.Errorf("full a day before it was read at 150 mL: %v", p)
	}
}
