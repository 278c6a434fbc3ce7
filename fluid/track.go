package fluid

import (
	"fmt"
	"math"
	"time"
)

// historyReadings is how many of the latest readings are used: older ones say next to nothing about the output
// now, and the bound keeps an update under a millisecond however long the course.
const historyReadings = 45

// Track is what is believed about a course after its readings. It is made by [Fit] and never changes.
type Track struct {
	course   Course
	clock    therapyClock
	asOf     time.Time
	laws     []law
	readings []Reading // those used, in order
	tales    []tale
	errVar   float64
	// grown counts the intervals whose collected fluid could be used.
	grown int
	// seen is the latest time at which the canister's content was read; zero when never.
	seen time.Time
	// highest is the greatest content read in the canister in place.
	highest float64
	// spans are the intervals that were used; lnEvidence is the log probability of what was read in them.
	spans      []span
	lnEvidence float64
	// leaps, when not nil, says in which spans a sudden change is taken to have happened, and that there is none
	// elsewhere; nil weighs one in every span.
	leaps map[int]bool
	// leapVar is the variance of a sudden change's log size.
	leapVar float64
	asks    []Question
	later   int
	bad     int
	// parts are the strands after the last reading.
	parts []strand
}

// span is one interval between two readings of one canister.
type span struct {
	from, to time.Time
	days, ml float64
}

// Question is something that the readings cannot settle and a person can.
type Question struct {
	At   time.Time `json:"at"`
	Text string    `json:"text"`
	// Open says that the forecast still depends on the answer.
	Open bool `json:"open"`
}

// tale is one reading of what happened: where a reading fell without a recorded change, several are kept.
type tale struct {
	beliefs bank
	// before holds the beliefs as they were at the reading before the latest one, and span the days between them,
	// so that the latest reading can be taken back. before is nil when there is nothing to take back.
	before bank
	span   float64
}

// Fit reads a course up to asOf. It always returns a usable track: with no readings it holds what the wound's
// area and published outputs say, wide. Cost grows with the readings used, at most historyReadings.
func Fit(c Course, asOf time.Time) Track {
	return lay(c, asOf, historyReadings, leapVar).fold(laws, nil)
}

// lay makes a track that has its readings and their error, and believes nothing yet.
func lay(c Course, asOf time.Time, history int, leapVar float64) Track {
	t := Track{course: c, asOf: asOf, clock: c.clock(asOf), leapVar: leapVar}
	t.readings, t.later, t.bad = c.ordered(asOf)
	if n := len(t.readings); n > history {
		t.readings = t.readings[n-history:]
	}
	t.errVar = t.readingVar()
	return t
}

// fold reads all readings of a laid track under some laws. leaps is as in [Track].
func (t Track) fold(under []law, leaps map[int]bool) Track {
	t = t.start(under, leaps)
	for i, r := range t.readings {
		t.take(i, r)
	}
	t.parts = t.strands()
	for i := range t.asks {
		t.asks[i].Open = t.asks[i].Open && float64(t.readings[len(t.readings)-1].Content) < t.highest
	}
	return t
}

// start is a laid track that believes what its laws say before any reading.
func (t Track) start(under []law, leaps map[int]bool) Track {
	t.laws, t.leaps = under, leaps
	t.tales = []tale{{beliefs: prior(t.course, under)}}
	t.spans = make([]span, 0, len(t.readings))
	return t
}

// clone is a track that shares nothing with t that taking a reading changes.
func (t Track) clone() Track {
	tales := make([]tale, len(t.tales))
	for k, a := range t.tales {
		tales[k] = tale{beliefs: append(bank(nil), a.beliefs...), before: append(bank(nil), a.before...), span: a.span}
		if a.before == nil {
			tales[k].before = nil
		}
	}
	t.tales = tales
	t.spans, t.asks = t.spans[:len(t.spans):len(t.spans)], t.asks[:len(t.asks):len(t.asks)]
	return t
}

// soundedReadings is how many of the latest readings say how carefully the canister is read.
const soundedReadings = 16

// readingVar is the variance of a reading's error in mL² (eq. 1): rounding to the step that the readings show, and the
// eye, whose careful and careless grade are weighed by what the readings say under two plain laws.
func (t Track) readingVar() float64 {
	rounding := roundingVar(t.readings)
	var lw [len(eyes)]float64
	top := math.Inf(-1)
	for k, e := range eyes {
		sounded := t
		sounded.errVar = rounding + e.value*e.value
		if n := len(t.readings); n > soundedReadings {
			sounded.readings = t.readings[n-soundedReadings:]
		}
		lw[k] = math.Log(e.weight) + sounded.fold(soundingLaws, nil).lnEvidence
		top = math.Max(top, lw[k])
	}
	sum, mean := 0.0, 0.0
	for k, e := range eyes {
		w := math.Exp(lw[k] - top)
		sum += w
		mean += w * e.value * e.value
	}
	return rounding + mean/sum
}

// prior is what is believed before any reading (eq. 10).
func prior(c Course, laws []law) bank {
	ln, sd := priorLevel(c.Area)
	b := make(bank, len(laws))
	for i, l := range laws {
		b[i] = belief{lnW: math.Log(l.prior), x: ln, varX: sd * sd}
	}
	return b
}

// take folds reading i into the track.
func (t *Track) take(i int, r Reading) {
	ml := float64(r.Content)
	if t.seen.IsZero() {
		t.place(ml, t.placedVar(r), 0)
		t.seen = r.At
		return
	}
	prev := t.readings[i-1]
	d := t.clock.days(t.seen, r.At)
	switch {
	case r.NewCanister:
		if ml > 0 && prev.NewCanister && prev.At.Equal(r.At) && prev.Content == r.Content {
			return // the same entry twice
		}
		t.place(ml, t.placedVar(r), d)
		t.settle()
	case r.Spilled && r.SpilledVolume == 0:
		t.place(ml, t.errVar, d)
		t.ask(r.At, fmt.Sprintf("an unknown amount was spilled before the reading of %.0f mL: about how much?", ml), false)
	default:
		if v := float64(r.SpilledVolume); v > 0 {
			t.spill(v)
		}
		fell := float64(prev.Content) - float64(r.SpilledVolume) - ml
		if d < shortestD && fell == 0 {
			return // the same reading twice
		}
		if fell > 0 {
			t.askFall(prev, r)
		}
		if fell > 2*math.Sqrt(2*t.errVar) {
			t.fork(d, r)
		} else {
			t.grow(d, r)
			t.spans = append(t.spans, span{t.seen, r.At, d, ml - float64(prev.Content) + float64(r.SpilledVolume)})
		}
	}
	t.seen = r.At
	if ml > t.highest {
		t.highest = ml
	}
}

// placedVar is the variance of what a reading says of a canister just put in: an empty one is known to be empty.
func (t *Track) placedVar(r Reading) float64 {
	if r.NewCanister && r.Content == 0 {
		return 1
	}
	return t.errVar
}

// place starts a canister that holds ml after d days without a usable reading.
func (t *Track) place(ml, errVar, d float64) {
	for k := range t.tales {
		for j := range t.tales[k].beliefs {
			b := &t.tales[k].beliefs[j]
			*b = b.wait(t.laws[j], d).place(ml, errVar)
		}
		t.tales[k].before = nil
	}
	t.highest = ml
}

// settle ends the doubt of earlier falls: a recorded new canister makes them history.
func (t *Track) settle() {
	for i := range t.asks {
		t.asks[i].Open = false
	}
}

// spill takes ml out of the canister; the amount is known to a quarter.
func (t *Track) spill(ml float64) {
	for k := range t.tales {
		for j := range t.tales[k].beliefs {
			b := &t.tales[k].beliefs[j]
			b.v -= ml
			b.varV += ml * ml / 16
		}
		t.tales[k].before = nil
	}
	t.highest = math.Max(0, t.highest-ml)
}

// grow folds an ordinary reading in.
func (t *Track) grow(d float64, r Reading) {
	for k := range t.tales {
		old := t.tales[k].beliefs
		// What was before the reading before is wanted no more; its memory takes the new beliefs.
		t.tales[k] = tale{beliefs: old.read(t.tales[k].before, t.laws, newGap(d, t.leapVar), t.look(r), t.leap()), before: old, span: d}
		if t.leaps == nil { // where changes are dated one law holds for the whole course
			t.tales[k].beliefs.renew(t.laws, -math.Expm1(-renewPerD*d))
		}
	}
	if d >= shortestD {
		t.grown++
	}
	t.prune()
}

// brim is the share of a canister's size from which it may have overflowed into its filter or stopped the pump: more
// than was read may have come.
const brim = 0.98

func (t *Track) look(r Reading) look {
	size, ml := t.course.Canister, float64(r.Content)
	if r.Size > 0 {
		size = r.Size
	}
	return look{ml: ml, errVar: t.errVar, brimming: size > 0 && ml >= brim*float64(size)}
}

// leap says how the span about to be read treats a sudden change.
func (t *Track) leap() leapMode {
	switch {
	case t.leaps == nil:
		return leapWeighed
	case t.leaps[len(t.spans)]:
		return leapCertain
	}
	return leapNever
}

// lnForgotten is the log weight under which a law is dropped for the rest of the course.
const lnForgotten = -7.5

// read lets every law take a reading, into the memory of out if there is any.
func (b bank) read(out bank, laws []law, g gap, y look, leap leapMode) bank {
	if len(out) != len(b) {
		out = make(bank, len(b))
	}
	for j := range b {
		if out[j] = b[j]; b[j].lnW > lnForgotten {
			out[j] = b[j].read(laws[j], g, y, leap)
		} else {
			out[j].lnW = math.Inf(-1)
		}
	}
	return out
}

// renew gives a share of the belief in all laws back to what was believed before any reading (eq. 9a): an output that
// moved by one law may move by another from now on.
func (b bank) renew(laws []law, share float64) {
	top := math.Inf(-1)
	for _, x := range b {
		top = max(top, x.lnW)
	}
	sum, prior := 0.0, 0.0
	for j, x := range b {
		if !math.IsInf(x.lnW, -1) {
			sum += math.Exp(x.lnW - top)
			prior += laws[j].prior
		}
	}
	for j := range b {
		if x := &b[j]; !math.IsInf(x.lnW, -1) {
			x.lnW = top + math.Log((1-share)*math.Exp(x.lnW-top)+share*sum*laws[j].prior/prior)
		}
	}
}

// prune keeps the most believed tales and makes the weights of all beliefs sum to one.
func (t *Track) prune() {
	top := math.Inf(-1)
	for _, a := range t.tales {
		for _, b := range a.beliefs {
			top = math.Max(top, b.lnW)
		}
	}
	var few [4 * mostTales]float64
	mass := few[:0]
	for range t.tales {
		mass = append(mass, 0)
	}
	sum := 0.0
	for k, a := range t.tales {
		for _, b := range a.beliefs {
			if b.lnW >= top-30 { // equal where both are so great that 30 is lost
				mass[k] += math.Exp(b.lnW - top)
			}
		}
		sum += mass[k]
	}
	shift := top + math.Log(sum)
	t.lnEvidence += shift
	for k := range t.tales {
		for j := range t.tales[k].beliefs {
			t.tales[k].beliefs[j].lnW -= shift
		}
		for j := range t.tales[k].before {
			t.tales[k].before[j].lnW -= shift
		}
	}
	for len(t.tales) > 1 {
		low := 0
		for k := range mass {
			if mass[k] < mass[low] {
				low = k
			}
		}
		if len(t.tales) <= mostTales && mass[low] > 1e-4*sum {
			return
		}
		t.tales = append(t.tales[:low:low], t.tales[low+1:]...)
		mass = append(mass[:low:low], mass[low+1:]...)
	}
}
