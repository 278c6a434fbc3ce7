package unit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Dimension names what is measured.
type Dimension string

// The dimensions that Lowtide knows.
const (
	DimPressure    Dimension = "pressure"
	DimVolume      Dimension = "volume"
	DimLength      Dimension = "length"
	DimArea        Dimension = "area"
	DimFlow        Dimension = "flow"
	DimByMass      Dimension = "volume by body mass"
	DimTime        Dimension = "time"
	DimTemperature Dimension = "temperature"
	DimMass        Dimension = "mass"
	DimShare       Dimension = "share"
	DimCount       Dimension = "count"
	DimAngle       Dimension = "angle"
)

// Code is one unit: how it is printed, its UCUM code, and its size in the base unit of its dimension
// (mmHg, mL, cm, cm², mL/d, h, °C, g, %, 1, deg). Offset is added after the factor (only temperatures have one).
type Code struct {
	Print  string
	UCUM   string
	Dim    Dimension
	Factor float64
	Offset float64
	// Spellings are accepted when reading; the printed form and the UCUM code always are.
	Spellings []string
}

// Codes lists every unit, base units first within their dimension.
// UCUM codes: The Unified Code for Units of Measure, checked against an independent package in make test.
var Codes = []Code{
	{Print: "mmHg", UCUM: "mm[Hg]", Dim: DimPressure, Factor: 1, Spellings: []string{"mm hg", "torr"}},
	{Print: "kPa", UCUM: "kPa", Dim: DimPressure, Factor: 1000 / PaPerMmHg},
	{Print: "cmH2O", UCUM: "cm[H2O]", Dim: DimPressure, Factor: PaPerCmH2O / PaPerMmHg, Spellings: []string{"cmh₂o", "cm h2o"}},
	{Print: "mL", UCUM: "mL", Dim: DimVolume, Factor: 1, Spellings: []string{"cc"}},
	{Print: "L", UCUM: "L", Dim: DimVolume, Factor: 1000},
	{Print: "cm³", UCUM: "cm3", Dim: DimVolume, Factor: 1, Spellings: []string{"cm^3"}},
	{Print: "cm", UCUM: "cm", Dim: DimLength, Factor: 1},
	{Print: "mm", UCUM: "mm", Dim: DimLength, Factor: 0.1},
	{Print: "m", UCUM: "m", Dim: DimLength, Factor: 100},
	{Print: "in", UCUM: "[in_i]", Dim: DimLength, Factor: 2.54, Spellings: []string{"inch", "inches"}},
	{Print: "cm²", UCUM: "cm2", Dim: DimArea, Factor: 1, Spellings: []string{"cm^2", "sq cm"}},
	{Print: "mm²", UCUM: "mm2", Dim: DimArea, Factor: 0.01, Spellings: []string{"mm^2"}},
	{Print: "mL/d", UCUM: "mL/d", Dim: DimFlow, Factor: 1, Spellings: []string{"ml/day", "ml a day", "ml/24 h"}},
	{Print: "mL/h", UCUM: "mL/h", Dim: DimFlow, Factor: 24},
	{Print: "mL/min", UCUM: "mL/min", Dim: DimFlow, Factor: 1440},
	{Print: "mL/kg", UCUM: "mL/kg", Dim: DimByMass, Factor: 1},
	{Print: "h", UCUM: "h", Dim: DimTime, Factor: 1, Spellings: []string{"hour", "hours"}},
	{Print: "min", UCUM: "min", Dim: DimTime, Factor: 1.0 / 60, Spellings: []string{"minute", "minutes"}},
	{Print: "s", UCUM: "s", Dim: DimTime, Factor: 1.0 / 3600, Spellings: []string{"sec", "second", "seconds"}},
	{Print: "d", UCUM: "d", Dim: DimTime, Factor: 24, Spellings: []string{"day", "days"}},
	{Print: "wk", UCUM: "wk", Dim: DimTime, Factor: 168, Spellings: []string{"week", "weeks"}},
	{Print: "a", UCUM: "a", Dim: DimTime, Factor: 8766, Spellings: []string{"year", "years"}},
	{Print: "°C", UCUM: "Cel", Dim: DimTemperature, Factor: 1, Spellings: []string{"c"}},
	{Print: "°F", UCUM: "[degF]", Dim: DimTemperature, Factor: 5.0 / 9, Offset: -32 * 5.0 / 9, Spellings: []string{"f"}},
	{Print: "g", UCUM: "g", Dim: DimMass, Factor: 1},
	{Print: "kg", UCUM: "kg", Dim: DimMass, Factor: 1000},
	{Print: "%", UCUM: "%", Dim: DimShare, Factor: 1},
	{Print: "1", UCUM: "1", Dim: DimCount, Factor: 1, Spellings: []string{""}},
	{Print: "o'clock", UCUM: "{clock}", Dim: DimAngle, Factor: 30},
}

// Find returns the unit that text names (printed form, UCUM code or accepted spelling; case is ignored
// unless two units differ only in case, as m and M would).
func Find(text string) (Code, bool) {
	text = strings.TrimSpace(text)
	for _, c := range Codes {
		if text == c.Print || text == c.UCUM {
			return c, true
		}
	}
	low := strings.ToLower(text)
	for _, c := range Codes {
		if low == strings.ToLower(c.Print) || low == strings.ToLower(c.UCUM) {
			return c, true
		}
		for _, s := range c.Spellings {
			if low == s {
				return c, true
			}
		}
	}
	return Code{}, false
}

// Convert changes x from one unit to another of the same dimension.
// It reports an error when a unit is unknown or the dimensions differ.
func Convert(x float64, from, to string) (float64, error) {
	f, ok := Find(from)
	if !ok {
		return 0, fmt.Errorf("unit %q is not known", from)
	}
	t, ok := Find(to)
	if !ok {
		return 0, fmt.Errorf("unit %q is not known", to)
	}
	if f.Dim != t.Dim {
		return 0, fmt.Errorf("%s is a %s and cannot become %s, a %s", f.Print, f.Dim, t.Print, t.Dim)
	}
	return (x*f.Factor + f.Offset - t.Offset) / t.Factor, nil
}

// Parse reads a number with a unit ("16.7 kPa", "12,5 cm") and returns it in the unit named base.
// A bare number is taken to be in base. Decimal points and decimal commas are accepted; thousands
// separators are not, because "1,250" would be ambiguous: a comma followed by exactly three digits is refused.
func Parse(text, base string) (float64, error) {
	s := strings.TrimSpace(strings.ReplaceAll(text, "−", "-"))
	cut := len(s)
	for i, r := range s {
		if !strings.ContainsRune("0123456789+-.,", r) {
			cut = i
			break
		}
	}
	digits, name := s[:cut], strings.TrimSpace(s[cut:])
	if i := strings.IndexByte(digits, ','); i >= 0 {
		if len(digits)-i-1 == 3 || strings.Contains(digits, ".") {
			return 0, fmt.Errorf("%q can be read in two ways; write the number without a thousands separator and with a decimal point", text)
		}
		digits = strings.Replace(digits, ",", ".", 1)
	}
	x, err := strconv.ParseFloat(digits, 64)
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
		return 0, fmt.Errorf("%q is not a number", text)
	}
	if name == "" {
		return x, nil
	}
	y, err := Convert(x, name, base)
	if err != nil {
		return 0, err
	}
	return y, nil
}
