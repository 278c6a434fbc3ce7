package week

import (
	"math"
	"strings"
	"testing"
	"time"

	"lowtide/fluid"
)

// TestCheckGreatCircle: a degree of a meridian and of the equator, and a quarter of the Earth, on a sphere of the mean
// radius of the IUGG (closed form).
func TestCheckGreatCircle(t *testing.T) {
	degree := 2 * math.Pi * 6371.0088 / 360
	for _, x := range []struct{ a, b, c, d, want float64 }{
		{0, 0, 1, 0, degree}, {0, 0, 0, 1, degree}, {60, 10, 60, 10, 0}, {0, 0, 90, 0, 90 * degree}, {0, -90, 0, 90, 180 * degree}, {10, 20, -10, 20, 20 * degree},
	} {
		if got := GreatCircle(x.a, x.b, x.c, x.d); math.Abs(got-x.want) > 1e-9*20000 {
			t.Errorf("%v: %v, want %v", x, got, x.want)
		}
	}
}

// TestCheckChance: the chance of a full canister is 10, 50 and 90 % at the times that say so.
func TestCheckChance(t *testing.T) {
	now := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	at := func(h float64) fluid.When { return fluid.When{At: now.Add(hours(h))} }
	f := fluid.FullAt{Status: fluid.FullComes, Early: at(10), Even: at(20), Late: at(50)}
	for _, x := range []struct{ h, want float64 }{{0, 0}, {10, 0.1}, {20, 0.5}, {50, 0.9}} {
		if p, ok := ChanceFull(f, now, now.Add(hours(x.h))); !ok || math.Abs(p-x.want) > 1e-9 {
			t.Errorf("after %v h: %v, want %v", x.h, p, x.want)
		}
	}
	if at, ok := fullBefore(f, now, 10); !ok || math.Abs(at.Sub(now).Hours()-10) > 0.01 {
		t.Errorf("before 10 %%: %v", at)
	}
}

// TestFullAnswers: "cannot tell", "read as full" and "not within a year" are three answers. A canister that was read as full
// asks for a visit at once, one that lasts a year for none, and of one that nobody can tell nothing follows.
func TestFullAnswers(t *testing.T) {
	now := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	year := fluid.When{Beyond: true}
	for _, x := range []struct {
		name   string
		full   fluid.FullAt
		told   bool
		chance float64
	}{
		{"nothing", fluid.FullAt{}, false, 0},
		{"cannot tell", fluid.FullAt{Status: fluid.FullNotTold}, false, 0},
		{"read as full", fluid.FullAt{Status: fluid.FullRead, Early: fluid.When{At: now}, Even: fluid.When{At: now}, Late: fluid.When{At: now}}, true, 1},
		{"not within a year", fluid.FullAt{Status: fluid.FullBeyond, Early: year, Even: year, Late: year}, true, 0},
		{"one in ten within a year", fluid.FullAt{Status: fluid.FullComes, Early: fluid.When{At: now.Add(hours(48))}, Even: year, Late: year}, true, 0.1},
	} {
		p, ok := ChanceFull(x.full, now, now.Add(hours(48)))
		if ok != x.told || math.Abs(p-x.chance) > 1e-9 {
			t.Errorf("%s: %v, %v", x.name, p, ok)
		}
	}
	if at, ok := fullBefore(fluid.FullAt{Status: fluid.FullRead}, now, 10); !ok || at.Sub(now) > time.Minute {
		t.Errorf("read as full: visit before %v", at)
	}
}

func TestReadLegs(t *testing.T) {
	legs, bad := ReadLegs(strings.NewReader("from,to,minutes\n\"Ward 3, north\",Hill Street 2,12.5\nHill Street 2,\"Ward 3, north\",14\n"))
	if len(bad) > 0 || len(legs) != 2 || legs[0] != (Leg{"Ward 3, north", "Hill Street 2", 12.5}) {
		t.Errorf("%v, %v", legs, bad)
	}
	_, bad = ReadLegs(strings.NewReader("a,b,5\na,b\na,c,x\n,c,3\na,c,-1\na,b,6\n"))
	for _, want := range []string{"line 2: 2 columns", "line 3: \"x\"", "line 4: a place is missing", "line 5: \"-1\"", "line 6: from a to b"} {
		found := false
		for _, b := range bad {
			found = found || strings.HasPrefix(b, want)
		}
		if !found {
			t.Errorf("no problem %q in %v", want, bad)
		}
	}
}

// FuzzReadLegs: any text gives ways between named places within ten hours, or problems.
func FuzzReadLegs(f *testing.F) {
	f.Add("from,to,minutes\na,b,3\n")
	f.Add("\"a\nb\",c,1\n\"")
	f.Fuzz(func(t *testing.T, in string) {
		legs, bad := ReadLegs(strings.NewReader(in))
		for _, l := range legs {
			if len(bad) == 0 && (l.From == "" || l.To == "" || !(l.Minutes >= 0 && l.Minutes <= 600)) {
				t.Errorf("%+v", l)
			}
		}
	})
}

// TestLearn: ways that took half as long again as computed are learnt to be so; eleven are too few.
func TestLearn(t *testing.T) {
	r := Fold(nil)
	zero, ten := 0.0, 10.0
	r.Places["a"], r.Places["b"] = Place{Name: "a", East: &zero, North: &zero}, Place{Name: "b", East: &ten, North: &zero}
	m := 10 * 1.3 / 35 * 60
	var trips []Trip
	for range 11 {
		trips = append(trips, Trip{"a", "b", 1.5 * m, 10})
	}
	if q, n := Learn(r, trips); q != 1 || n != 11 {
		t.Errorf("%v from %d", q, n)
	}
	trips = append(trips, Trip{"b", "a", 1.5 * m, 10}, Trip{"a", "b", 9 * m, 10}, Trip{"a", "nowhere", 5, 10})
	if q, n := Learn(r, trips); math.Abs(q-1.5) > 1e-12 || n != 12 {
		t.Errorf("%v from %d", q, n)
	}
}
