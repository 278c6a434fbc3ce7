//go:build !bedside

package packed

// Embedded is the program that was built before this one; false when there is none.
func Embedded() (Program, bool) { return Program{}, false }
