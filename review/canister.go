package review

import (
	"time"

	"lowtide/state"
)

// CanisterFull is when a canister is full with a chance of one in ten, even and nine in ten, each rounded down to the half
// hour; zero is not within a year, and an Early of zero beside an Even is "read as full then". Cannot says why nothing can
// be told; with several pumps it can stand beside the times of another pump. All are empty when there is no therapy.
type CanisterFull struct {
	Early, Even, Late time.Time
	Cannot            string
	// Pump is the pump that the times are about, where the patient has several.
	Pump string
}

// FullOf takes the canisters' forecast out of a review for a list: of several canisters the one that may be full first, and
// beside it the one of which nothing can be told.
func FullOf(r *Review) CanisterFull {
	var out CanisterFull
	// Of the forecasts only those of the canisters: the others are made where somebody looks at one case.
	var list []state.Forecast
	for _, f := range r.State.Canisters {
		list = append(list, f.Forecasts(r.AsOf)...)
	}
	for _, f := range list {
		if f.ID != "fluid.full" {
			continue
		}
		x := fullOfOne(f)
		x.Pump = f.Pump
		switch {
		case x.Cannot != "":
			if f.Pump != "" {
				x.Cannot = "pump " + f.Pump + ": " + x.Cannot
			}
			if out.Cannot != "" && f.Pump != "" {
				x.Cannot = out.Cannot + "; " + x.Cannot
			}
			out.Cannot = x.Cannot
		case out.Even.IsZero() || x.Even.Before(out.Even):
			x.Cannot = out.Cannot
			out = x
		}
	}
	return out
}

func fullOfOne(f state.Forecast) CanisterFull {
	switch {
	case f.CannotForecast != "":
		return CanisterFull{Cannot: f.CannotForecast}
	case f.High == 0:
		return CanisterFull{Even: *f.From}
	}
	at := func(h float64) time.Time {
		if h >= 365*24 {
			return time.Time{}
		}
		return f.From.Add(time.Duration(h * float64(time.Hour))).Truncate(30 * time.Minute)
	}
	return CanisterFull{Early: at(f.Low), Even: at(f.Median), Late: at(f.High)}
}
