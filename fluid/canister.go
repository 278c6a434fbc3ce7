package fluid

import (
	"fmt"
	"math"
	"sort"
	"time"

	"lowtide/unit"
)

// Option is one size of canister with the chance that it fills.
type Option struct {
	Size unit.Volume `json:"size_mL"`
	// Chance is the chance that an empty canister of this size, put in at the start of the period, reaches its usable
	// volume before the end.
	Chance float64 `json:"chance_full"`
	// Within says that Chance is at or below the limit asked for.
	Within bool `json:"within_limit"`
}

// Choice answers which canister is large enough. Options are in order of size, each size once.
type Choice struct {
	Status  Status   `json:"status"`
	Text    string   `json:"status_text"`
	Options []Option `json:"options"`
	// Smallest is the smallest size within the limit; nil when none is.
	Smallest *Option `json:"smallest"`
}

// Smallest finds the smallest of sizes that, put in empty at from, reaches its usable volume before to with a chance of
// at most limit (eq. 13). limit is from 0 to 1; from is at or after the track's asOf. Sizes that are not above zero are
// left out. The chance is of the output alone: weight, mobility and the device's own canisters are for the nurse.
func (t Track) Smallest(sizes []unit.Volume, from, to time.Time, limit float64) Choice {
	var good []float64
	for _, s := range sizes {
		if v := float64(s); v > 0 && !math.IsInf(v, 0) {
			good = append(good, v)
		}
	}
	sort.Float64s(good)
	d := t.clock.days(from, to)
	switch {
	case len(good) == 0:
		return Choice{Status: CannotTell, Text: "Cannot tell which canister is large enough: no size is given."}
	case d <= 0:
		return Choice{Status: CannotTell, Text: "Cannot tell which canister is large enough: there is no time of therapy in the period."}
	case !(limit >= 0 && limit <= 1):
		return Choice{Status: CannotTell, Text: "Cannot tell which canister is large enough: the limit is not a chance from 0 to 1."}
	}
	share := t.course.UsableShare
	if !(share > 0 && share <= 1) {
		share = DefaultUsableShare
	}
	lag := 0.0
	if !t.seen.IsZero() {
		lag = t.clock.days(t.seen, from)
	}
	m := lnCollected(t.strands(), lag, d)
	c := Choice{Status: OK}
	for i, size := range good {
		if i > 0 && size == good[i-1] {
			continue
		}
		p := clip(1 - m.Below(math.Log(share*size)))
		c.Options = append(c.Options, Option{Size: unit.Volume(size), Chance: p, Within: p <= limit})
	}
	for i := range c.Options {
		if c.Options[i].Within {
			c.Smallest = &c.Options[i]
			c.Text = fmt.Sprintf("A canister of %.0f mL fills before then with a chance of %.0f %%.", float64(c.Smallest.Size), 100*c.Smallest.Chance)
			break
		}
	}
	if c.Smallest == nil {
		last := c.Options[len(c.Options)-1]
		c.Text = fmt.Sprintf("None is large enough: even %.0f mL fills before then with a chance of %.0f %%; plan a change in between.", float64(last.Size), 100*last.Chance)
	}
	if t.grown < 2 {
		c.Status = FewReadings
	}
	return c
}
