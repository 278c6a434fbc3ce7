package review_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"lowtide/equipment"
	"lowtide/evidence/casegen"
	"lowtide/review"
	"lowtide/state"
)

var update = flag.Bool("update", false, "write testdata/kept.tsv anew")

const keptFile = "testdata/kept.tsv"

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
			for _, part := range []any{factLines(s), r.Figures(), r.Forecasts(), r.Findings, []any{r.Plan, r.Asked, r.Therapy, r.Until}, r.Decision(), s.Supplies(), s.CallCase(calls)} {
				fmt.Fprintf(&out, "\t%s", digest(t, part))
			}
			out.WriteByte('\n')
			if r.Until.IsZero() {
				break
			}
			at = r.Until
		}
	}
	if *update {
		if err := os.WriteFile(keptFile, out.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(keptFile)
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Equal(want, out.Bytes()) {
		return
	}
	parts := []string{"seed", "instant", "facts", "figures", "forecasts", "findings", "plan", "decision", "supplies", "call desk"}
	differ := map[string][]string{}
	a, b := strings.Split(string(want), "\n"), strings.Split(out.String(), "\n")
	for i := range min(len(a), len(b)) {
		x, y := strings.Split(a[i], "\t"), strings.Split(b[i], "\t")
		for k := range min(len(x), len(y)) {
			if x[k] != y[k] {
				differ[parts[k]] = append(differ[parts[k]], y[0])
			}
		}
	}
	for _, p := range parts {
		if seeds := slices.Compact(differ[p]); len(seeds) > 0 {
			t.Errorf("%s differ in %d of %d cases, seeds %s", p, len(seeds), keptCases, strings.Join(seeds[:min(8, len(seeds))], ", "))
		}
	}
	if len(a) != len(b) {
		t.Errorf("%d instants, %d are kept", len(b), len(a))
	}
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
	s.Facts(state.Terms{Case: sink(""), Wound: sink, Canister: sink})
	slices.Sort(out)
	return out
}

var longNumber = regexp.MustCompile(`\d+\.\d{5,}(e[-+]?\d+)?`)

// digest is a name of some content. Numbers count to five digits: the last ones differ between processors.
func digest(t *testing.T, v any) string {
	raw, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	raw = longNumber.ReplaceAllFunc(raw, func(b []byte) []byte {
		x, err := strconv.ParseFloat(string(b), 64)
		if err != nil {
			return b
		}
		return strconv.AppendFloat(nil, x, 'g', 5, 64)
	})
	sum := sha256.Sum256(raw)
	return hex.EncodeToString(sum[:4])
}
