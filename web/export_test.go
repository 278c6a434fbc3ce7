package web

// AtBedside is how many routes a device answers by itself.
func AtBedside() int { return len(atBedside) }
