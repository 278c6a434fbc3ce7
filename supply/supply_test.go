package supply

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"pgregory.net/rapid"

	"lowtide/unit"
)

var monday = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)

func after(h float64) time.Time { return monday.Add(time.Duration(h * float64(time.Hour))) }

var shelf = []Kit{{"foam kit L", "foam", 400, 3}, {"foam kit S", "foam", 60, 3}, {"foam kit M", "foam", 150, 3}, {"gauze kit", "gauze", 200, 2.5}}

// TestKits: worked by hand.
func TestKits(t *testing.T) {
	for _, x := range []struct {
		name string
		w    Wound
		want Need
		st   Status
	}{
		{"20 cm², 2 cm deep: one sheet, the smallest", Wound{"foam", 20, 2}, Need{"foam kit S", 1, 1}, OK},
		{"60 cm² fills the smallest exactly", Wound{"foam", 60, 3}, Need{"foam kit S", 1, 1}, OK},
		{"60.1 cm² does not", Wound{"foam", 60.1, 3}, Need{"foam kit M", 1, 1}, OK},
		{"40 cm², 4 cm deep: two sheets make 80", Wound{"foam", 40, 4}, Need{"foam kit M", 1, 2}, OK},
		{"300 cm², 7 cm deep: three sheets make 900: three of the largest", Wound{"foam", 300, 7}, Need{"foam kit L", 3, 3}, OK},
		{"depth not known: one sheet", Wound{"gauze", 200, -1}, Need{"gauze kit", 1, 1}, OK},
		{"no size", Wound{"foam", -1, 2}, Need{}, NoSize},
		{"size not a number", Wound{"foam", unit.Area(math.NaN()), 2}, Need{}, NoSize},
		{"no filler", Wound{"", 20, 2}, Need{}, NoFiller},
		{"no kit of that filler", Wound{"dense foam", 20, 2}, Need{}, NoKit},
	} {
		if got, st := Kits(x.w, shelf); got != x.want || st != x.st {
			t.Errorf("%s: %+v %q, want %+v %q", x.name, got, st, x.want, x.st)
		}
	}
}

// TestPlanned: changes at 0, 48, 96, 144 h lie in a week; the one at 168 does not.
func TestPlanned(t *testing.T) {
	p := Plan{Next: monday}
	for _, x := range []struct {
		name       string
		next       time.Time
		hours, of  float64
		want       int
		everyAgain float64
	}{
		{"a week from the first change", monday, 168, 48, 4, 0},
		{"a week and a minute before the next", monday, 192, 48, 4, 0},
		{"one hour more", monday, 193, 48, 5, 0},
		{"first change in three days", after(72), 168, 48, 2, 0},
		{"first change is overdue: it counts now", after(-30), 24, 48, 1, 0},
		{"first change after the period", after(200), 168, 48, 0, 0},
		{"no interval", monday, 168, 0, 0, 0},
	} {
		p.Next = x.next
		if got := p.Planned(monday, after(x.hours), x.of); got != x.want {
			t.Errorf("%s: %d, want %d", x.name, got, x.want)
		}
	}
}

// TestCanisterCount: worked by hand with 270 mL usable.
func TestCanisterCount(t *testing.T) {
	for _, x := range []struct {
		name       string
		c          Canister
		rate, days float64
		want       int
	}{
		{"90 mL/d: full every 3 days; at 3, 6, 9, 12 of 14", Canister{StayH: 168, UsableML: 270}, 90, 14, 4},
		{"no output: weekly, at 7 of 14; the one at 14 is after", Canister{StayH: 168, UsableML: 270}, 0, 14, 1},
		{"no output, 15 days: at 7 and 14", Canister{StayH: 168, UsableML: 270}, 0, 15, 2},
		{"180 mL in it: full in 1 day, then every 3: 1, 4, 7", Canister{StayH: 168, UsableML: 270, ContentML: 180}, 90, 8, 3},
		{"it has been in for 6 days: at 1, 8", Canister{StayH: 168, UsableML: 270, AgeH: 144}, 0, 14, 2},
		{"overdue: now, and at 7", Canister{StayH: 168, UsableML: 270, AgeH: 200}, 0, 10, 2},
		{"visits every 2 days: changed at the visit before it is full, every 2: 2, 4, 6", Canister{StayH: 168, UsableML: 270, VisitEveryH: 48}, 90, 8, 3},
		{"fills before any visit: every 1.5 days: 1.5, 3, 4.5, 6, 7.5", Canister{StayH: 168, UsableML: 270, VisitEveryH: 72}, 180, 8, 5},
		{"no days", Canister{StayH: 168, UsableML: 270}, 90, 0, 0},
	} {
		if got := x.c.Count(x.rate, x.days); got != x.want {
			t.Errorf("%s: %d, want %d", x.name, got, x.want)
		}
	}
	if _, st := Canisters(Canister{}, Output{50, 90, 150}, 7); st != NoSizeML {
		t.Error("a canister without a size was counted")
	}
	if _, st := Canisters(Canister{StayH: 168, UsableML: 270}, Output{}, 7); st != NoOutput {
		t.Error("an output that is not known was counted")
	}
}

// TestLeft: worked by hand at 2 a day. By 12 March (10 days) 20 are used, by 22 March 40.
func TestLeft(t *testing.T) {
	day := func(d int) time.Time { return time.Date(2026, 3, d, 0, 0, 0, 0, time.UTC) }
	today := day(2)
	lots := []Lot{{"C", time.Time{}, 99}, {"B", day(22), 30}, {"A", day(12), 25}, {"old", day(2), 7}}
	got := Left(lots, 2, today)
	// A: 25 - 20 = 5 left. B: 20 used by then were A's; from 12 to 22 March 20 of 30 are used, so 10 left.
	if len(got) != 2 || got[0].Lot.Lot != "A" || got[0].Left != 5 || got[1].Lot.Lot != "B" || got[1].Left != 10 {
		t.Errorf("%+v", got)
	}
	if !lots[3].Expired(today) || lots[2].Expired(today) || lots[0].Expired(today) {
		t.Error("use before 2 March means not on 2 March")
	}
	if len(Left(lots, 100, today)) != 0 {
		t.Error("at 100 a day nothing is left")
	}
}

// TestReorderNothing: no use, no lead time, no service level: no point.
func TestReorderNothing(t *testing.T) {
	for _, r := range []Reorder{ReorderPoint(0, 1, Lead{2, 0, .9}), ReorderPoint(3, 1, Lead{0, 0, .9}), ReorderPoint(3, 1, Lead{2, 0, 1}), ReorderPoint(math.NaN(), 1, Lead{2, 0, .9})} {
		if r != (Reorder{}) {
			t.Errorf("%+v", r)
		}
	}
}

func draw(t *rapid.T, name string, lo, hi float64) float64 {
	return rapid.Float64Range(lo, hi).Draw(t, name)
}

// TestLawUse: a longer period never takes less, the interval is in order, a shifted clock changes nothing.
func TestLawUse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		least := draw(t, "least", 12, 96)
		p := Plan{Next: after(draw(t, "next", -100, 200)), LeastH: least, MostH: least + draw(t, "more", 0, 48), Early: rapid.IntRange(0, 9).Draw(t, "early"), WatchedD: draw(t, "watched", 0, 60)}
		h := draw(t, "h", 1, 900)
		a, b := Changes(p, monday, after(h)), Changes(p, monday, after(h+draw(t, "longer", 0, 300)))
		if a.Low > a.Median || a.Median > a.High || a.Variance < 0 {
			t.Fatalf("out of order: %+v", a)
		}
		if b.Low < a.Low || b.Median < a.Median || b.High < a.High || b.Mean < a.Mean-1e-9 {
			t.Fatalf("%+v, longer %+v", a, b)
		}
		q := p
		q.Next = p.Next.Add(1000 * time.Hour)
		if c := Changes(q, monday.Add(1000*time.Hour), after(h).Add(1000*time.Hour)); c != a {
			t.Fatalf("shifted by 1000 h: %+v, %+v", a, c)
		}
	})
}

// TestLawCanister: more output, a smaller canister and more days never take fewer canisters; at least weekly.
func TestLawCanister(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := Canister{StayH: 168, UsableML: draw(t, "usable", 150, 800), ContentML: draw(t, "in", 0, 400), AgeH: draw(t, "age", 0, 200), VisitEveryH: rapid.SampledFrom([]float64{0, 48, 60, 72}).Draw(t, "visits")}
		r, d := draw(t, "rate", 0, 900), draw(t, "days", 0, 60)
		n := c.Count(r, d)
		if more := c.Count(r+draw(t, "more", 0, 300), d); more < n {
			t.Fatalf("more output takes %d instead of %d", more, n)
		}
		if longer := c.Count(r, d+draw(t, "longer", 0, 30)); longer < n {
			t.Fatalf("longer takes %d instead of %d", longer, n)
		}
		if weekly := int(math.Floor(d / 7)); n < weekly {
			t.Fatalf("%d canisters in %g days", n, d)
		}
		o := Output{P10: r * .5, Median: r, P90: r * 1.6}
		if s, st := Canisters(c, o, d); r > 0 && (st != OK || s.Low > s.Median || s.Median > s.High || s.Variance < 0) {
			t.Fatalf("%+v %s", s, st)
		}
	})
}

// TestCover: intervals of the number of changes against courses that the model did not make: a fixed weekly rhythm
// with extra visits, one in which an early change moves the rhythm, and one without any extra change. The rate of
// extra changes is drawn anew for each course. Counts are whole numbers, so the interval may cover more than 80 %,
// never clearly less.
func TestCover(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 1))
	for _, g := range []struct {
		name  string
		moves bool
		scale float64
	}{{"extra visits beside the rhythm", false, 1.0 / 20}, {"an early change moves the rhythm", true, 1.0 / 20}, {"hardly any extra", false, 1.0 / 200}} {
		const n = 2000
		in := 0
		for range n {
			rate := rnd.ExpFloat64() * g.scale // a day
			every := []float64{48, 60, 72}[rnd.IntN(3)]
			run := func(days float64) (count, early int) {
				at, end := 0.0, days*24
				for at < end {
					gap := every
					if x := rnd.ExpFloat64() / rate * 24; x < gap {
						if g.moves {
							gap = x
						} else if at+x < end {
							count++
						}
						early++
					}
					at += gap
					if at < end {
						count++
					}
				}
				return count, early
			}
			watched := 5 + 40*rnd.Float64()
			_, early := run(watched)
			days := 7 + 14*rnd.Float64()
			got, _ := run(days)
			p := Plan{Next: after(every), LeastH: every, MostH: every, Early: early, WatchedD: watched}
			s := Changes(p, monday, after(days*24))
			if s.Low <= got && got <= s.High {
				in++
			}
		}
		cover := float64(in) / n
		t.Logf("%s: %.1f %% of %d inside", g.name, 100*cover, n)
		if cover < 0.80-3*math.Sqrt(.8*.2/n) {
			t.Errorf("%s: the 80 %% interval covers %.1f %%", g.name, 100*cover)
		}
	}
}

// TestCoverSum: the interval of a caseload's sum covers at least 80 % when every patient's law is right.
func TestCoverSum(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 2))
	for _, patients := range []int{2, 10, 60} {
		const n = 2000
		in := 0
		for range n {
			var list []Spread
			total := 0
			for range patients {
				p := Plan{Next: after(60 * rnd.Float64()), LeastH: 60, MostH: 60}
				s := Changes(p, monday, after(240))
				list = append(list, s)
				rate := rnd.ExpFloat64() / priorDays
				extra := 0
				for at := rnd.ExpFloat64() / rate; at < 10; at += rnd.ExpFloat64() / rate {
					extra++
				}
				total += p.Planned(monday, after(240), 60) + extra
			}
			if s := Add(list...); s.Low <= total && total <= s.High {
				in++
			}
		}
		cover := float64(in) / n
		t.Logf("%d patients: %.1f %%", patients, 100*cover)
		if cover < 0.80-3*math.Sqrt(.8*.2/n) {
			t.Errorf("%d patients: %.1f %%", patients, 100*cover)
		}
	}
}
