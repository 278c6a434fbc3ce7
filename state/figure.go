package state

import (
	"math"
	"time"

	"lowtide/unit"
)

// Figure is a number with its unit, its method and its source.
type Figure struct {
	// ID names the figure; with Wound and Pump it is unique in a review.
	ID    string `json:"id"`
	Name  string `json:"name"`
	Wound string `json:"wound,omitempty"`
	// Pump is whose canister it is about, where the patient has several pumps.
	Pump  string  `json:"pump,omitempty"`
	Value float64 `json:"value"`
	Unit  string  `json:"unit"`
	// Text is the value with its unit, as a page prints it.
	Text   string `json:"text"`
	Method string `json:"method"`
	Source string `json:"source"`
	// At is when it was true.
	At      *time.Time `json:"at,omitempty"`
	Entries []string   `json:"entries,omitempty"`
}

// figured gives a figure on if its value is a number, with its text.
func figured(add func(Figure)) func(Figure) {
	return func(g Figure) {
		if math.IsNaN(g.Value) || math.IsInf(g.Value, 0) {
			return
		}
		if g.Text == "" {
			g.Text = unit.Number(g.Value, 1) + " " + g.Unit
		}
		add(g)
	}
}

// entriesOf lists the entries that are named.
func entriesOf(ids ...string) []string {
	var out []string
	for _, id := range ids {
		if id != "" && !contains(out, id) {
			out = append(out, id)
		}
	}
	return out
}
