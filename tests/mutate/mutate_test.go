package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// module writes a small module with one package and its tests.
func module(t *testing.T, source, tests string) string {
	t.Helper()
	root := t.TempDir()
	for name, text := range map[string]string{"go.mod": "module m\n\ngo 1.26\n", "p/p.go": source, "p/p_test.go": tests} {
		file := filepath.Join(root, name)
		if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return root
}

const source = `package p

import "time"

const (
	limit  = 10
	double = 2 * limit
)

// Over tells whether x is over the limit, and by how much it is over twice that.
func Over(x int) (bool, int) { return x > limit, x - double }

// Late tells whether b lies more than a minute after a.
func Late(a, b time.Time) bool {
	const slack = time.Minute
	return b.After(a.Add(slack))
}

func never(x float64) float64 { return x * 0.5 }
`

// TestMutants: tests on both sides of each number kill all of its mutants, tests that look away leave them, and what no
// test runs is said not to be reached.
func TestMutants(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles two modules")
	}
	pairs := `package p

import (
	"testing"
	"time"
)

func TestOver(t *testing.T) {
	for x, want := range map[int]bool{8: false, 9: false, 10: false, 11: true, 12: true, 13: true} {
		if got, by := Over(x); got != want || by != x-20 {
			t.Error(x, got, by)
		}
	}
}

func TestLate(t *testing.T) {
	var a time.Time
	if Late(a, a.Add(time.Minute)) || !Late(a, a.Add(time.Minute+1)) {
		t.Error("a minute")
	}
}
`
	blind := "package p\n\nimport (\"testing\"; \"time\")\n\nfunc TestRuns(t *testing.T) { Over(100); Late(time.Time{}, time.Time{}) }\n"
	for name, x := range map[string]struct {
		tests                        string
		killed, survived, notReached int
	}{
		// limit, 2: twice each; >: two; -: one; After: two; a minute has no number of its own. never: two.
		"pairs": {pairs, 9, 0, 2}, "blind": {blind, 0, 8, 3}, // the edge of >, where x is far above
	} {
		root := module(t, source, x.tests)
		b, err := build(root, "p", t.TempDir())
		if err != nil {
			t.Fatal(err)
		}
		scores, err := judge(t.Context(), root, []*built{b}, nil, options{workers: 2, seed: 1})
		if err != nil {
			t.Fatal(err)
		}
		s := scores[0]
		out := 0
		for _, l := range s.left {
			if strings.Contains(l, "not reached") {
				out++
			}
		}
		if s.dead != x.killed || len(s.left)-out != x.survived || out != x.notReached {
			t.Errorf("%s: %d killed, left:\n%s", name, s.dead, strings.Join(s.left, "\n"))
		}
		for _, l := range s.left {
			if name == "pairs" && !strings.Contains(l, "never: 0.5") {
				t.Errorf("%s", l)
			}
		}
	}
}

// TestAcceptedIsChecked: an entry whose mutant is gone is told.
func TestAcceptedIsChecked(t *testing.T) {
	b := &built{Package: "p", Mutants: []*mutant{{File: "p/p.go", Func: "f", Was: "1", Now: "2", Nth: 1}}}
	if got := missing(b, map[string]string{"p/p.go f: 1 -> 2": "", "p/p.go f: 3 -> 4": "", "q/q.go f: 3 -> 4": ""}); !slices.Equal(got, []string{"p/p.go f: 3 -> 4"}) {
		t.Errorf("%v", got)
	}
}

// TestSample: a seed draws the same mutants again, another seed others.
func TestSample(t *testing.T) {
	var all []*mutant
	for i := range 500 {
		all = append(all, &mutant{ID: i + 1, Named: i%100 == 0})
	}
	a, b, c := sample(all, 60, 1, false), sample(all, 60, 1, false), sample(all, 60, 2, false)
	if len(a) != 60 || !slices.Equal(a, b) || slices.Equal(a, c) {
		t.Error("the samples are not drawn by their seed")
	}
	named := 0
	for _, m := range sample(all, 60, 1, true) {
		if m.Named {
			named++
		}
	}
	if named != 5 || len(sample(all, 0, 1, false)) != 500 {
		t.Errorf("%d named", named)
	}
}

// TestNotRun: what the time left no room for counts neither as killed nor as survived.
func TestNotRun(t *testing.T) {
	var s score
	for _, f := range []fate{killed, slow, notRun, survived} {
		s.count(&mutant{File: "p/p.go", Was: string(f), Nth: 1}, f, map[string]string{})
	}
	if s.drawn != 4 || s.dead != 2 || s.late != 1 || len(s.left) != 1 || s.share() < 66.6 || s.share() > 66.7 {
		t.Errorf("%+v: %v %%", s, s.share())
	}
}
