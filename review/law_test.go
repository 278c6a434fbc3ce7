package review_test

import (
	"encoding/json"
	"math/rand/v2"
	"sync"
	"testing"
	"time"
	_ "time/tzdata"

	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/caseload"
	"lowtide/demo"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/rule/value"
	"lowtide/state"
)

var morning = time.Date(2026, 3, 4, 8, 30, 0, 0, time.UTC)

// inForce are the shared values of the built-in rules.
func inForce(t testing.TB) value.Values {
	t.Helper()
	return builtin(t).Values(noon)
}

var builtinOnce = sync.OnceValues(rule.Builtin)

func builtin(t testing.TB) *rule.Set {
	t.Helper()
	s, err := builtinOnce()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// demoCases folds the invented caseload.
func demoCases(now time.Time) []*casebook.Case {
	byCase := map[string][]casebook.Entry{}
	var order []string
	for _, e := range demo.Entries(now, 1) {
		if byCase[e.Case] == nil {
			order = append(order, e.Case)
		}
		byCase[e.Case] = append(byCase[e.Case], e)
	}
	var out []*casebook.Case
	for _, id := range order {
		out = append(out, casebook.Fold(id, byCase[id]))
	}
	return out
}

// TestLawSameBytes: the same inputs give the same bytes, in whatever order the entries came.
func TestLawSameBytes(t *testing.T) {
	rules, eq := builtin(t), equipment.BuiltIn()
	rnd := rand.New(rand.NewPCG(1, 2))
	for _, c := range demoCases(morning) {
		a, _ := json.Marshal(review.Of(state.Of(c, rules, eq, nil, morning), rules))
		entries := make([]casebook.Entry, len(c.Log))
		for i, l := range c.Log {
			entries[i] = l.Entry
		}
		rnd.Shuffle(len(entries), func(i, j int) { entries[i], entries[j] = entries[j], entries[i] })
		b, _ := json.Marshal(review.Of(state.Of(casebook.Fold(c.ID, entries), rules, eq, nil, morning), rules))
		// An ID with two contents keeps only one of them in the log, so the head differs there.
		if c.Conflicts == 0 && string(a) != string(b) {
			t.Errorf("case %s: two reviews differ\n%s\n%s", c.ID, a, b)
		}
	}
}

// TestLawUntil: between its instant and its end a review's findings do not change; a list may show them that long.
func TestLawUntil(t *testing.T) {
	rules, eq := builtin(t), equipment.BuiltIn()
	rnd := rand.New(rand.NewPCG(3, 4))
	changes := 0
	for _, c := range demoCases(morning) {
		at := morning
		for range 12 {
			r := review.Of(state.Of(c, rules, eq, nil, at), rules)
			if r.Until.IsZero() {
				break
			}
			want, _ := json.Marshal(r.Findings)
			span := r.Until.Sub(at)
			if span <= 0 {
				t.Fatalf("case %s: a review of %s ends at %s", c.ID, at, r.Until)
			}
			for _, d := range []time.Duration{time.Duration(rnd.Int64N(int64(span))), span - 1} {
				got, _ := json.Marshal(review.Of(state.Of(c, rules, eq, nil, at.Add(d)), rules).Findings)
				if string(got) != string(want) {
					t.Fatalf("case %s: findings of %s changed at %s, before %s\n%s\n%s", c.ID, at, at.Add(d), r.Until, want, got)
				}
			}
			after, _ := json.Marshal(review.Of(state.Of(c, rules, eq, nil, r.Until), rules).Findings)
			if string(after) != string(want) {
				changes++
			}
			at = r.Until
		}
	}
	// Without this, a review that ended every second would pass.
	if changes < 100 {
		t.Errorf("only %d of the ends brought a change", changes)
	}
}

// TestLawPast: a review as of an earlier time is the review of what had happened by then.
func TestLawPast(t *testing.T) {
	rules, eq := builtin(t), equipment.BuiltIn()
	for _, c := range demoCases(morning) {
		past := morning.Add(-50 * time.Hour)
		entries := make([]casebook.Entry, len(c.Log))
		for i, l := range c.Log {
			entries[i] = l.Entry
		}
		a, b := review.Of(state.Of(c, rules, eq, nil, past), rules), review.Of(state.Of(casebook.FoldAt(c.ID, entries, past), rules, eq, nil, past), rules)
		x, _ := json.Marshal(a.Findings)
		y, _ := json.Marshal(b.Findings)
		if string(x) != string(y) || a.Head != b.Head {
			t.Errorf("case %s: looking back differs from having been there", c.ID)
		}
	}
}

// TestCaseload: the list agrees with reviewing each case, follows new entries, and follows the clock.
func TestCaseload(t *testing.T) {
	ctx := t.Context()
	rules, eq := builtin(t), equipment.BuiltIn()
	book := casebook.Book{Store: memory.New()}
	if err := demo.Fill(ctx, book, morning, 1); err != nil {
		t.Fatal(err)
	}
	load := caseload.New(book, rules, eq)
	agree := func(now time.Time) {
		t.Helper()
		rows, pending, err := load.Rows(ctx, now)
		if err != nil || pending != 0 || len(rows) != 24+demo.PastCases {
			t.Fatalf("%d rows, %d pending, %v", len(rows), pending, err)
		}
		for _, row := range rows {
			_, r, _, err := load.Case(ctx, row.Case, now)
			if err != nil {
				t.Fatal(err)
			}
			if len(r.Findings) != len(row.Findings) {
				t.Fatalf("case %s: %d findings in the list, %d on the page", row.Case, len(row.Findings), len(r.Findings))
			}
			for i, f := range r.Findings {
				if g := row.Findings[i]; g.Rule != f.Rule || g.Headline != f.Headline || g.Level != f.Level {
					t.Errorf("case %s: list says %+v, page says %+v", row.Case, g, f)
				}
			}
		}
	}
	agree(morning)
	agree(morning.Add(5 * time.Hour))
	agree(morning.Add(26 * time.Hour))
	agree(morning) // a clock that was set back
	rows, _, _ := load.Rows(ctx, morning)
	entries, head, err := book.Entries(ctx, rows[0].Case)
	if err != nil {
		t.Fatal(err)
	}
	e := entries[len(entries)-1]
	e.ID, e.At, e.Recorded = "00000000-0000-7000-8000-000000000001", morning, morning
	e.Kind, e.Body = casebook.KindNoteWritten, casebook.NoteWritten{Text: "bleeds", Seen: casebook.Seen{Signs: []string{"bright red blood"}}}
	if _, err := book.Append(ctx, head, e); err != nil {
		t.Fatal(err)
	}
	agree(morning)
	rows, _, _ = load.Rows(ctx, morning)
	if rows[0].Findings[0].Level != rule.ActNow {
		t.Errorf("the new entry does not show: %+v", rows[0].Findings[0])
	}
}
