package intake

import (
	"fmt"
	"strconv"
	"time"
)

// clockLayouts are what a datetime-local field sends, and what people type in its place.
var clockLayouts = []string{"2006-01-02T15:04", "2006-01-02T15:04:05", "2006-01-02T15:04:05.999999999", "2006-01-02 15:04", "2006-01-02 15:04:05"}

// ReadClock reads a time as a form sends it: with an offset (RFC 3339), or as a clock time in zone. Where
// clocks are put forward, a time that they skip is a problem; where they are put back, the earlier of the
// two moments is taken. The result's zone is only its offset.
func ReadClock(text string, zone *time.Location) (time.Time, *Problem) {
	t, err := readTime(text)
	if err == nil {
		return t, nil
	}
	for _, layout := range clockLayouts {
		// Read as UTC first: the digits on the clock, whatever the zone makes of them.
		digits, err := time.Parse(layout, text)
		if err != nil {
			continue
		}
		moment, ok := wall(digits, zone)
		if ok {
			return fixed(moment), nil
		}
		return time.Time{}, &Problem{Code: CodeTime, Value: strconv.Quote(text),
			Message: fmt.Sprintf("%s does not exist in %s: the clocks are put forward over it.", digits.Format("2006-01-02 15:04"), zone),
			Remedy:  fmt.Sprintf("Write the time as it was after the change: the skipped hour's clock went straight to %s.", moment.Format("15:04"))}
	}
	return time.Time{}, &Problem{Code: CodeTime, Value: strconv.Quote(shorten(text)), Message: strconv.Quote(shorten(text)) + " cannot be read as date and time.", Remedy: "Choose a date and a time, such as 2026-03-14 09:30."}
}

// wall finds the earliest moment at which clocks in zone show the digits. When there is none, ok is false
// and the moment is the first after the gap.
func wall(digits time.Time, zone *time.Location) (moment time.Time, ok bool) {
	for _, probe := range []time.Duration{-36 * time.Hour, -14 * time.Hour, 0, 14 * time.Hour, 36 * time.Hour} {
		_, off := digits.Add(probe).In(zone).Zone()
		t := digits.Add(-time.Duration(off) * time.Second).In(zone)
		_, now := t.Zone()
		if now == off && (!ok || t.Before(moment)) {
			moment, ok = t, true
		}
	}
	if ok {
		return moment, true
	}
	// In the gap: with the offset from before, the moment lies after the change; the change is its zone's start.
	_, before := digits.Add(-36 * time.Hour).In(zone).Zone()
	late := digits.Add(-time.Duration(before) * time.Second).In(zone)
	if start, _ := late.ZoneBounds(); !start.IsZero() {
		return start.In(zone), false
	}
	return late, false
}
