package route

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// TestCheckWeeksExactly: on small weeks the search finds what a solver of mixed integer programs proves to be the least
// cost (testdata/ref/cbc-weeks), and the bound is not above it.
func TestCheckWeeksExactly(t *testing.T) {
	var weeks []struct {
		Places int         `json:"places"`
		Times  [][]float64 `json:"times"`
		Stops  []struct {
			Place   int          `json:"place"`
			Windows [][2]float64 `json:"windows"`
			Service float64      `json:"service"`
			Cost    []*float64   `json:"cost"`
			Miss    float64      `json:"miss"`
		} `json:"stops"`
		Shifts []struct {
			Kind, Day, Person, Base int
			Open, Close             float64
		} `json:"shifts"`
		Gaps []Gap `json:"gaps"`
	}
	var want []float64
	for name, into := range map[string]any{"input.json": &weeks, "want.json": &want} {
		raw, err := os.ReadFile("testdata/ref/cbc-weeks/" + name)
		if err == nil {
			err = json.Unmarshal(raw, into)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	tight := 0.0
	for k, w := range weeks {
		p := &Problem{Places: w.Places, Gaps: w.Gaps}
		var times []float64
		for _, row := range w.Times {
			times = append(times, row...)
		}
		p.Times = [][]float64{times}
		for _, s := range w.Shifts {
			p.Shifts = append(p.Shifts, Shift{Kind: s.Kind, Day: s.Day, Person: s.Person, From: s.Base, To: s.Base, Open: s.Open, Close: s.Close, Capacity: math.Inf(1)})
		}
		for _, s := range w.Stops {
			stop := Stop{Place: s.Place, Service: s.Service, Miss: s.Miss}
			for _, x := range s.Windows {
				stop.Windows = append(stop.Windows, Window{x[0], x[1]})
			}
			for _, c := range s.Cost {
				if c == nil {
					stop.Cost = append(stop.Cost, math.Inf(1))
				} else {
					stop.Cost = append(stop.Cost, *c)
				}
			}
			p.Stops = append(p.Stops, stop)
		}
		plan := Solve(p, Options{Seed: 1, Rounds: 2000})
		if out, _ := faults(p, plan); len(out) > 0 || math.Abs(plan.Cost-want[k]) > 1e-3 {
			t.Errorf("week %d: %v, least %v; %v", k+1, plan.Cost, want[k], out)
		}
		b := Bound(p)
		if b > want[k]+1e-3 {
			t.Errorf("week %d: bound %v above the least cost %v", k+1, b, want[k])
		}
		tight += b / want[k] / float64(len(weeks))
	}
	t.Logf("%d weeks; the bound is %.0f %% of the least cost on average", len(weeks), 100*tight)
}
