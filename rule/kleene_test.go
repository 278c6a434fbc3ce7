package rule

import (
	"database/sql"
	"fmt"
	"strings"
	"testing"

	_ "modernc.org/sqlite"
	"pgregory.net/rapid"
)

// The tables of Kleene's strong three-valued logic, written out: S. C. Kleene, Introduction to Metamathematics (1952),
// §64, with t, f, u. From memory; TestCheckKleene compares with an independent program.
var (
	tableAnd = map[string]string{"tt": "t", "tu": "u", "tf": "f", "ut": "u", "uu": "u", "uf": "f", "ft": "f", "fu": "f", "ff": "f"}
	tableOr  = map[string]string{"tt": "t", "tu": "t", "tf": "t", "ut": "t", "uu": "u", "uf": "u", "ft": "t", "fu": "u", "ff": "f"}
	tableNot = map[string]string{"t": "f", "u": "u", "f": "t"}
)

// TestKleene asks whole rules, not the functions inside: the two flags are set, or left unknown.
func TestKleene(t *testing.T) {
	states := map[string]State{"t": Yes, "u": CannotTell, "f": No}
	ask := func(when, values string) State {
		r := &Rule{ID: "X", Scope: ScopeCase, When: when}
		var found Problems
		ed := r.editionOf(nil, exampleNow, &found)
		if len(found) > 0 {
			t.Fatal(found)
		}
		f := NewFacts(clockText)
		for i, term := range []string{"therapy.open", "therapy.off"}[:len(values)] {
			if v := values[i]; v != 'u' {
				f.Set(term, v == 't')
			}
		}
		j := newJudge()
		j.lay(f)
		j.wipe(ed)
		state, _ := j.state(ed, exampleNow)
		return state
	}
	for _, c := range []struct {
		when  string
		table map[string]string
	}{
		{"therapy.open and therapy.off", tableAnd}, {"therapy.open && therapy.off", tableAnd},
		{"therapy.open or therapy.off", tableOr}, {"therapy.open || therapy.off", tableOr},
		{"not therapy.open", tableNot}, {"!therapy.open", tableNot},
	} {
		for in, want := range c.table {
			if got := ask(c.when, in); got != states[want] {
				t.Errorf("%s with %s: %s, want %s", c.when, in, got, states[want])
			}
		}
	}
}

// randomTree draws a boolean tree over leaves 0..n-1, with its text for SQL over columns c0, c1, ...
func randomTree(t *rapid.T, n, depth int) (*node, string) {
	kind := rapid.IntRange(0, 3).Draw(t, "kind")
	if depth == 0 || kind == 0 {
		i := rapid.IntRange(0, n-1).Draw(t, "leaf")
		return &node{op: opLeaf, leaf: i}, fmt.Sprintf("c%d", i)
	}
	if kind == 1 {
		k, s := randomTree(t, n, depth-1)
		return &node{op: opNot, kids: []*node{k}}, "(NOT " + s + ")"
	}
	out, word := &node{op: opAnd}, " AND "
	if kind == 2 {
		out, word = &node{op: opOr}, " OR "
	}
	var parts []string
	for range rapid.IntRange(2, 4).Draw(t, "kids") {
		k, s := randomTree(t, n, depth-1)
		out.kids, parts = append(out.kids, k), append(parts, s)
	}
	return out, "(" + strings.Join(parts, word) + ")"
}

func randomTruth(t *rapid.T) truth {
	return rapid.SampledFrom([]truth{no, unknown, yes}).Draw(t, "truth")
}

// TestCheckKleene compares random trees with SQL's three-valued logic (ISO/IEC 9075-2, truth tables of the boolean
// value expression, in which unknown is NULL) as an independent program computes it: SQLite. The results must be
// equal; there is no tolerance.
func TestCheckKleene(t *testing.T) {
	db, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	sqlText := map[truth]string{no: "0", unknown: "NULL", yes: "1"}
	rapid.Check(t, func(t *rapid.T) {
		const n = 4
		tree, text := randomTree(t, n, 4)
		values := make([]truth, n)
		columns := make([]string, n)
		for i := range values {
			values[i] = randomTruth(t)
			columns[i] = fmt.Sprintf("%s AS c%d", sqlText[values[i]], i)
		}
		var want sql.NullBool
		if err := db.QueryRow("SELECT " + text + " FROM (SELECT " + strings.Join(columns, ", ") + ")").Scan(&want); err != nil {
			t.Fatal(err)
		}
		got := tree.value(func(i int) truth { return values[i] })
		if want.Valid != (got != unknown) || (want.Valid && want.Bool != (got == yes)) {
			t.Fatalf("%s with %v: %v, SQL says %v", text, values, got, want)
		}
	})
}

// TestLawPossible: what a tree may be holds whatever it is, whatever its leaves are.
func TestLawPossible(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tree, text := randomTree(t, 4, 4)
		values := []truth{randomTruth(t), randomTruth(t), randomTruth(t), randomTruth(t)}
		may := make([]possible, 4)
		for i := range may {
			may[i] = 1<<values[i] | possible(rapid.IntRange(0, 7).Draw(t, "more"))
		}
		got := tree.value(func(i int) truth { return values[i] })
		if tree.possible(func(i int) possible { return may[i] })&(1<<got) == 0 {
			t.Fatalf("%s with %v is %v, which was thought impossible", text, values, got)
		}
	})
}

// TestLawReasons: the reasons alone make the answer. Whatever the other leaves are, a yes stays yes and a no stays
// no; and an unknown tree has at least one reason, each of which is unknown.
func TestLawReasons(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tree, text := randomTree(t, 5, 4)
		values := make([]truth, 5)
		for i := range values {
			values[i] = randomTruth(t)
		}
		ask := func(i int) truth { return values[i] }
		v, reasons := tree.value(ask), tree.reasons(ask)
		if reasons == 0 {
			t.Fatalf("%s with %v has no reason", text, values)
		}
		changed := append([]truth(nil), values...)
		for i := range changed {
			if reasons&(1<<i) == 0 {
				changed[i] = randomTruth(t)
			} else if v == unknown && values[i] != unknown {
				t.Fatalf("%s with %v is unknown because of the known leaf %d", text, values, i)
			}
		}
		if v == unknown {
			return
		}
		if got := tree.value(func(i int) truth { return changed[i] }); got != v {
			t.Fatalf("%s: %v with %v, %v with %v, reasons %b", text, v, values, got, changed, reasons)
		}
	})
}
