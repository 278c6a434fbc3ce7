package review_test

import (
	"bytes"
	"flag"
	"fmt"
	"slices"
	"testing"
	"time"

	"lowtide/equipment"
	"lowtide/evidence/casegen"
	"lowtide/evidence/kept"
	"lowtide/review"
	"lowtide/state"
)

var update = flag.Bool("update", false, "write testdata/kept.tsv anew")

// keptCases invented cases are kept, each at up to keptInstants instants: the first, and then always the one at which the
// review before says that it can change, so that limits in time are met on both sides.
const (
	keptCases    = 240
	keptInstants = 4
)

// TestKept holds what the program says of invented cases: facts, figures, forecasts, findings and plan, decision, supplies
// and the call desk's view. It does not tell what is right, stories and evidence do; it shows that a change of a number
// or a comparison is one of what a nurse reads. When the change is meant, look at it with make differ, then write the
// file anew: go test ./review -run TestKept -update.
func TestKept(t *testing.T) {
	rules, eq, calls := builtin(t), equipment.BuiltIn(), state.BuiltInCalls()
	var out bytes.Buffer
	for seed := range uint64(keptCases) {
		made := casegen.Case(seed, morning)
		at := morning
		for range keptInstants {
			s := state.Of(made.Fold(at), rules, eq, nil, at)
			r := review.Of(s, rules)
			fmt.Fprintf(&out, "%d\t%s", seed, at.UTC().Format("2006-01-02T15:04:05"))
			for _, part := range []any{factLines(s), r.Figures(), r.Forecasts(), r.Findings, []any{r.Plan, r.Asked, r.Therapy, r.Until}, r.Decision(), s.Supplies(), s.CallCase(calls), pictures(r), words(r), benches(s)} {
				fmt.Fprintf(&out, "\t%s", digest(t, part))
			}
			out.WriteByte('\n')
			if r.Until.IsZero() {
				break
			}
			at = r.Until
		}
	}
	wrong, err := kept.Compare("testdata/kept.tsv", out.Bytes(), []string{"seed", "instant", "facts", "figures", "forecasts", "findings", "plan", "decision", "supplies", "call desk", "pictures", "words", "bench"}, *update)
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range wrong {
		t.Error(w)
	}
}

// pictures are what is drawn, small and large.
func pictures(r *review.Review) []any {
	g := review.GlanceOf(r)
	out := []any{g, review.FullOf(r), r.State.Tide()}
	for h := -30; h < 60; h += 13 {
		at := r.AsOf.Add(time.Duration(h) * time.Hour)
		level, ok := g.LevelAt(at)
		spells, on, off, unknown := g.Day(at)
		out = append(out, level, ok, spells, on, off, unknown)
	}
	return out
}

// words are what is said of the wounds beside the figures.
func words(r *review.Review) (out []string) {
	for _, h := range r.State.Wounds {
		out = append(out, h.Plain(r.AsOf), h.Trend(r.AsOf))
	}
	return out
}

// benches is where the Bench starts, and what it shows of the order.
func benches(s *state.State) []any {
	in, known := state.BenchOf(s.Case, s.Equipment)
	in.Setup.Hours = 0.02
	return []any{in, known, in.Bench(in.Setup.Stages, s.Equipment)}
}

// factLines are all facts, sorted, with the entries that they came from.
func factLines(s *state.State) []string {
	var out []string
	sink := func(of string) state.Sink {
		return func(term string, v any, entries ...string) {
			if at, ok := v.(time.Time); ok {
				v = at.UTC()
			}
			out = append(out, fmt.Sprint(of, " ", term, " = ", v, " ", entries))
		}
	}
	s.Facts(state.Terms{Case: sink(""), Wound: sink, Pump: sink, Canister: sink})
	slices.Sort(out)
	return out
}

func digest(t *testing.T, v any) string {
	t.Helper()
	d, err := kept.Digest(v, 5)
	if err != nil {
		t.Fatal(err)
	}
	return d
}
