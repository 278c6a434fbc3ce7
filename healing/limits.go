package healing

// Limits are the numbers of an agency that an assessment goes by. All are above 0.
type Limits struct {
	// FreshDays is how old the last size may be for a word on progress, UsableDays for a forecast.
	FreshDays  float64
	UsableDays float64
	// Progress is judged over the last WindowDays up to the last size, and over the whole course where it is shorter, but
	// not over fewer than ShortestDays.
	WindowDays   float64
	ShortestDays float64
	// MarkerShare of the area gone MarkerDays after the first size is the marker for wounds of any type.
	MarkerShare float64
	MarkerDays  float64
}

// check panics for limits that nobody filled in.
func (l Limits) check() {
	for _, x := range []float64{l.FreshDays, l.UsableDays, l.WindowDays, l.ShortestDays, l.MarkerShare, l.MarkerDays} {
		if !(x > 0) {
			panic("healing: the limits are not filled in")
		}
	}
}
