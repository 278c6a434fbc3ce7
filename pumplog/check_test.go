package pumplog

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"
)

// TestCheckBreaks: breaks, sums of squares and BIC for every number of breaks are those of R's strucchange.
func TestCheckBreaks(t *testing.T) {
	raw, err := os.ReadFile("testdata/ref/strucchange/want.json")
	if err != nil {
		t.Fatal(err)
	}
	var list []struct {
		Name        string
		Least       int
		Breaks      []int
		RSS, BIC, Y []float64
	}
	if err := json.Unmarshal(raw, &list); err != nil || len(list) != 2 {
		t.Fatal(err)
	}
	for _, c := range list {
		d := divide(c.Y, c.Least, len(c.RSS)-1)
		worst := 0.0
		for m := range c.RSS {
			worst = math.Max(worst, math.Max(math.Abs(d.rss[m]/c.RSS[m]-1), math.Abs(d.bic(m)/c.BIC[m]-1)))
		}
		t.Logf("%s: worst relative error of RSS and BIC %.1e", c.Name, worst)
		if worst > 1e-6 {
			t.Errorf("%s: RSS %v, want %v", c.Name, d.rss, c.RSS)
		}
		var got []int
		for _, b := range Breaks(c.Y, c.Least, 5) {
			got = append(got, b.Index)
		}
		if fmt.Sprint(got) != fmt.Sprint(c.Breaks) {
			t.Errorf("%s: breaks %v, want %v", c.Name, got, c.Breaks)
		}
	}
}

// TestNoFalseBreaks: noise, noise whose neighbours are alike, and a course that repeats every day have no breaks; a
// step of four standard deviations among them is found to the point.
func TestNoFalseBreaks(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for name, rho := range map[string]float64{"white": 0, "alike": 0.6} {
		for _, period := range []float64{0, 5} {
			false1, missed := 0, 0
			for range 200 {
				y, at := make([]float64, 120), make([]int64, 120)
				e := 0.0
				for i := range y {
					e = rho*e + math.Sqrt(1-rho*rho)*r.NormFloat64()
					y[i], at[i] = 100+e+period*math.Sin(2*math.Pi*float64(i)/4+1), int64(i)*stepMs
				}
				false1 += len(Breaks(withoutDay(y, at), 4, 8))
				for i := 70; i < len(y); i++ {
					y[i] += 4
				}
				b := Breaks(withoutDay(y, at), 4, 8)
				if len(b) == 0 || math.Abs(float64(b[0].Index-70)) > 2 {
					missed++
				}
			}
			t.Logf("%s, daily wave %v: %d false breaks in 200 series of 30 days, %d steps missed", name, period, false1, missed)
			if false1 > 4 || missed > 20 {
				t.Errorf("%s, daily wave %v: %d false, %d missed", name, period, false1, missed)
			}
		}
	}
}
