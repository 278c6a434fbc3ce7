package fluid

import (
	"encoding/json"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"lowtide/unit"
)

// The kernel against brute summation on a grid (testdata/ref/numpy-grid). Tolerances: means within a tenth of their
// posterior sd, variances within a tenth, log evidence within 0.05. A five-point rule is exact for polynomials to the
// ninth degree; what is left is how far the posterior of u is from a normal times such a polynomial.
func TestCheckCollect(t *testing.T) {
	raw, err := os.ReadFile("testdata/ref/numpy-grid/want.json")
	if err != nil {
		t.Fatal(err)
	}
	var ref struct {
		Nodes, Weights []float64
		Cases          []struct {
			Name                  string
			Memory                float64
			V, X, VarV, Cov, VarX float64
			Q, S2, M, D, Y        float64
			R                     float64 `json:"R"`
			Want                  struct{ LnEvidence, V, X, VarV, CovVX, VarX float64 }
		}
	}
	if err := json.Unmarshal(raw, &ref); err != nil {
		t.Fatal(err)
	}
	for i := range nodes {
		if math.Abs(nodes[i]-ref.Nodes[i]) > 1e-14 || math.Abs(weights[i]-ref.Weights[i]) > 1e-14 {
			t.Errorf("node %d: %v %v, want %v %v", i, nodes[i], weights[i], ref.Nodes[i], ref.Weights[i])
		}
	}
	if len(ref.Cases) == 0 {
		t.Fatal("no cases")
	}
	for _, c := range ref.Cases {
		t.Run(c.Name, func(t *testing.T) {
			if c.Memory != driftMemoryD {
				t.Fatalf("the reference was made for a drift memory of %v d", c.Memory)
			}
			b := belief{v: c.V, x: c.X, varV: c.VarV, covVX: c.Cov, varX: c.VarX}
			g, l := newGap(c.D, leapVar), law{walkVarD: c.Q, dayVar: c.S2, driftD: c.M}
			got, _ := b.collect(l, g, g.path(l), look{ml: c.Y, errVar: c.R}, leapNever)
			w := c.Want
			near := func(what string, got, want, tol float64) {
				if math.Abs(got-want) > tol {
					t.Errorf("%s: got %.5g, want %.5g within %.2g", what, got, want, tol)
				}
			}
			near("log evidence", got.lnW, w.LnEvidence, 0.05)
			near("content", got.v, w.V, 0.1*math.Sqrt(w.VarV))
			near("level", got.x, w.X, 0.1*math.Sqrt(w.VarX))
			near("variance of content", got.varV, w.VarV, 0.1*w.VarV)
			near("variance of level", got.varX, w.VarX, 0.1*w.VarX)
			near("covariance", got.covVX, w.CovVX, 0.1*math.Sqrt(w.VarV*w.VarX))
		})
	}
}

// The Nile's flow of 1871 to 1970, a year for a day and 10^8 m³ for a mL: its break is published, 1895 to 1902.
func TestCheckNile(t *testing.T) {
	raw, err := os.ReadFile("testdata/ref/r-nile/nile.txt")
	if err != nil {
		t.Fatal(err)
	}
	start := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	c := Course{Canister: 3000, UsableShare: 1}
	lines := strings.Fields(string(raw))
	if len(lines) != 100 {
		t.Fatalf("%d years", len(lines))
	}
	for y, line := range lines {
		v, err := strconv.ParseFloat(line, 64)
		if err != nil {
			t.Fatal(err)
		}
		from := start.AddDate(0, 0, y)
		c.Readings = append(c.Readings, Reading{At: from, NewCanister: true}, Reading{At: from.Add(24*time.Hour - time.Second), Content: unit.Volume(v)})
	}
	odds, _ := lay(c, start.AddDate(0, 0, 100), 200, datedLeapVar).changeOdds(100, map[int]bool{})
	best := 0
	for k := range odds {
		if odds[k] > odds[best] {
			best = k
		}
	}
	last := 1871 + best - 1 // the change is at the start of span best
	t.Logf("last year of the old level %d, odds %.2f", last, odds[best])
	if last < 1895 || last > 1902 {
		t.Errorf("most probable break after %d, want 1895 to 1902", last)
	}
	got := changes(c, start.AddDate(0, 0, 100), 200, 100)
	if len(got) != 1 {
		t.Fatalf("%d changes, want 1: %+v", len(got), got)
	}
	// Means of the series to 1898 and after, by hand: 1097.75 and 849.97; a break in 1895 to 1902 moves them little.
	if math.Abs(got[0].Factor-849.97/1097.75) > 0.02 || got[0].Rise() {
		t.Errorf("factor %v, want %.3f", got[0].Factor, 849.97/1097.75)
	}
}
