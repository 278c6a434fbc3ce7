package state

import (
	"sync"
	"time"

	"lowtide/fluid"
	"lowtide/state/memo"
)

// fluidFit is everything that a course says without a clock.
type fluidFit struct {
	course fluid.Course
	asOf   time.Time
	track  fluid.Track
	// changes are looked for when they are asked for first: that costs several fits.
	once    sync.Once
	changes []fluid.Change
	// full is when the canister in place is full; fills is false when that cannot be told.
	full  fluid.Times
	fills bool
	rate  fluid.Quantiles // at asOf
}

// fluidEntries bounds how many fits are kept: about 10 kB each.
const fluidEntries = 2048

// fluidCourse is a course at an instant.
type fluidCourse struct {
	fluid.Course
	AsOf time.Time
}

// fits remembers fits of courses.
var fits = memo.New(fluidEntries, func(in fluidCourse) *fluidFit {
	f := &fluidFit{course: in.Course, asOf: in.AsOf, track: fluid.Fit(in.Course, in.AsOf)}
	f.full, f.fills = f.track.FullAt()
	f.rate = f.track.Rate()
	return f
})

// sudden is [fluid.Changes], remembered.
func (f *fluidFit) sudden() []fluid.Change {
	f.once.Do(func() { f.changes = fluid.Changes(f.course, f.asOf) })
	return f.changes
}
