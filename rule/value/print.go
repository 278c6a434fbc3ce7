package value

import (
	"math"
	"strings"
	"time"

	"lowtide/unit"
)

// MaxHours bounds a span of time, so that it fits in a time.Duration: about 228 years.
const MaxHours = 2e6

// NotSet is how a value prints that is empty until a local protocol sets it.
const NotSet = "not set"

// Span turns hours into a duration, to the nanosecond.
func Span(h float64) time.Duration { return time.Duration(math.Round(h * float64(time.Hour))) }

// Print prints a number with its unit. Spans of time print as unit.Duration, ages in whole years lived. What was found
// for a case is rounded to what can be measured; constants (exact) print to three decimals, six below 1, which is more
// than they are written with.
func Print(x float64, u string, exact bool) string {
	decimals := 1
	switch u {
	case "h", "d", "wk", "min":
		if h, err := unit.Convert(x, u, "h"); err == nil && math.Abs(h) < MaxHours {
			return unit.Duration(h).String()
		}
	case "a":
		if !exact {
			x = math.Floor(x)
		}
		if u = "years"; x == 1 {
			u = "year"
		}
	case "mL":
		decimals = 0
	case "mmHg", "%":
		if math.Abs(x) >= 20 {
			decimals = 0
		}
	case "mL/min":
		if !exact {
			return unit.Rough(x, 1) + " " + u
		}
	case "mL/d":
		decimals, u = 0, "mL a day"
	case "", "1":
		decimals, u = 2, ""
	}
	if exact && math.Abs(x) < 1 {
		decimals = 6
	} else if exact {
		decimals = 3
	}
	return strings.TrimSpace(unit.Number(x, decimals) + " " + u)
}

// Placeholder splits what stands between the braces of a sentence: "off_limit", or "off_limit in min" with a unit.
func Placeholder(text string) (id, u string) {
	id, u, _ = strings.Cut(text, " in ")
	return id, u
}

// PrintIn prints a number in another unit, to one decimal. It panics when there is no such unit of that dimension.
func PrintIn(x float64, from, to string) string {
	y, err := unit.Convert(x, from, to)
	if err != nil {
		panic("value: " + err.Error())
	}
	return unit.Number(y, 1) + " " + to
}
