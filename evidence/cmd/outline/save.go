package main

import (
	"fmt"
	"os"
	"sort"

	"lowtide/evidence/scene"
)

// write paints one photo into a file, to be looked at.
func write(what, file string) {
	var kind string
	var seed uint64
	var mp float64
	if n, _ := fmt.Sscanf(what, "%4s,%d,%f", &kind, &seed, &mp); n != 3 || file == "" {
		fmt.Fprintln(os.Stderr, "give -save hard,3000017,2 FILE (or easy,...)")
		os.Exit(2)
	}
	d := scene.Hard(seed, mp)
	if kind == "easy" {
		d = scene.Ordinary(seed, mp, 30, 2, false)
	}
	if err := os.WriteFile(file, d.Paint(), 0o644); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	fmt.Printf("%s: fault %q, tilt %.0f\n", file, d.Fault, d.Camera.TiltDeg)
}

func sorted(m map[string]int) []string {
	var out []string
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}
