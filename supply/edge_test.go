package supply

import (
	"math"
	"testing"
	"time"
)

func near(a, b, tol float64) bool { return math.Abs(a-b) <= tol }

// TestOutputBetweenItsPoints: halves of log-normal laws. ln 2 / 1.281552 · 0.125661 = 0.067966, and twice that above.
func TestOutputBetweenItsPoints(t *testing.T) {
	o := Output{P10: 50, Median: 100, P90: 400}
	for p, want := range map[float64]float64{0.1: 50, 0.45: 93.4292, 0.5: 100, 0.55: 114.5602, 0.9: 400} {
		if got := o.At(p); !near(got, want, 1e-3) {
			t.Errorf("%g: %g, want %g", p, got, want)
		}
	}
	for _, x := range []struct {
		o       Output
		p, want float64
	}{
		{Output{P10: 1, P90: 2}, 0.5, 0}, {Output{Median: -1}, 0.5, 0}, {Output{0.5, 0.5, 0.5}, 0.5, 0.5},
		{Output{1e-4, 1, 2}, 0.1, 1e-4}, {Output{0, 1, 2}, 0.1, 1e-6}, {Output{1, 2, 1}, 0.9, 2}, // a high end below the middle is the middle
	} {
		if got := x.o.At(x.p); !near(got, x.want, 1e-9) {
			t.Errorf("%+v at %g: %g", x.o, x.p, got)
		}
	}
}

// TestCanisterCountAtItsEdges: each worked by hand.
func TestCanisterCountAtItsEdges(t *testing.T) {
	for _, x := range []struct {
		name       string
		c          Canister
		rate, days float64
		want       int
	}{
		{"no size", Canister{}, 90, 14, 0},
		{"no days", Canister{StayH: 168, UsableML: 270}, 90, 0, 0},
		{"half a mL, at 2 and 4 of 5 days", Canister{StayH: 168, UsableML: 0.5}, 0.25, 5, 2},
		{"half a day, full after 2 h 40", Canister{StayH: 168, UsableML: 270, ContentML: 260}, 90, 0.5, 1},
		{"lasts as long as the days", Canister{StayH: 168, UsableML: 270}, 0, 3, 0},
		{"four days at most: at 4, 8, 12 of 15", Canister{UsableML: 270, StayH: 96}, 0, 15, 3},
		{"a day at most: at 1, 2, 3 of 3½", Canister{UsableML: 270, StayH: 24}, 0, 3.5, 3},
		{"full, and nothing runs: the week counts", Canister{StayH: 168, UsableML: 270, ContentML: 270}, 0, 8, 1},
		{"half a mL a day fills 2 mL in 4 of 9 days, and again", Canister{StayH: 168, UsableML: 2}, 0.5, 9, 2},
		{"overfull: changed at once, the next lasts the week", Canister{StayH: 168, UsableML: 10, ContentML: 11}, 0.1, 5, 1},
		{"4½ days are two visits of 48 h: at 4 and 8 of 12", Canister{StayH: 168, UsableML: 270, VisitEveryH: 48}, 60, 12, 2},
		{"2.7 days are five visits of 12 h: at 2½, 5, 7½ of 7.6", Canister{StayH: 168, UsableML: 270, VisitEveryH: 12}, 100, 7.6, 3},
		{"two days are one visit of 48 h, to the minute: at 2 and 4 of 6", Canister{StayH: 168, UsableML: 120, VisitEveryH: 48}, 60, 6, 2},
		{"1.9995 days are one visit of a day: at 1, 2, 3 of 4", Canister{StayH: 168, UsableML: 199.95, VisitEveryH: 24}, 100, 4, 3},
		{"in for longer than a week: at once, and at 7 of 7½", Canister{StayH: 168, UsableML: 270, AgeH: 200}, 0, 7.5, 2},
		{"in for four days: at 3 of 9½", Canister{StayH: 168, UsableML: 270, AgeH: 96}, 0, 9.5, 1},
		{"in for four days: at 3 and 10 of 10½", Canister{StayH: 168, UsableML: 270, AgeH: 96}, 0, 10.5, 2},
		{"at 1 and 2 of 2.0005", Canister{StayH: 168, UsableML: 100}, 100, 2.0005, 2},
		{"at 1, 2 and 3 of 3.0005", Canister{StayH: 168, UsableML: 100}, 100, 3.0005, 3},
		{"a flood: a thousand a day is the most", Canister{StayH: 168, UsableML: 1}, 10000, 1, 1000},
		{"1.1 thousandths of a day each", Canister{StayH: 168, UsableML: 1.1}, 1000, 1, 909},
		{"0.9 thousandths count as one", Canister{StayH: 168, UsableML: 0.9}, 1000, 1, 1000},
		{"nobody plans for more than a hundred thousand", Canister{StayH: 168, UsableML: 1}, 10000, 200, 100_000},
	} {
		if got := x.c.Count(x.rate, x.days); got != x.want {
			t.Errorf("%s: %d, want %d", x.name, got, x.want)
		}
	}
}

// TestCanistersOfALaw: with 10 mL in each and no other limit, r mL a day take 10 r - 1 canisters in 100 days, less the
// rounding. So 50, 100 and 400 mL a day take 499, 999 and 3,999; and where the output is log-normal with 80, 100, 125
// (s = 0.17412) the mean is 1,000 exp(s²/2) - 0.5 = 1014.8, and the variance 1000² exp(s²) (exp(s²) - 1) = 31,730.
func TestCanistersOfALaw(t *testing.T) {
	c := Canister{UsableML: 10, StayH: 1e6}
	s, st := Canisters(c, Output{50, 100, 400}, 100)
	if st != OK || s.Low != 499 || s.Median != 999 || s.High != 3999 {
		t.Errorf("%+v %s", s, st)
	}
	// 25 midpoints leave out the ends of the law: a thousandth of the mean, and a twentieth of the variance.
	s, _ = Canisters(c, Output{80, 100, 125}, 100)
	if !near(s.Mean, 1014.8, 2) || !near(s.Variance, 31730, 2000) {
		t.Errorf("mean %g, variance %g", s.Mean, s.Variance)
	}
	if s, st = Canisters(Canister{UsableML: 0.5, StayH: 1e6}, Output{0.5, 0.5, 0.5}, 4.5); st != OK || s.Median != 4 || !near(s.Mean, 4, 1e-9) || !near(s.Variance, 0, 1e-9) {
		t.Errorf("half a mL: %+v %s", s, st)
	}
	for want, x := range map[Status]struct {
		c Canister
		o Output
	}{NoSizeML: {Canister{}, Output{1, 1, 1}}, NoOutput: {Canister{UsableML: 1}, Output{}}} {
		if _, st := Canisters(x.c, x.o, 10); st != want {
			t.Errorf("%s, want %s", st, want)
		}
	}
}

// TestExtraByHand: one extra change in 20 days is the prior; what was watched is added to both.
func TestExtraByHand(t *testing.T) {
	for _, x := range []struct {
		p        Plan
		days     float64
		r, share float64
	}{
		{Plan{}, 10, 1, 2. / 3}, {Plan{Early: 3, WatchedD: 20}, 20, 4, 2. / 3}, {Plan{Early: -2, WatchedD: -5}, 10, 1, 2. / 3}, {Plan{}, -3, 1, 1}, {Plan{}, 0.5, 1, 20 / 20.5},
	} {
		if got := x.p.Extra(x.days); got.R != x.r || !near(got.P, x.share, 1e-12) {
			t.Errorf("%+v over %g: %+v", x.p, x.days, got)
		}
	}
}

// TestNegBin: P^R is the chance of none. Of one half and R = 1 each further one is half as likely: 1/2, 3/4, 7/8.
func TestNegBin(t *testing.T) {
	half := NegBin{1, 0.5}
	for n, want := range map[int]float64{-1: 0, 0: 0.5, 1: 0.75, 2: 0.875} {
		if got := half.CDF(n); !near(got, want, 1e-12) {
			t.Errorf("CDF(%d) = %g", n, got)
		}
	}
	if got := (NegBin{2, 0.5}).CDF(0); !near(got, 0.25, 1e-12) {
		t.Errorf("%g", got)
	}
	if sure := (NegBin{1, 1}); sure.CDF(0) != 1 || sure.Quantile(0.9) != 0 || sure.Mean() != 0 || sure.Variance() != 0 {
		t.Error("with P = 1 there are none")
	}
	for p, want := range map[float64]int{0: 0, 0.49: 0, 0.5: 0, 0.51: 1, 0.74: 1, 0.76: 2} {
		if got := half.Quantile(p); got != want {
			t.Errorf("quantile %g: %d", p, got)
		}
	}
	if got := (NegBin{1, 1e-9}).Quantile(0.5); got != 100_000 {
		t.Errorf("most: %d", got)
	}
}

// TestChangesAtTheirEdges: over 400 days with 100 early changes in the 20 days watched, beyond the prior of one in 20:
// R = 101, P = 40/440. Its quantiles are sums of the law's terms (computed apart): 877, 1007, 1147.
func TestChangesAtTheirEdges(t *testing.T) {
	far := after(1e6)
	s := Changes(Plan{Next: far, LeastH: 24, MostH: 96, Early: 100, WatchedD: 20}, monday, after(400*24))
	if s.Low != 877 || s.Median != 1007 || s.High != 1147 || !near(s.Mean, 1010, 1e-6) {
		t.Errorf("%+v", s)
	}
	// Ten days planned every one to four: 3, 4 and 10 changes. Extra ones: mean 1/2, variance 3/4; none, one and
	// two have 2/3, 8/9 and 26/27 behind them, so two at nine tenths.
	s = Changes(Plan{Next: monday, LeastH: 24, MostH: 96}, monday, after(240))
	if s.Low != 3 || s.Median != 4 || s.High != 12 || !near(s.Mean, 4.5, 1e-9) || !near(s.Variance, 0.75+3.5*3.5/3, 1e-9) {
		t.Errorf("%+v", s)
	}
	if s := Changes(Plan{Next: monday, LeastH: 24, MostH: 24}, monday, after(12)); s.Low != 1 || !near(s.Mean, 1+0.5/20, 1e-9) {
		t.Errorf("half a day: %+v", s)
	}
	if (Changes(Plan{Next: monday, LeastH: 24, MostH: 24}, monday, monday)) != (Spread{}) {
		t.Error("no time takes changes")
	}
	for _, x := range []struct {
		hours, of float64
		want      int
	}{{2, 0.5, 4}, {0.5, 48, 1}, {0, 48, 0}, {48, 48, 1}, {48.024, 48, 2}} {
		if got := (Plan{Next: monday}).Planned(monday, after(x.hours), x.of); got != x.want {
			t.Errorf("every %g h in %g h: %d", x.of, x.hours, got)
		}
	}
}

// TestUsual: a week of changes every two days is three or four, and a whole number is just that.
func TestUsual(t *testing.T) {
	for _, x := range []struct {
		every, days, mean float64
		fewest, most      int
	}{
		{48, 7, 3.5, 3, 4}, {24, 7, 7, 7, 7}, {0.5, 0.5, 24, 24, 24}, {24, 3.9995, 3.9995, 3, 4}, {24, 4.0005, 4.0005, 4, 5}, {0, 7, 0, 0, 0}, {24, 0, 0, 0, 0}, {-24, 7, 0, 0, 0},
	} {
		if mean, fewest, most := Usual(x.every, x.days); !near(mean, x.mean, 1e-9) || fewest != x.fewest || most != x.most {
			t.Errorf("every %g h in %g d: %g, %d to %d", x.every, x.days, mean, fewest, most)
		}
	}
}

// TestAddKeepsOne: one patient keeps its quantiles; a sum is normal, rounded outwards, and never below nought.
func TestAddKeepsOne(t *testing.T) {
	one := Spread{1, 2, 9, 3, 4}
	if Add(one) != one {
		t.Errorf("%+v", Add(one))
	}
	// Mean 0.5, deviation 1: -0.78 to 1.78.
	if s := Add(Spread{Mean: 0.25, Variance: 0.5}, Spread{Mean: 0.25, Variance: 0.5}); s.Low != 0 || s.High != 2 {
		t.Errorf("%+v", s)
	}
	if Add() != (Spread{}) {
		t.Error("nobody uses something")
	}
}

// TestKitsAtTheirEdges: no area still takes a kit; a layer or depth that is not known is one layer; of equal kits the first
// by name, in whatever order they are listed.
func TestKitsAtTheirEdges(t *testing.T) {
	a, b, large := Kit{"a", "foam", 60, 3}, Kit{"b", "foam", 60, 3}, Kit{"z", "foam", 400, 3}
	for _, x := range []struct {
		name string
		w    Wound
		kits []Kit
		want Need
	}{
		{"no area", Wound{"foam", 0, 2}, []Kit{a}, Need{"a", 1, 1}},
		{"half a cm²", Wound{"foam", 0.5, 2}, []Kit{a}, Need{"a", 1, 1}},
		{"no depth", Wound{"foam", 20, 0}, []Kit{a}, Need{"a", 1, 1}},
		{"half a cm deep in layers of 2 mm", Wound{"foam", 10, 0.5}, []Kit{{"t", "foam", 60, 0.2}}, Need{"t", 1, 3}},
		{"layer not known", Wound{"foam", 10, 5}, []Kit{{"t", "foam", 60, 0}}, Need{"t", 1, 1}},
		{"a kit that covers nothing", Wound{"foam", 0, 1}, []Kit{{"0", "foam", 0, 3}, a}, Need{"a", 1, 1}},
		{"a kit of half a cm²", Wound{"foam", 0.4, 1}, []Kit{{"h", "foam", 0.5, 3}}, Need{"h", 1, 1}},
		{"two alike", Wound{"foam", 20, 2}, []Kit{a, b}, Need{"a", 1, 1}},
		{"two alike, turned", Wound{"foam", 20, 2}, []Kit{b, a}, Need{"a", 1, 1}},
		{"two alike, too small", Wound{"foam", 100, 2}, []Kit{a, b}, Need{"a", 2, 1}},
		{"two alike, too small, turned", Wound{"foam", 100, 2}, []Kit{b, a}, Need{"a", 2, 1}},
		{"the largest, not the first by name", Wound{"foam", 1000, 2}, []Kit{large, a}, Need{"z", 3, 1}},
		{"the largest, listed last", Wound{"foam", 1000, 2}, []Kit{a, large}, Need{"z", 3, 1}},
		{"the smallest that holds it, listed last", Wound{"foam", 20, 2}, []Kit{large, b}, Need{"b", 1, 1}},
	} {
		if got, st := Kits(x.w, x.kits); got != x.want || st != OK {
			t.Errorf("%s: %+v %s", x.name, got, st)
		}
	}
}

// TestReorderByHand: two a day for nine days, 90 %: 18 + 1.281552 · sqrt(9·4 + 2²·1) = 26.1052.
func TestReorderByHand(t *testing.T) {
	r := ReorderPoint(2, 4, Lead{Days: 9, SDDays: 1, Service: 0.9})
	if !near(r.Use, 18, 1e-12) || !near(r.Safety, 8.105246, 1e-5) || !near(r.Point, 26.105246, 1e-5) {
		t.Errorf("%+v", r)
	}
	if r := ReorderPoint(0.5, 0, Lead{Days: 0.5, Service: 0.5}); !near(r.Point, 0.25, 1e-12) {
		t.Errorf("half of half: %+v", r)
	}
	for name, r := range map[string]Reorder{
		"no use": ReorderPoint(0, 4, Lead{Days: 9, Service: 0.9}), "no lead": ReorderPoint(2, 4, Lead{Service: 0.9}), "no service": ReorderPoint(2, 4, Lead{Days: 9}), "all service": ReorderPoint(2, 4, Lead{Days: 9, Service: 1}),
	} {
		if r != (Reorder{}) {
			t.Errorf("%s: %+v", name, r)
		}
	}
}

// TestLeftAtItsEdges: what is used up to the day of expiry is not left.
func TestLeftAtItsEdges(t *testing.T) {
	for _, x := range []struct {
		name   string
		count  int
		perDay float64
		days   int
		want   int
	}{
		{"nothing is used", 1, 0, 10, 1}, {"half a day's use of one", 1, 0.5, 1, 0}, {"one of two in two days", 2, 0.5, 2, 1}, {"a half too few", 2, 0.75, 2, 0},
		{"used to the last", 2, 1, 2, 0}, {"a two-hundredth used", 1, 0.005, 1, 0}, {"a two-thousandth used", 1, 0.0005, 1, 0}, {"less than no use", 3, -1, 5, 3},
		{"a use that does not add up in binary", 3, 0.1, 10, 2},
	} {
		got := 0
		for _, r := range Left([]Lot{{"L", monday.AddDate(0, 0, x.days), x.count}}, x.perDay, monday) {
			if r.Left <= 0 {
				t.Errorf("%s: lists %d left", x.name, r.Left)
			}
			got += r.Left
		}
		if got != x.want {
			t.Errorf("%s: %d left, want %d", x.name, got, x.want)
		}
	}
	// One of the first three is used by day 1 and two are left; the second is used on day 2.
	got := Left([]Lot{{"second", monday.AddDate(0, 0, 2), 1}, {"first", monday.AddDate(0, 0, 1), 3}, {"old", monday.Add(-time.Hour), 5}, {"none", monday.AddDate(0, 0, 1), 0}}, 1, monday)
	if len(got) != 1 || got[0].Lot.Lot != "first" || got[0].Left != 2 {
		t.Errorf("%+v", got)
	}
}
