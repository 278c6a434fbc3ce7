package rule

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// reference answers an expression in a second way, written from the rule format only: hours as numbers of
// nanoseconds, no leaves kept, no short cuts.
type reference func(known map[string]any, now time.Time) truth

var (
	lawBools   = []string{"therapy.open", "therapy.off", "power.plugged_in"}
	lawNumbers = []string{"visit.pain", "canister.full_pct", "pump.count"}
	lawTimes   = []string{"visit.last_at", "visit.next_at", "canister.changed_at"}
	lawHours   = []string{"order.change_every_h"}
)

// randomLeaf draws one leaf with its reference. Numbers are on a coarse grid, so that limits are met exactly.
func randomLeaf(t *rapid.T, withKnown bool) (string, reference) {
	kinds := 4
	if withKnown {
		kinds = 5
	}
	switch rapid.IntRange(0, kinds-1).Draw(t, "leaf kind") {
	case 0:
		name := rapid.SampledFrom(lawBools).Draw(t, "bool")
		return name, func(k map[string]any, _ time.Time) truth {
			if k[name] == nil {
				return unknown
			}
			return truthOf(k[name].(bool))
		}
	case 1:
		name, limit := rapid.SampledFrom(lawNumbers).Draw(t, "number"), rapid.IntRange(0, 4).Draw(t, "limit")
		op := rapid.SampledFrom([]string{"<", "<=", ">", ">=", "==", "!="}).Draw(t, "op")
		return fmt.Sprintf("%s %s %d", name, op, limit), func(k map[string]any, _ time.Time) truth {
			if k[name] == nil {
				return unknown
			}
			return compare(int64(k[name].(float64)), op, int64(limit))
		}
	case 2, 3:
		name, limit := rapid.SampledFrom(lawTimes).Draw(t, "time"), rapid.IntRange(-2, 4).Draw(t, "limit")
		op := rapid.SampledFrom([]string{"<", "<=", ">", ">="}).Draw(t, "op")
		way := rapid.SampledFrom([]string{"since", "until"}).Draw(t, "way")
		text, term := fmt.Sprint(limit), ""
		if rapid.Bool().Draw(t, "limit from a term") {
			term = lawHours[0]
			text = fmt.Sprintf("%s * 1 + %d", term, limit)
		}
		return fmt.Sprintf("%s(%s) %s %s", way, name, op, text), func(k map[string]any, now time.Time) truth {
			if k[name] == nil || (term != "" && k[term] == nil) {
				return unknown
			}
			ns := int64(limit) * int64(time.Hour)
			if term != "" {
				ns += int64(k[term].(float64) * float64(time.Hour))
			}
			passed := now.UnixNano() - k[name].(time.Time).UnixNano()
			if way == "until" {
				passed = -passed
			}
			return compare(passed, op, ns)
		}
	}
	name := rapid.SampledFrom(append(append([]string{}, lawBools...), lawTimes...)).Draw(t, "known")
	return "known(" + name + ")", func(k map[string]any, _ time.Time) truth { return truthOf(k[name] != nil) }
}

func compare(a int64, op string, b int64) truth {
	return truthOf(map[string]bool{"<": a < b, "<=": a <= b, ">": a > b, ">=": a >= b, "==": a == b, "!=": a != b}[op])
}

// randomExpression draws a tree of leaves; the reference looks its joints up in the written-out tables.
func randomExpression(t *rapid.T, depth int, withKnown bool) (string, reference) {
	kind := rapid.IntRange(0, 4).Draw(t, "kind")
	if depth == 0 || kind < 2 {
		return randomLeaf(t, withKnown)
	}
	names := map[truth]string{yes: "t", unknown: "u", no: "f"}
	back := map[string]truth{"t": yes, "u": unknown, "f": no}
	a, ra := randomExpression(t, depth-1, withKnown)
	if kind == 2 {
		return "not (" + a + ")", func(k map[string]any, now time.Time) truth { return back[tableNot[names[ra(k, now)]]] }
	}
	b, rb := randomExpression(t, depth-1, withKnown)
	word, table := "and", tableAnd
	if kind == 3 {
		word, table = "or", tableOr
	}
	return "(" + a + ") " + word + " (" + b + ")", func(k map[string]any, now time.Time) truth {
		return back[table[names[ra(k, now)]+names[rb(k, now)]]]
	}
}

// randomKnown draws values for some of the terms, times on a grid of half hours around now.
func randomKnown(t *rapid.T, now time.Time) map[string]any {
	out := map[string]any{}
	for _, name := range lawBools {
		if rapid.IntRange(0, 2).Draw(t, "has "+name) > 0 {
			out[name] = rapid.Bool().Draw(t, name)
		}
	}
	for _, name := range append(append([]string{}, lawNumbers...), lawHours...) {
		if rapid.IntRange(0, 2).Draw(t, "has "+name) > 0 {
			out[name] = float64(rapid.IntRange(0, 4).Draw(t, name))
		}
	}
	for _, name := range lawTimes {
		if rapid.IntRange(0, 3).Draw(t, "has "+name) > 0 {
			out[name] = now.Add(time.Duration(rapid.IntRange(-12, 12).Draw(t, name)) * 30 * time.Minute)
		}
	}
	return out
}

func factsOf(known map[string]any) *Facts {
	f := NewFacts(clockText)
	f.Canister("")
	for name, v := range known {
		to := f
		switch Vocabulary[index[name]].Scope {
		case ScopePump:
			to = f.Pump("")
		case ScopeCanister:
			to = f.Canister("")
		}
		to.Set(name, v)
	}
	return f
}

// setOf makes a set of one rule, past the loader's demand for examples.
func setOf(t *rapid.T, applies, when string) *Set {
	r := &Rule{ID: "LAW-TEST-01", Scope: ScopeCanister, Applies: applies, When: when, source: &Source{}}
	var found Problems
	r.made = madeOf([]*edition{r.editionOf(nil, time.Time{}, &found)})
	if len(found) > 0 {
		t.Fatal(found)
	}
	s := &Set{rules: []*Rule{r}}
	s.finish()
	return s
}

// TestLawReference: a whole rule with applies and when answers as the second implementation does.
func TestLawReference(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		applies, guard := randomExpression(t, 1, true)
		when, want := randomExpression(t, 4, true)
		s := setOf(t, applies, when)
		known := randomKnown(t, exampleNow)
		state := NotAsked
		if guard(known, exampleNow) == yes {
			state = map[truth]State{yes: Yes, no: No, unknown: CannotTell}[want(known, exampleNow)]
		}
		if got := s.Judge(factsOf(known), exampleNow)[0].State; got != state {
			t.Fatalf("applies %s, when %s, facts %v: %s, want %s", applies, when, known, got, state)
		}
	})
}

// TestLawInformation: learning one more fact never turns one definite answer into another, nor into "cannot tell".
func TestLawInformation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		when, _ := randomExpression(t, 4, false)
		s := setOf(t, "", when)
		more := randomKnown(t, exampleNow)
		less := map[string]any{}
		for name, v := range more {
			if rapid.Bool().Draw(t, "knew "+name) {
				less[name] = v
			}
		}
		before := s.Judge(factsOf(less), exampleNow)[0].State
		after := s.Judge(factsOf(more), exampleNow)[0].State
		if before != CannotTell && before != after {
			t.Fatalf("when %s: %s with %v, %s with %v", when, before, less, after, more)
		}
	})
}

// fingerprint is what a page shows of an outcome.
func fingerprint(o Outcome) string {
	var b strings.Builder
	fmt.Fprint(&b, o.State, o.Headline(), o.Do(), o.Clears(), o.Due(), o.Values())
	if o.State != No {
		fmt.Fprint(&b, o.Used())
	}
	for _, m := range o.Missing() {
		fmt.Fprint(&b, m.Name)
	}
	return b.String()
}

// TestLawUntil: nothing that a page shows changes before Until, and something does at Until: the state, or what it
// rests on.
func TestLawUntil(t *testing.T) {
	moved := 0
	rapid.Check(t, func(t *rapid.T) {
		applies, _ := randomExpression(t, 1, true)
		when, _ := randomExpression(t, 3, true)
		s := setOf(t, applies, when)
		now := exampleNow.Add(time.Duration(rapid.Int64Range(-2, 2).Draw(t, "off by")))
		f := factsOf(randomKnown(t, exampleNow))
		first := s.Judge(f, now)[0]
		end := first.Until
		if end.IsZero() {
			end = now.Add(1000 * time.Hour)
		} else if !end.After(now) {
			t.Fatalf("Until %v is not after now %v", end, now)
		}
		tries := []time.Time{end.Add(-1)}
		for i := range 8 {
			tries = append(tries, now.Add(time.Duration(float64(end.Sub(now))*float64(i)/8)))
			if half := now.Round(30 * time.Minute).Add(time.Duration(i) * 30 * time.Minute); half.Before(end) && half.After(now) {
				tries = append(tries, half, half.Add(-1))
			}
		}
		for _, at := range tries {
			if at.Before(now) {
				continue
			}
			if got := s.Judge(f, at)[0]; fingerprint(got) != fingerprint(first) || !got.Until.Equal(first.Until) {
				t.Fatalf("applies %s, when %s: at %v %s, at %v %s, before Until %v", applies, when, now, first.State, at, got.State, end)
			}
		}
		if first.Until.IsZero() {
			return
		}
		moved++
		if got := s.Judge(f, end)[0]; got.State == first.State && got.reasons == first.reasons {
			t.Fatalf("applies %s, when %s: nothing changes at Until %v", applies, when, end)
		}
	})
	if moved == 0 {
		t.Error("no rule had an Until")
	}
}

// TestLawTimeShift: moving now and every fact by the same span moves Until by it and changes nothing else.
func TestLawTimeShift(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		when, _ := randomExpression(t, 3, true)
		s := setOf(t, "", when)
		known := randomKnown(t, exampleNow)
		by := time.Duration(rapid.Int64Range(-1e17, 1e17).Draw(t, "by"))
		moved := map[string]any{}
		for name, v := range known {
			if at, ok := v.(time.Time); ok {
				v = at.Add(by)
			}
			moved[name] = v
		}
		a, b := s.Judge(factsOf(known), exampleNow)[0], s.Judge(factsOf(moved), exampleNow.Add(by))[0]
		if a.State != b.State || a.reasons != b.reasons || a.Until.IsZero() != b.Until.IsZero() ||
			(!a.Until.IsZero() && !a.Until.Add(by).Equal(b.Until)) {
			t.Fatalf("when %s: %v until %v, moved by %v: %v until %v", when, a.State, a.Until, by, b.State, b.Until)
		}
	})
}

// TestLawPrint: a constant prints so that it can be told from its neighbours.
func TestLawPrint(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := float64(rapid.IntRange(-100000, 100000).Draw(t, "x")) / 1000
		if a, b := printValue(x, "mmHg"), printValue(x+0.001, "mmHg"); a == b {
			t.Fatalf("%v and %v both print as %s", x, x+0.001, a)
		}
		if s := printValue(math.NaN(), "mmHg"); strings.Contains(s, "NaN") {
			t.Fatal(s)
		}
	})
}
