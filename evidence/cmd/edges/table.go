package main

import (
	"fmt"
	"io"
	"math"
	"sort"
)

// row is one line of the table.
type row struct {
	what                        string
	n                           int
	loop, med, p10, worst, bias float64
	in1, in2                    float64 // share of area errors within one and two stated standard errors
	shares                      float64
}

type rows []row

func table(all []try) rows {
	var out rows
	add := func(what string, keep func(t try) bool) {
		var loop, dice, bias, shares []float64
		in1, in2 := 0.0, 0.0
		for _, t := range all {
			if !keep(t) {
				continue
			}
			loop, dice, bias, shares = append(loop, t.loop), append(dice, t.refined), append(bias, t.areaErr), append(shares, t.sharesErr)
			if math.Abs(t.areaErr) < t.se {
				in1++
			}
			if math.Abs(t.areaErr) < 2*t.se {
				in2++
			}
		}
		if n := float64(len(dice)); n > 0 {
			out = append(out, row{what, len(dice), quantile(loop, .5), quantile(dice, .5), quantile(dice, .1), quantile(dice, 0),
				quantile(bias, .5), in1 / n, in2 / n, quantile(shares, .5)})
		}
	}
	add("all", func(try) bool { return true })
	for _, of := range []func(t try) string{
		func(t try) string { return t.painter }, func(t try) string { return t.tone }, func(t try) string { return t.texture },
		func(t try) string { return t.glare }, func(t try) string { return t.size },
	} {
		seen := map[string]bool{}
		for _, t := range all {
			seen[of(t)] = true
		}
		var names []string
		for n := range seen {
			names = append(names, n)
		}
		sort.Strings(names)
		for _, n := range names {
			add(n, func(t try) bool { return of(t) == n })
		}
	}
	return out
}

func (r rows) print(w io.Writer) {
	fmt.Fprintf(w, "%-18s %5s  %9s  %8s %8s %8s  %9s  %7s %7s  %8s\n", "", "n", "loop Dice", "refined", "p10", "worst", "area bias", "in 1 SE", "in 2 SE", "tissue")
	for _, l := range r {
		fmt.Fprintf(w, "%-18s %5d  %9.3f  %8.3f %8.3f %8.3f  %+8.1f%%  %6.0f%% %6.0f%%  %5.0f pt\n",
			l.what, l.n, l.loop, l.med, l.p10, l.worst, 100*l.bias, 100*l.in1, 100*l.in2, l.shares)
	}
}

// quantile of unsorted values, linear between order statistics (type 7 of Hyndman and Fan).
func quantile(v []float64, q float64) float64 {
	s := append([]float64(nil), v...)
	sort.Float64s(s)
	at := q * float64(len(s)-1)
	i := int(at)
	if i+1 >= len(s) {
		return s[len(s)-1]
	}
	return s[i] + (at-float64(i))*(s[i+1]-s[i])
}
