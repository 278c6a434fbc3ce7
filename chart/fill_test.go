package chart

import (
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
)

// filling is a canister of 300 mL that gets 5 mL an hour and was read ten hours ago at 100 mL.
func filling() (*casebook.Case, time.Time) {
	parts := []any{0.0, casebook.PersonRegistered{Name: "Invented Person", Place: "home", Zone: "Europe/Berlin"}, 0.1, casebook.PumpAssigned{Pump: "P", Class: "portable", CanisterML: ptr(300.0)}}
	for h := 1.0; h <= 21; h += 4 {
		parts = append(parts, h, casebook.CanisterRead{VolumeML: ptr(5 * (h - 1))})
	}
	return casebook.Fold("c", story(parts...)), t0.Add(31 * time.Hour)
}

// TestFillAhead: the chart goes on past now to the third day with a band that starts at the newest reading, widens, and
// stops at the canister's size; the table holds the numbers.
func TestFillAhead(t *testing.T) {
	c, now := filling()
	tide := TideOf(stateOf(t, c, now), 14)
	ahead := tide.pumps[0].ahead
	to := c.NextDay(now.AddDate(0, 0, 3))
	if !tide.To.Equal(to) {
		t.Errorf("until %s", tide.To)
	}
	first, last := ahead.Points[0], ahead.Points[len(ahead.Points)-1]
	if !first.At.Equal(t0.Add(21*time.Hour)) || first.Band.Median < 90 || first.Band.Median > 110 || !last.At.Equal(to) || last.Band.P90 != 300 {
		t.Errorf("from %+v to %+v", first, last)
	}
	for i := 1; i < len(ahead.Points); i++ {
		a, b := ahead.Points[i-1].Band, ahead.Points[i].Band
		if b.Median < a.Median || b.P10 > b.Median || b.Median > b.P90 || b.P90 > 300 {
			t.Errorf("point %d: %+v after %+v", i, b, a)
		}
	}
	// 170 mL more are 34 hours at 5 mL an hour.
	full := ahead.Full
	if d := full.Even.At.Sub(t0.Add(21 * time.Hour)).Hours(); d < 30 || d > 38 || !full.Early.Before(full.Even) || !full.Even.Before(full.Late) {
		t.Errorf("full %+v", full)
	}
	none := *tide
	none.pumps = []pumpTide{{PumpTide: tide.pumps[0].PumpTide}}
	for _, width := range []float64{358, 920} {
		with, without := tide.Drawing(width, "t").SVG(), none.Drawing(width, "t").SVG()
		wellFormed(t, with)
		for _, want := range []string{"dashed: forecast; band: four times in five"} {
			if !strings.Contains(with, want) || strings.Contains(without, want) {
				t.Errorf("%g px: %q with %v, without %v", width, want, strings.Contains(with, want), strings.Contains(without, want))
			}
		}
	}
	text := ""
	for _, row := range tide.Table().Rows {
		text += strings.Join(row.Cells, " | ") + " | " + row.Entry + "\n"
	}
	for _, want := range []string{"Canister forecast: ", ", four times in five between ", "Chance that the canister is full, at 270 mL: even", "one in ten", "nine in ten"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
}

// TestFillAheadOfNothing: what cannot be told is not drawn, and the table says why.
func TestFillAheadOfNothing(t *testing.T) {
	c, now := full(), t0.Add(60*time.Hour)
	tide := TideOf(stateOf(t, c, now), 14)
	ahead := tide.pumps[0].ahead
	if len(ahead.Points) != 0 || ahead.Cannot != "no pump is recorded" {
		t.Fatalf("%+v", ahead)
	}
	if svg := tide.Drawing(358, "t").SVG(); strings.Contains(svg, "dashed") {
		t.Error("a forecast of nothing is drawn")
	}
	rows := tide.Table().Rows
	if last := rows[len(rows)-1]; !strings.Contains(strings.Join(last.Cells, " "), "cannot forecast: no pump is recorded") {
		t.Errorf("last row: %v", last.Cells)
	}
}
