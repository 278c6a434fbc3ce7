package route

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// solomonFault checks an answer by the file alone, with code that shares nothing with the search.
func solomonFault(t *testing.T, raw []byte, routes [][]int) (distance float64, fault string) {
	t.Helper()
	var capacity float64
	var c [][7]float64
	for _, line := range strings.Split(string(raw), "\n") {
		var v [7]float64
		k, _ := fmt.Sscan(line, &v[0], &v[1], &v[2], &v[3], &v[4], &v[5], &v[6])
		switch k {
		case 2:
			capacity = v[1]
		case 7:
			c = append(c, v)
		}
	}
	seen := map[int]bool{}
	for i, r := range routes {
		at, clock, load := 0, c[0][4], 0.0
		for _, v := range append(append([]int{}, r...), 0) {
			leg := math.Hypot(c[at][1]-c[v][1], c[at][2]-c[v][2])
			distance += leg
			clock = math.Max(clock+leg, c[v][4])
			if clock > c[v][5]+1e-6 {
				return distance, fmt.Sprintf("route %d is at %d at %v, due %v", i, v, clock, c[v][5])
			}
			if v != 0 {
				if seen[v] {
					return distance, fmt.Sprintf("%d twice", v)
				}
				seen[v] = true
				clock += c[v][6]
				load += c[v][3]
			}
			at = v
		}
		if load > capacity {
			return distance, fmt.Sprintf("route %d carries %v of %v", i, load, capacity)
		}
	}
	if len(seen) != len(c)-1 {
		return distance, fmt.Sprintf("%d of %d served", len(seen), len(c)-1)
	}
	return distance, ""
}

// TestCheckSolomon plans one published instance of each class for few rounds: the answer holds by the file, is never
// better than the best known plan, and not far from it. The long table is docs/evidence.
func TestCheckSolomon(t *testing.T) {
	best, err := os.ReadFile("testdata/ref/solomon-1987-vrptw/best.tsv")
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(strings.TrimSpace(string(best)), "\n")[1:] {
		var name string
		var vehicles int
		var distance float64
		if _, err := fmt.Sscan(line, &name, &vehicles, &distance); err != nil {
			t.Fatal(err)
		}
		raw, err := os.ReadFile(filepath.Join("testdata/ref/solomon-1987-vrptw", name+".txt"))
		if err != nil {
			t.Fatal(err)
		}
		p, err := ReadSolomon(bytes.NewReader(raw))
		if err != nil {
			t.Fatal(err)
		}
		plan := Solve(p, Options{Seed: 1, Rounds: 12000})
		routes := [][]int{}
		for _, tour := range plan.Tours {
			r := []int{}
			for _, v := range tour {
				r = append(r, v+1)
			}
			if len(r) > 0 {
				routes = append(routes, r)
			}
		}
		d, fault := solomonFault(t, raw, routes)
		t.Logf("%s: %d vehicles, %.2f; best known %d, %.2f", name, len(routes), d, vehicles, distance)
		if fault != "" || math.Abs(d-plan.Travel) > 1e-6 {
			t.Errorf("%s: %s; distance %v, said %v", name, fault, d, plan.Travel)
		}
		if len(routes) < vehicles || len(routes) == vehicles && d < distance-0.01 {
			t.Errorf("%s: %d, %v beats the best known %d, %v: look again", name, len(routes), d, vehicles, distance)
		}
		if len(routes) > vehicles+1 || d > 1.1*distance {
			t.Errorf("%s: %d vehicles, %v; best known %d, %v", name, len(routes), d, vehicles, distance)
		}
	}
}

func TestReadSolomon(t *testing.T) {
	head := "x\n\nVEHICLE\nNUMBER CAPACITY\n 2 10\n\nCUSTOMER\nCUST NO. X\n\n"
	for in, want := range map[string]string{
		"":                                         "no vehicles",
		head + "0 0 0 0 0 9 0\n":                   "no vehicles or no customers",
		head + "1 0 0 0 0 9 0\n":                   "customer 0 expected",
		head + "0 0 0 0 0 9\n":                     "7 columns",
		head + "0 0 0 x 0 9 0\n":                   "not a number",
		head + "0 0 0 0 0 9 0\n1 0 0 -1 0 9 0\n":   "negative",
		head + "0 0 0 0 9 0 0\n1 0 0 1 0 9 0\n":    "closes",
		"VEHICLE\n 0 10\n":                         "number of vehicles",
		head + "0 0 0 0 0 9 0\n1 1e99 0 1 0 9 0\n": "not a number",
	} {
		if _, err := ReadSolomon(strings.NewReader(in)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", in, err, want)
		}
	}
}

// FuzzReadSolomon: any text gives a problem that can be solved, or a refusal.
func FuzzReadSolomon(f *testing.F) {
	f.Add("x\n2 10\n0 0 0 0 0 9 0\n1 1 1 1 0 9 1\n")
	f.Fuzz(func(t *testing.T, in string) {
		p, err := ReadSolomon(strings.NewReader(in))
		if err != nil || len(p.Stops) > 40 {
			return
		}
		if bad := p.Check(); len(bad) > 0 {
			t.Fatal(bad)
		}
		Solve(p, Options{Rounds: 3})
	})
}
