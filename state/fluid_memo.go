package state

import (
	"crypto/sha256"
	"math"
	"sync"
	"time"

	"lowtide/fluid"
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

// fluidMemo keeps fits by the content of their course: a fit is a pure function of it and is not modified.
var fluidMemo = struct {
	sync.Mutex
	by    map[[sha256.Size]byte]*fluidFit
	order [][sha256.Size]byte // oldest first
}{by: map[[sha256.Size]byte]*fluidFit{}}

// sudden is [fluid.Changes], remembered.
func (f *fluidFit) sudden() []fluid.Change {
	f.once.Do(func() { f.changes = fluid.Changes(f.course, f.asOf) })
	return f.changes
}

// fitFluid is [fluid.Fit], remembered.
func fitFluid(c fluid.Course, asOf time.Time) *fluidFit {
	key := courseContent(c, asOf)
	fluidMemo.Lock()
	known := fluidMemo.by[key]
	fluidMemo.Unlock()
	if known != nil {
		return known
	}
	f := &fluidFit{course: c, asOf: asOf, track: fluid.Fit(c, asOf)}
	f.full, f.fills = f.track.FullAt()
	f.rate = f.track.Rate()
	fluidMemo.Lock()
	defer fluidMemo.Unlock()
	if first := fluidMemo.by[key]; first != nil {
		return first
	}
	if len(fluidMemo.order) >= fluidEntries {
		delete(fluidMemo.by, fluidMemo.order[0])
		fluidMemo.order = fluidMemo.order[1:]
	}
	fluidMemo.by[key], fluidMemo.order = f, append(fluidMemo.order, key)
	return f
}

// courseContent hashes everything that review puts into a course.
func courseContent(c fluid.Course, asOf time.Time) (out [sha256.Size]byte) {
	h := sha256.New()
	num := func(x float64) { count(h, math.Float64bits(x)) }
	count(h, uint64(asOf.UnixNano()))
	num(float64(c.Canister))
	num(c.UsableShare)
	num(float64(c.Area))
	count(h, uint64(len(c.Readings)))
	for _, r := range c.Readings {
		count(h, uint64(r.At.UnixNano()))
		num(float64(r.Content))
		num(float64(r.Size))
		if r.NewCanister {
			count(h, 1)
		} else {
			count(h, 0)
		}
	}
	for _, p := range c.Pauses {
		count(h, uint64(p.From.UnixNano()))
		count(h, uint64(p.To.UnixNano()))
	}
	h.Sum(out[:0])
	return out
}
