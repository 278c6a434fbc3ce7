package healing

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"
)

func taken(areas map[float64]float64) []Size {
	var out []Size
	for day, a := range areas {
		out = append(out, Size{At: lawStart.Add(time.Duration(day * 24 * float64(time.Hour))), AreaCm2: value(a), Method: "outline"})
	}
	return out
}

// TestValuesAtTheirLimits: what a wound can be and what it cannot, just inside and just outside.
func TestValuesAtTheirLimits(t *testing.T) {
	for _, x := range []struct {
		name string
		z    Size
		ok   bool
	}{
		{"20,000 cm²", Size{AreaCm2: value(20000)}, true}, {"20,001 cm²", Size{AreaCm2: value(20001)}, false}, {"half a mm²", Size{AreaCm2: value(0.005)}, true}, {"less", Size{AreaCm2: value(0.0049)}, false}, {"closed", Size{AreaCm2: value(0)}, true}, {"negative", Size{AreaCm2: value(-1)}, false}, {"no number", Size{AreaCm2: value(math.NaN())}, false},
		{"60 cm deep", Size{DepthCm: value(60)}, true}, {"60.1 cm deep", Size{DepthCm: value(60.1)}, false}, {"flat", Size{DepthCm: value(0)}, true},
		{"50 litres", Size{VolumeCm3: value(50000)}, true}, {"more", Size{VolumeCm3: value(50001)}, false},
		{"nothing bare", Size{AreaCm2: value(9), BarePct: value(0)}, true}, {"all bare", Size{AreaCm2: value(9), BarePct: value(100)}, true}, {"more than all", Size{AreaCm2: value(9), BarePct: value(100.1)}, false}, {"less than nothing", Size{AreaCm2: value(9), BarePct: value(-0.1)}, false},
		{"sure error", Size{AreaCm2: value(9), SECm2: value(0.5)}, true}, {"negative error", Size{AreaCm2: value(9), SECm2: value(-0.1)}, false}, {"no error", Size{AreaCm2: value(9), SECm2: value(0)}, true},
	} {
		x.z.At, x.z.Method = lawStart, "outline"
		s := clean([]Size{x.z}, lawStart)
		if (len(s.leftOut) == 0) != x.ok {
			t.Errorf("%s: left out %+v", x.name, s.leftOut)
		}
	}
	// Length times width stands in where there is no area, by ruler; a negative length does not.
	for _, x := range []struct {
		length, width float64
		n             int
		method        string
	}{{4, 2, 1, "ruler"}, {0, 2, 1, "ruler"}, {-1, 2, 0, ""}, {4, -1, 0, ""}} {
		s := clean([]Size{{At: lawStart, LengthCm: value(x.length), WidthCm: value(x.width)}}, lawStart)
		if len(s.sizes) != x.n || x.n == 1 && s.sizes[0].Method != x.method {
			t.Errorf("%g by %g: %+v", x.length, x.width, s.sizes)
		}
	}
	if s := clean([]Size{{At: lawStart, BarePct: value(30)}}, lawStart); len(s.looks) != 1 || len(s.sizes) != 0 {
		t.Errorf("a look at the bed: %+v", s)
	}
}

// TestDayOfTheSize: a size of the review's minute counts, a later one does not; a review of a day takes all of it.
func TestDayOfTheSize(t *testing.T) {
	noon := lawStart.Truncate(24 * time.Hour).Add(12 * time.Hour)
	midnight := noon.Add(-12 * time.Hour)
	for _, x := range []struct {
		at, asOf time.Time
		n        int
	}{{noon, noon, 1}, {noon.Add(time.Second), noon, 0}, {midnight.Add(24*time.Hour - time.Second), midnight, 1}, {midnight.Add(24 * time.Hour), midnight, 0}} {
		if s := clean([]Size{{At: x.at, AreaCm2: value(9)}}, x.asOf); len(s.sizes) != x.n {
			t.Errorf("a size of %s at %s: %d", x.at, x.asOf, len(s.sizes))
		}
	}
}

// TestHowOldASizeMayBe: 21 days for a word on progress, 90 for a forecast.
func TestHowOldASizeMayBe(t *testing.T) {
	sizes := weekly(20, 18, 16.3, 14.6)
	last := sizes[3].At
	for _, x := range []struct {
		days             float64
		status           Status
		progress, saysSo bool
	}{{0, OK, true, false}, {21, OK, true, false}, {21.05, OK, false, true}, {26, OK, false, true}, {90, OK, false, true}, {90.05, OldSizes, false, false}, {110, OldSizes, false, false}} {
		a := assess(Input{AsOf: last.Add(time.Duration(x.days * 24 * float64(time.Hour))), Sizes: sizes})
		if a.Status != x.status || (a.NotImproving != nil) != x.progress || strings.Contains(a.Sentence, "cannot be told") != x.saysSo {
			t.Errorf("%g days: %s %v %q", x.days, a.Status, a.NotImproving, a.Sentence)
		}
		if x.days == 110 && !strings.Contains(a.Sentence, "110 days ago") {
			t.Errorf("%q", a.Sentence)
		}
	}
}

// TestShortestWindow: five days between sizes tell progress, less do not; and a measure a week behind the others does, not more.
func TestShortestWindow(t *testing.T) {
	for days, told := range map[float64]bool{4: false, 4.9: false, 5: true, 6: true} {
		if a := assess(Input{Sizes: taken(map[float64]float64{0: 20, days: 18})}); (a.NotImproving != nil) != told {
			t.Errorf("%g days: %v", days, a.NotImproving)
		}
	}
	for days, n := range map[float64]int{7: 2, 7.05: 1, 8.5: 1} {
		sizes := taken(map[float64]float64{0: 20, 14: 18, 14 + days: 17})
		for i := range sizes {
			if sizes[i].At.Before(lawStart.AddDate(0, 0, 15)) {
				sizes[i].DepthCm = value(2)
			}
		}
		if a := assess(Input{Sizes: sizes}); len(a.Progress) != n {
			t.Errorf("depth %g days behind: %d measures", days, len(a.Progress))
		}
	}
}

// TestFewSizes: below four areas it is said that published rates carry the forecast.
func TestFewSizes(t *testing.T) {
	for n := 2; n <= 5; n++ {
		if a := assess(Input{Sizes: weekly([]float64{20, 18, 16.3, 14.6, 13.2}[:n]...)}); strings.Contains(a.Sentence, "leans on published rates") != (n < 4) {
			t.Errorf("%d sizes: %q", n, a.Sentence)
		}
	}
}

// TestWhenADateIsGiven: from a chance of one in ten within 364 days.
func TestWhenADateIsGiven(t *testing.T) {
	for within, dated := range map[float64]bool{0.0801: false, 0.0999: false, 0.1001: true, 0.1249: true, 1: true} {
		r := reach{days: []float64{0, 100, 364}, chance: []float64{0, within / 2, within}}
		a := r.arrival(Goal{}, []float64{100, 364})
		if (a.MedianDays != nil) != dated || (a.P10Days != nil) != dated || (a.P90Days != nil) != dated || a.HorizonDays != 364 || *a.Chance != within || strings.HasPrefix(a.Basis, "no date") == dated {
			t.Errorf("%g: %+v", within, a)
		}
	}
	r := reach{days: []float64{0, 100, 364}, chance: []float64{0, 0.2, 0.4}}
	if a := r.arrival(Goal{}, []float64{100, 364}); !strings.Contains(a.Basis, "40 %") || a.ChanceByDays["100"] != 0.2 || a.ChanceByDays["364"] != 0.4 {
		t.Errorf("%+v", a)
	}
}

// TestClosedTooFast: a wound of a radius above 1.5 cm that closes by more than 1.2 cm a week is doubted; radius r has the
// area π r².
func TestClosedTooFast(t *testing.T) {
	for _, x := range []struct {
		radius, weeks float64
		doubted       bool
	}{{1.6, 1, true}, {1.45, 1, false}, {1.45, 0.5, false}, {1.55, 1.25, true}, {1.55, 1.35, false}, {2.3, 2, false}, {2.5, 2, true}} {
		a := assess(Input{Sizes: taken(map[float64]float64{0: math.Pi * x.radius * x.radius, 7 * x.weeks: 0})})
		if a.Status != Closed || strings.Contains(a.Sentence, "if no surgeon closed it") != x.doubted {
			t.Errorf("radius %g in %g weeks: %q", x.radius, x.weeks, a.Sentence)
		}
	}
}

// TestNoughtBetweenSizes: a nought is a slip where the next size is half to 1.3 times the one before it, else the wound
// opened anew.
func TestNoughtBetweenSizes(t *testing.T) {
	for next, slip := range map[float64]bool{4.9: false, 5: true, 9: true, 13: true, 13.1: false} {
		a := assess(Input{Sizes: weekly(10, 0, next, next)})
		if (len(a.Odd) == 1 && a.Odd[0].Value == 0) != slip || strings.Contains(strings.Join(a.Notes, " "), "opened again") == slip {
			t.Errorf("10, 0, %g: odd %+v, %q", next, a.Odd, a.Notes)
		}
	}
}

// TestMilestonesSayTheirNumbers: title and published words of a milestone tell the same numbers as its fields.
func TestMilestonesSayTheirNumbers(t *testing.T) {
	words := map[string]float64{"half": 50}
	title := regexp.MustCompile(`^(\d+ %|half) of the area gone (?:by|in the) (?:week (\d+)|first week)`)
	above, below := regexp.MustCompile(`(\d+) % (?:above it|of those at it) healed`), regexp.MustCompile(`and (\d+) % (?:below it|of the others)`)
	seen := 0
	for _, m := range markers(usual) {
		if m.ID == "pressure-any-week2" {
			// Some fall at all, by the second week.
			if m.DueDays != 14 || !(m.Reduction > 0 && m.Reduction < 1e-3) {
				t.Errorf("%+v", m)
			}
			continue
		}
		got := title.FindStringSubmatch(m.Title)
		if got == nil {
			t.Errorf("%q", m.Title)
			continue
		}
		seen++
		share, named := words[got[1]]
		if !named {
			share, _ = strconv.ParseFloat(strings.TrimSuffix(got[1], " %"), 64)
		}
		week, err := strconv.ParseFloat(got[2], 64)
		if err != nil {
			week = 1
		}
		if math.Round(100*m.Reduction) != share || m.DueDays != 7*week {
			t.Errorf("%q: %g by day %g", m.Title, m.Reduction, m.DueDays)
		}
		for re, field := range map[*regexp.Regexp]*float64{above: m.MetRight, below: m.NotMetRight} {
			if s := re.FindStringSubmatch(m.Right); s != nil && field != nil {
				x, _ := strconv.ParseFloat(s[1], 64)
				if re == below {
					x = 100 - x
				}
				if math.Round(100**field) != x {
					t.Errorf("%q: %q and %g", m.ID, m.Right, *field)
				}
			}
		}
	}
	if seen < 8 {
		t.Errorf("%d milestones with a title", seen)
	}
}

// TestSizeOnTheDueDay: a size up to three and a half days from it counts as taken then; two at most 21 days apart, one on
// either side, are joined by a line on the log scale.
func TestSizeOnTheDueDay(t *testing.T) {
	m := Milestone{ID: "m", Reduction: 0.5, DueDays: 28, Right: "r"}
	day := func(d float64) time.Time { return lawStart.Add(time.Duration(d * 24 * float64(time.Hour))) }
	for _, x := range []struct {
		name  string
		areas map[float64]float64
		seen  float64 // the area on which it rests, 0 for none
		state string
	}{
		{"half, on the day", map[float64]float64{0: 12, 28: 6}, 6, StateMet},
		{"just over half is left", map[float64]float64{0: 12, 28: 6.01}, 6.01, StateNotMet},
		{"3½ days early", map[float64]float64{0: 12, 24.5: 5}, 5, StateMet},
		{"3½ days late", map[float64]float64{0: 12, 31.5: 7}, 7, StateNotMet},
		{"3.6 days late", map[float64]float64{0: 12, 31.6: 7}, 0, StateCannotTell},
		{"the nearer of two", map[float64]float64{0: 12, 26: 7, 29: 5}, 5, StateMet},
		{"between two, 20 days apart", map[float64]float64{0: 16, 18: 8, 38: 2}, 4, StateMet},
		{"between two, 21 days apart", map[float64]float64{0: 16, 17.5: 8, 38.5: 2}, 4, StateMet},
		{"between two, 22 days apart", map[float64]float64{0: 16, 17: 8, 39: 2}, 0, StateCannotTell},
	} {
		s := clean(taken(x.areas), day(60))
		r := judge(m, s.with(Area), nil, day(60), nil)
		start := *s.with(Area)[0].AreaCm2
		if r.State != x.state || x.seen > 0 && (r.Seen == nil || math.Abs(*r.Seen-(1-x.seen/start)) > 1e-9) {
			t.Errorf("%s: %s %v", x.name, r.State, r.Seen)
		}
	}
	// Closed on the due day is met, closed the day after is not yet an answer to it.
	for d, met := range map[float64]bool{28: true, 28.5: false} {
		at := day(d)
		if r := judge(m, taken(map[float64]float64{0: 12}), nil, day(40), &at); (r.State == StateMet) != met {
			t.Errorf("closed on day %g: %s", d, r.State)
		}
	}
	// On the due day it is judged, a second before it is not.
	areas := clean(taken(map[float64]float64{0: 12, 27: 5}), day(60)).with(Area)
	for asOf, state := range map[time.Time]string{day(28): StateMet, day(28).Add(-time.Second): StateNotYetDue} {
		if r := judge(m, areas, nil, asOf, nil); r.State != state {
			t.Errorf("%s: %s", asOf, r.State)
		}
	}
}

// TestLeastCohort: twenty ended cases make a curve, nineteen do not.
func TestLeastCohort(t *testing.T) {
	var cases []ClosedCase
	for i := range 20 {
		f := 0.8 + 0.005*float64(i)
		cases = append(cases, ClosedCase{WoundType: "surgical", Sizes: weekly(20, 20*f, 20*f*f, 20*f*f*f)})
	}
	if c := CohortCurve("surgical", cases[:19]); len(c.Points) != 0 || !strings.Contains(c.Sentence, "19 ended cases") || !strings.Contains(c.Sentence, "20 are needed") {
		t.Errorf("%+v", c)
	}
	c := CohortCurve("surgical", cases)
	if len(c.Points) != 4 || c.N != 20 || c.Points[0].Left.Median != 1 || c.Points[3].Weeks != 3 {
		t.Fatalf("%+v", c)
	}
	// Twenty shares from 0.8 in steps of 0.005: the middle is 0.8475, a tenth from either end 0.8095 and 0.8855.
	if l := c.Points[1].Left; math.Abs(l.Median-0.8475) > 1e-9 || math.Abs(l.P10-0.8095) > 1e-9 || math.Abs(l.P90-0.8855) > 1e-9 {
		t.Errorf("%+v", l)
	}
	for n, ok := range map[int]bool{19: false, 20: true} {
		if _, got := FitCohort("surgical", cases[:n]); got != ok {
			t.Errorf("a prior from %d cases: %v", n, got)
		}
	}
}

// TestPastIsBounded: sizes and the middles between them, thinned so that at most 49 steps are drawn.
func TestPastIsBounded(t *testing.T) {
	for n, want := range map[int]int{2: 3, 24: 47, 25: 25, 40: 40, 60: 40} {
		var areas []float64
		for i := range n {
			areas = append(areas, 30*math.Pow(0.97, float64(i)))
		}
		if a := assess(Input{Sizes: weekly(areas...), Past: true}); len(a.Past) != want {
			t.Errorf("%d sizes: %d times", n, len(a.Past))
		}
	}
}

// TestLeastFall: over two weeks a share of the published fall of NPWT counts as improving; over a shorter window the same
// share of it by its logarithm.
func TestLeastFall(t *testing.T) {
	for days, scale := range map[float64]float64{14: 1, 21: 1, 7: 0.5} {
		a := assess(Input{Sizes: taken(map[float64]float64{0: 20, days: 18})})
		want := 1 - math.Pow(1-(1-0.917*0.917)*0.39, scale)
		if len(a.Progress) != 1 || math.Abs(a.Progress[0].LeastFall-want) > 1e-9 {
			t.Errorf("%g days: %+v, want %g", days, a.Progress, want)
		}
	}
}

// TestNoDateBeyondACentury: a date is written for a day asked up to a hundred years ahead, a size for up to 364 days.
func TestNoDateBeyondACentury(t *testing.T) {
	for days, dated := range map[float64]bool{36500: true, 36501: false, -36500: true, -36501: false, 32000: true, 42000: false} {
		a := assess(Input{Sizes: weekly(20, 18, 16), AheadDays: []float64{days}})
		if len(a.Ahead) != 1 || a.Ahead[0].Days != days || a.Ahead[0].Date.IsZero() == dated {
			t.Errorf("%g days: %+v", days, a.Ahead)
		}
	}
	for days, sized := range map[float64]bool{-15: false, -14: true, 0: true, 364: true, 365: false} {
		a := assess(Input{Sizes: weekly(20, 18, 16), AheadDays: []float64{days}})
		if len(a.Ahead) != 1 || (a.Ahead[0].Area != nil) != sized {
			t.Errorf("%g days: %+v", days, a.Ahead)
		}
	}
}
