package chart_test

import (
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/chart"
	"lowtide/demo"
	"lowtide/equipment"
	"lowtide/rule"
	"lowtide/state"
)

// TestEveryTideDraws: the tide chart of every demo patient can be drawn at any hour of the day, also when a log ends on
// the hour.
func TestEveryTideDraws(t *testing.T) {
	eq := equipment.BuiltIn()
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for i := range 7 {
		now := time.Date(2026, 3, 27, 9, 20, 0, 0, time.UTC).Add(time.Duration(i) * 20 * time.Hour / 3)
		blobs := demo.Blobs(now, 1)
		byCase := map[string][]casebook.Entry{}
		for _, e := range demo.Entries(now, 1) {
			byCase[e.Case] = append(byCase[e.Case], e)
		}
		for id, list := range byCase {
			c := casebook.Fold(id, list)
			c.Blob = func(hash string) ([]byte, error) { return blobs[hash], nil }
			for _, days := range []int{14, 120} {
				tide := chart.TideOf(state.Of(c, rules, eq, nil, now), days)
				for _, px := range []float64{280, 900} {
					if d := tide.Drawing(px, "tide").SVG(); strings.Contains(d, chart.NotDrawn) {
						t.Errorf("%s, %s, %d days: not drawn", now, id, days)
					}
				}
			}
		}
	}
}
