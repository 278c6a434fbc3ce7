package evidence

import (
	"fmt"
	"math"

	"lowtide/healing"
)

func init() { register("healing.MixedLine", mixedLine) }

// mixedLine fits rows of wound, week and y and returns the part that is asked for.
func mixedLine(in In) (float64, error) {
	byWound := map[float64]int{}
	var lines []healing.Line
	weeks, ys := in.Nums("week"), in.Nums("y")
	for i, w := range in.Nums("wound") {
		j, known := byWound[w]
		if !known {
			j = len(lines)
			byWound[w] = j
			lines = append(lines, healing.Line{})
		}
		lines[j].Weeks, lines[j].Values = append(lines[j].Weeks, weeks[i]), append(lines[j].Values, ys[i])
	}
	m, ok := healing.FitMixedLine(lines)
	if !ok {
		return math.NaN(), errNotComputed
	}
	parts := map[string]float64{"Start": m.Start, "Slope": m.Slope, "SlopeSE": m.SlopeSE, "StartSD": m.StartSD, "SlopeSD": m.SlopeSD, "Corr": m.Corr, "Residual": m.Residual, "LogLik": m.LogLik}
	v, ok := parts[in.Text("what")]
	if !ok {
		return math.NaN(), fmt.Errorf("healing: no part %q of a line", in.Text("what"))
	}
	return v, nil
}
