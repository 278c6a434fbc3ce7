// Package unit carries the quantities of negative-pressure wound therapy: their types, conversion,
// printing, reading from text, and UCUM codes. It is the floor of the road: every other package may import it.
//
// Suction is stored everywhere as a positive depth below ambient pressure in mmHg: 125 means that the
// pressure is 125 mmHg lower than the air around the patient. A minus sign never means "deeper": an order that is
// written as -125 mmHg is kept as it was written, and a rule says what looks wrong.
//
// The zero value of every type is a real zero, not "unknown": unknown values are nil pointers where they
// are stored.
package unit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Suction is a depth below ambient pressure in mmHg, never negative.
type Suction float64

// Volume is in mL.
type Volume float64

// Length is in cm.
type Length float64

// Area is in cm².
type Area float64

// Rate is a fluid output in mL per day of 24 h.
type Rate float64

// Duration is in hours. Therapy counts in hours and fractions; clocks use time.Time.
type Duration float64

// Pressure conversions. One conventional millimetre of mercury is 133.322387415 Pa, that is
// 13 595.1 kg/m³ × 9.806 65 m/s² × 1 mm; one conventional centimetre of water (4 °C, 1000 kg/m³) is
// 98.0665 Pa. Source: NIST SP 811 (2008), Appendix B.8 (133.3224 and 98.066 5 to its digits);
// the exact products are those of ISO 80000-4 conventional density.
const (
	PaPerMmHg  = 133.322387415
	PaPerCmH2O = 98.0665
)

func (s Suction) String() string { return Number(float64(s), 0) + " mmHg" }
func (v Volume) String() string  { return Number(float64(v), 0) + " mL" }
func (l Length) String() string  { return Number(float64(l), 1) + " cm" }
func (a Area) String() string    { return Number(float64(a), 1) + " cm²" }
func (r Rate) String() string    { return Number(float64(r), 0) + " mL a day" }

// String prints hours below two days as hours and minutes, and longer spans as days and hours.
func (d Duration) String() string {
	neg := ""
	m := math.Round(float64(d) * 60)
	if m < 0 {
		neg, m = "−", -m
	}
	h, min := math.Floor(m/60), math.Mod(m, 60)
	switch {
	case m < 60:
		return fmt.Sprintf("%s%.0f min", neg, m)
	case h < 48 && min != 0:
		return fmt.Sprintf("%s%.0f h %.0f min", neg, h, min)
	case h < 48:
		return fmt.Sprintf("%s%.0f h", neg, h)
	}
	days, rest := math.Floor(h/24), math.Mod(h, 24)
	if rest == 0 {
		return fmt.Sprintf("%s%.0f days", neg, days)
	}
	return fmt.Sprintf("%s%.0f days %.0f h", neg, days, rest)
}

// Number prints x with at most decimals digits after the point, without trailing zeros and without "-0".
// NaN and infinities print as "cannot tell": a page never shows them as numbers.
func Number(x float64, decimals int) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "cannot tell"
	}
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		s = "0"
	}
	return s
}
