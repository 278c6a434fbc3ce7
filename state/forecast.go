package state

import (
	"strings"
	"time"
)

// Forecast says what is expected, with its uncertainty, or why nothing can be said.
type Forecast struct {
	// ID names the forecast; with Wound and Pump it is unique in a review.
	ID    string `json:"id"`
	Name  string `json:"name"`
	Wound string `json:"wound,omitempty"`
	// Pump is whose canister it is about, where the patient has several pumps.
	Pump string `json:"pump,omitempty"`
	// Low and High enclose 80 %. What is not told is nil: all three when CannotForecast is set, and a point in time that
	// lies beyond the model's horizon.
	Median *float64 `json:"median,omitempty"`
	Low    *float64 `json:"low,omitempty"`
	High   *float64 `json:"high,omitempty"`
	Unit   string   `json:"unit"`
	// Full is set where the forecast is of when a canister is full, and says what kind of answer it is.
	Full *FullAt `json:"full,omitempty"`
	// From is the moment from which a Unit of time counts.
	From *time.Time `json:"from,omitempty"`
	// Text is what a page prints.
	Text    string   `json:"text"`
	Model   string   `json:"model"`
	Entries []string `json:"entries,omitempty"`
	// CannotForecast is the reason when there is too little to go by; then Text says so.
	CannotForecast string `json:"cannot_forecast,omitempty"`
}

// cannot makes a forecast that says why there is none.
func cannot(f Forecast, why string) Forecast {
	f.Median, f.Low, f.High, f.From = nil, nil, nil, nil
	why = strings.TrimSuffix(why, ".")
	f.CannotForecast, f.Text = why, "Cannot forecast: "+why+"."
	return f
}

// chance fills a forecast that is itself a chance: it has no interval, so both ends are the chance.
func chance(out Forecast, p float64) Forecast {
	p *= 100
	out.Median, out.Low, out.High = &p, &p, &p
	return out
}
