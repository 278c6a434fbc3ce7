package therapy

import (
	"fmt"

	"lowtide/unit"
)

// Sign says how a suction is written.
type Sign string

const (
	// Depth writes a suction as a depth below ambient, without a sign: "125 mmHg below ambient".
	Depth Sign = "depth"
	// Relative writes the pressure relative to ambient, with a minus sign: "−125 mmHg".
	Relative Sign = "relative"
)

// SignNote explains the two ways of writing once; a page shows it beside the first number.
const SignNote = "Suction is written as a depth below the pressure of the room. 125 mmHg of suction and a pressure of −125 mmHg are the same thing."

// Text prints a suction in mmHg, kPa or cmH2O, as a depth or as a relative pressure, with digits that fit the
// unit (none for mmHg, one for the others). It reports an error for a unit that is not a pressure.
func Text(s unit.Suction, unitName string, sign Sign) (string, error) {
	x, err := unit.Convert(s.MmHg(), "mmHg", unitName)
	if err != nil {
		return "", fmt.Errorf("therapy: %w", err)
	}
	c, _ := unit.Find(unitName)
	digits := 1
	if c.Print == "mmHg" {
		digits = 0
	}
	n := unit.Number(x, digits)
	if sign == Relative && x != 0 && n != "0" {
		return "−" + n + " " + c.Print, nil
	}
	if sign == Relative {
		return n + " " + c.Print, nil
	}
	return n + " " + c.Print + " below ambient", nil
}
