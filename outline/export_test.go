package outline

// WithOrientation gives the tests outside the package a JPEG with a camera's notes.
var WithOrientation = withNotes

// SlopeMost gives them how far a slope under one strip may put an area off.
func SlopeMost(m Measures, p Plane, alpha float64) float64 { return m.slopeMost(&p, alpha) }
