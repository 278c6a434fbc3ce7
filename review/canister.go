package review

import (
	"time"

	"lowtide/state"
)

// CanisterFull is when a canister is full, each point rounded down to the half hour. Cannot says why nothing can be told;
// with several pumps it can stand beside the times of another pump. All is empty when there is no therapy.
type CanisterFull struct {
	state.FullAt
	Cannot string
	// Pump is the pump that the times are about, where the patient has several.
	Pump string
}

// FullOf takes the canisters' forecasts out of a review for a list: of several canisters the one that may be full first,
// and beside it the one of which nothing can be told.
func FullOf(r *Review) CanisterFull {
	var out CanisterFull
	for _, f := range r.State.Canisters {
		if full := f.FullAt(); full.Told() {
			if !out.Told() || full.Before(out.FullAt) {
				out.FullAt, out.Pump = full.Truncate(30*time.Minute), f.Pump
			}
			continue
		}
		why := f.FullNotTold()
		if why != "" && f.Pump != "" {
			why = "pump " + f.Pump + ": " + why
		}
		if out.Cannot != "" && why != "" {
			why = out.Cannot + "; " + why
		}
		if why != "" {
			out.Cannot = why
		}
	}
	return out
}
