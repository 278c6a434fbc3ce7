package rule

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"
)

func TestOutcome(t *testing.T) {
	s := mustLoad(t, folder(t, "pack"))
	now := exampleNow
	f := NewFacts(clockText)
	f.Set("therapy.open", true, "e1")
	f.Set("order.deepest_mmHg", 210.04, "e2", "e3")
	f.Set("order.filler", "foam", "e2")
	f.Canister("").Set("canister.changed_at", now.Add(-100*time.Hour), "e4")
	f.Set("order.change_every_h", 72, "e2")
	f.Wound("left heel").Set("wound.changed_at", now.Add(-71*time.Hour), "e5")
	f.Wound("left heel").Set("wound.name", "Left heel")
	f.Wound("sacrum").Set("wound.name", "Sacrum")

	var got []string
	out := s.Judge(f, now)
	for _, o := range out {
		got = append(got, o.Rule.ID+" "+o.Wound+" "+string(o.State))
	}
	want := []string{"ORD-DEEP-01  yes", "CAN-AGE-01  no", "VIS-CHANGE-01 left heel yes", "VIS-CHANGE-01 sacrum cannot tell"}
	if !reflect.DeepEqual(got, want) {
		t.Fatalf("got %q, want %q", got, want)
	}

	o := out[0]
	if o.Headline() != "The order is 210 mmHg, deeper than 200.5 mmHg." || o.Do() != "Call not known." || o.Level() != ActNow {
		t.Errorf("%s / %s / %s", o.Headline(), o.Do(), o.Level())
	}
	used := []UsedTerm{
		{"order.deepest_mmHg", "suction in the order", "210 mmHg", []string{"e2", "e3"}},
		{"order.filler", "filler in the order", "foam", []string{"e2"}}}
	if !reflect.DeepEqual(o.Used(), used) || o.Missing() != nil || !o.Until.IsZero() {
		t.Errorf("used %v, missing %v, until %v", o.Used(), o.Missing(), o.Until)
	}

	if o = out[1]; !o.Until.Equal(now.Add(68*time.Hour+1)) || o.Headline() != "" || o.Due() != nil || o.Level() != "" {
		t.Errorf("%+v", o)
	}
	o = out[2] // due 72 h after the change: in one hour
	if o.Headline() != "Left heel: changed Fri 27 Feb 10:30, every 3 days." || !o.Due().Equal(now.Add(time.Hour)) {
		t.Errorf("%s, due %v", o.Headline(), o.Due())
	}
	o = out[3]
	if o.Headline() != "Sacrum: no change is recorded." || o.Do() != "Find out and record: a dressing change; count of filler pieces." ||
		o.Clears() != "This is recorded: a dressing change; count of filler pieces." || o.Level() != Note || o.Due() != nil {
		t.Errorf("%s / %s / %s / %s", o.Headline(), o.Do(), o.Clears(), o.Level())
	}
	var next time.Time
	for _, o := range out {
		next = sooner(next, o.Until)
	}
	if !next.Equal(now.Add(68*time.Hour + 1)) {
		t.Errorf("next change %v", next)
	}
}

func TestPrintValue(t *testing.T) {
	for _, c := range []struct {
		value any
		unit  string
		exact bool
		want  string
	}{
		{125.0, "mmHg", false, "125 mmHg"}, {93.333333, "mmHg", false, "93 mmHg"}, {0.25, "cm", true, "0.25 cm"},
		{0.26, "cm", false, "0.3 cm"}, {17.99, "a", false, "17 years"}, {18.0, "a", true, "18 years"},
		{0.5, "a", true, "0.5 years"}, {14.0, "d", true, "14 days"}, {1.5, "h", false, "1 h 30 min"},
		{480.4, "mL", false, "480 mL"}, {20.0, "mL/d", true, "20 mL a day"}, {3.0, "1", true, "3"}, {3.0, "", false, "3"},
		{38.55, "°C", false, "38.5 °C"}, {-12.5, "%", false, "-12.5 %"}, {true, "", false, "yes"}, {false, "", true, "no"},
		{"foam", "", false, "foam"}, {[]string{"a", "b"}, "", true, "a, b"}, {[]float64{1, 2.5}, "cm", true, "1 cm, 2.5 cm"},
		{math.Inf(1), "h", false, "cannot tell h"}, {nil, "", false, "not known"},
	} {
		if got := printAny(c.value, c.unit, c.exact); got != c.want {
			t.Errorf("%v %s exact %v: %q, want %q", c.value, c.unit, c.exact, got, c.want)
		}
	}
}

func TestFacts(t *testing.T) {
	f := NewFacts(clockText)
	w := f.Wound("heel")
	for name, set := range map[string]func(){
		"no term":       func() { f.Set("visit.pains", 3) },
		"wrong type":    func() { f.Set("visit.pain", "3") },
		"nil":           func() { f.Set("visit.pain", nil) },
		"wound in case": func() { f.Set("wound.pieces", 3) },
		"case in wound": func() { w.Set("visit.pain", 3) },
		"wound twice":   func() { w.Wound("heel") },
		"known":         func() { f.Known("visit.pains") },
		"no printer":    func() { NewFacts(nil) },
		"judge a wound": func() { (&Set{}).Judge(w, exampleNow) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			set()
		}()
	}
	for _, term := range Vocabulary { // so that no slot of the case is empty
		if term.Scope == ScopeCase {
			f.Set(term.Name, map[Type]any{Bool: true, Number: 4, Text: "x", Time: exampleNow}[term.Type])
		}
	}
	if f.Wound("heel") != w || w.Known("visit.pain") != 4.0 || f.Known("wound.pieces") != nil || w.Known("wound.pieces") != nil {
		t.Error("a wound does not see its case, or the case sees a wound")
	}
	f.Set("visit.pain", math.NaN())
	f.Set("visit.last_at", time.Time{})
	if f.Known("visit.pain") != nil || f.Known("visit.last_at") != nil {
		t.Error("a number that is not finite, or the zero time, is taken as known")
	}
}

// TestWoundsApart: what is known of one wound or canister is never used for another.
func TestWoundsApart(t *testing.T) {
	s := mustLoad(t, folder(t, "pack"))
	f := NewFacts(clockText)
	f.Set("therapy.open", true)
	f.Set("order.change_every_h", 72)
	f.Wound("a").Set("wound.pieces", -1)
	f.Wound("b")
	f.Canister("7").Set("canister.changed_at", exampleNow.Add(-time.Hour))
	f.Canister("8").Set("canister.changed_at", exampleNow.Add(-1000*time.Hour))
	f.Canister("9")
	var got []string
	for _, o := range s.Judge(f, exampleNow)[1:] {
		got = append(got, o.Rule.ID+" "+o.Wound+o.Pump+" "+string(o.State))
	}
	want := []string{"CAN-AGE-01 7 no", "CAN-AGE-01 8 yes", "CAN-AGE-01 9 cannot tell", "VIS-CHANGE-01 a yes", "VIS-CHANGE-01 b cannot tell"}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %q", got)
	}
}

// TestLawSame: judging is the same every time, and from several goroutines at once.
func TestLawSame(t *testing.T) {
	s, f := benchSet(t), benchFacts()
	want := fmt.Sprint(prints(s.Judge(f, exampleNow)))
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			for range 20 {
				if got := fmt.Sprint(prints(s.Judge(f, exampleNow))); got != want {
					t.Error("two judgements of the same facts differ")
					return
				}
			}
		})
	}
	wg.Wait()
}

func prints(outcomes []Outcome) []string {
	var out []string
	for _, o := range outcomes {
		out = append(out, o.Rule.ID, o.Wound, fingerprint(o))
	}
	return out
}

// benchSet copies the three rules of the test pack to 120: 80 of the case and 40 of wounds.
func benchSet(t testing.TB) *Set {
	fsys := folder(t, "pack")
	for _, file := range []string{age, deep, change} {
		text := string(fsys[file].Data)
		for i := 2; i <= 40; i++ {
			id := strings.TrimSuffix(strings.TrimPrefix(file, "data/"), "01.toml")
			fsys[strings.Replace(file, "01.toml", fmt.Sprintf("%02d.toml", i), 1)] = &fstest.MapFile{
				Data: []byte(strings.Replace(text, id+"01", fmt.Sprintf("%s%02d", id, i), 1))}
		}
	}
	return mustLoad(t, fsys)
}

// benchFacts knows about 60 terms of the case and 10 of each of two wounds.
func benchFacts() *Facts {
	f := NewFacts(clockText)
	n := 0
	fill := func(to *Facts, scope Scope, most int) {
		n = 0
		for _, term := range Vocabulary {
			if term.Scope != scope || n == most {
				continue
			}
			n++
			switch term.Type {
			case Bool:
				to.Set(term.Name, true, "entry")
			case Number:
				to.Set(term.Name, 72.0, "entry")
			case Text:
				to.Set(term.Name, "foam", "entry")
			case Time:
				to.Set(term.Name, exampleNow.Add(-50*time.Hour), "entry")
			}
		}
	}
	fill(f, ScopeCase, 60)
	fill(f.Wound("a"), ScopeWound, 20)
	fill(f.Wound("b"), ScopeWound, 20)
	fill(f.Canister(""), ScopeCanister, 20)
	return f
}

// BenchmarkJudge: 120 rules, two wounds, 160 outcomes. The budget is 150 µs a case, facts included.
func BenchmarkJudge(b *testing.B) {
	s := benchSet(b)
	f := benchFacts()
	b.ReportAllocs()
	for b.Loop() {
		s.Judge(f, exampleNow)
	}
}

func BenchmarkFacts(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		benchFacts()
	}
}

func BenchmarkLoad(b *testing.B) {
	for b.Loop() {
		if _, err := Builtin(); err != nil {
			b.Fatal(err)
		}
	}
}

func TestDue(t *testing.T) {
	f := NewFacts(clockText)
	f.Set("therapy.open", true)
	f.Set("visit.next_at", exampleNow)
	f.Set("order.change_every_h", 48.5)
	f.Set("order.duration_d", 2)
	for _, c := range []struct {
		due  string
		want float64 // hours from the planned visit
	}{
		{"visit.next_at", 0}, {"visit.next_at + limit", 36}, {"visit.next_at-limit", -36},
		{"visit.next_at + order.change_every_h", 48.5}, {"visit.next_at - order.duration_d", -48},
		{"visit.last_at", math.NaN()}, {"visit.next_at + person.age_y", math.NaN()},
	} {
		r := &Rule{ID: "X", Scope: ScopeCase, When: "therapy.open", Due: c.due, source: &Source{},
			Values: []Value{{Name: "limit", Value: 1.5, Unit: "d"}}}
		var found Problems
		r.made = madeOf([]*edition{r.edition(time.Time{}, &found)})
		s := &Set{rules: []*Rule{r}}
		s.finish()
		got := s.Judge(f, exampleNow)[0].Due()
		switch {
		case math.IsNaN(c.want) && got != nil:
			t.Errorf("%s: %v, want none", c.due, got)
		case !math.IsNaN(c.want) && (got == nil || got.Sub(exampleNow).Hours() != c.want):
			t.Errorf("%s: %v, want %v h from %v", c.due, got, c.want, exampleNow)
		}
	}
}

// BenchmarkBuiltin judges the built-in pack with about 60 terms of the case and 20 of each of two wounds known.
func BenchmarkBuiltin(b *testing.B) {
	s, err := Builtin()
	if err != nil {
		b.Fatal(err)
	}
	f := benchFacts()
	b.ReportAllocs()
	for b.Loop() {
		s.Judge(f, exampleNow)
	}
}
