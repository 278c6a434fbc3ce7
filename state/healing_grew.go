package state

import (
	"fmt"
	"math"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/healing"
	"lowtide/unit"
)

// Grown is that a wound is larger or deeper than on the day of the size before, by more than the method's error.
type Grown struct {
	// Words says what grew, from what, such as "area 35 cm² from 19 cm² (88 % more), depth 3 cm from 1.7 cm".
	Words string
	// Method says what changed in the way of measuring; empty when nothing did.
	Method string
	// Much tells that it is half as large again, or a centimetre deeper: more than a slow course explains.
	Much     bool
	From, At time.Time
	Entries  []string
}

// Growth counts when it is more than grewErrors standard errors of the difference. apart is the least time between two
// sizes that are compared. conventionSDLog is the error that another way of laying the ruler adds to the log of an area: no
// published factor joins the ways, so this is chosen wide. Much is half as large again, or muchDeeperCm deeper. All common
// practice, no published source; the errors of the readings are healing's.
const (
	grewErrors      = 2
	apart           = 12 * time.Hour
	conventionSDLog = 0.15
	muchLarger      = 1.5
	muchDeeperCm    = 1.0
)

// GrownOf compares the newest size of a wound with the newest one of an earlier day; nil when neither grew, or there is
// only one.
func GrownOf(w *casebook.Wound) *Grown {
	n := len(w.Measured)
	if n < 2 {
		return nil
	}
	now := w.Measured[n-1]
	g := &Grown{At: now.At}
	var said []string
	if old, ok := sizeBefore(w, func(m casebook.WoundMeasured) bool { _, _, ok := Area(m); return ok }); ok {
		if words, much, ok := areaGrew(old.Body, now.Body); ok {
			said, g.Much = append(said, words), much
			g.is(old)
			g.Method = wayWords(old.Body, now.Body)
		}
	}
	if old, ok := sizeBefore(w, func(m casebook.WoundMeasured) bool { return m.DepthCm != nil }); ok && now.Body.DepthCm != nil {
		a, b := *old.Body.DepthCm, *now.Body.DepthCm
		se := math.Hypot(healing.DepthSE(a), healing.DepthSE(b))
		if b-a > grewErrors*se {
			said = append(said, fmt.Sprintf("depth %s cm from %s cm", unit.Number(b, 1), unit.Number(a, 1)))
			g.Much = g.Much || b-a >= muchDeeperCm-1e-9
			g.is(old)
		}
	}
	if len(said) == 0 {
		return nil
	}
	g.Words = strings.Join(said, ", ")
	// Another way of laying the ruler is often another hand: what it makes larger is asked, and is not yet alarming.
	g.Much = g.Much && g.Method == ""
	g.Entries = entriesOf(append(g.Entries, now.ID)...)
	return g
}

func (g *Grown) is(old casebook.Dated[casebook.WoundMeasured]) {
	if g.From.IsZero() || old.At.Before(g.From) {
		g.From = old.At
	}
	g.Entries = append(g.Entries, old.ID)
}

// sizeBefore is the newest measurement that passes and is at least apart older than the last one.
func sizeBefore(w *casebook.Wound, pass func(casebook.WoundMeasured) bool) (casebook.Dated[casebook.WoundMeasured], bool) {
	last := w.Measured[len(w.Measured)-1]
	for i := len(w.Measured) - 2; i >= 0; i-- {
		if m := w.Measured[i]; last.At.Sub(m.At) >= apart && pass(m.Body) {
			return m, true
		}
	}
	return casebook.Dated[casebook.WoundMeasured]{}, false
}

// areaGrew compares two areas on the scale of a traced outline.
func areaGrew(old, now casebook.WoundMeasured) (words string, much, ok bool) {
	a, _, okA := Area(old)
	b, _, okB := Area(now)
	if !okA || !okB {
		return "", false, false
	}
	ma, mb := methodOf(old), methodOf(now)
	x, y := float64(a)/ma.Factor, float64(b)/mb.Factor
	// A closed wound has no log: an open one after it grew when it is more than the floor of a reading.
	if x < healing.AreaFloorCm2 {
		return fmt.Sprintf("area %s from %s", b, a), true, y > grewErrors*healing.AreaFloorCm2
	}
	v := ma.CV*ma.CV + mb.CV*mb.CV + math.Pow(healing.AreaFloorCm2/x, 2) + math.Pow(healing.AreaFloorCm2/max(y, healing.AreaFloorCm2), 2)
	if ma.ID != mb.ID {
		v += ma.FactorSDLog*ma.FactorSDLog + mb.FactorSDLog*mb.FactorSDLog
	} else if old.Convention != now.Convention {
		v += conventionSDLog * conventionSDLog
	}
	if !(y > x && math.Log(y/x) > grewErrors*math.Sqrt(v)) {
		return "", false, false
	}
	return fmt.Sprintf("area %s from %s (%s %% more)", b, a, unit.Number(100*(y/x-1), 0)), y >= muchLarger*x, true
}

// wayWords says how the way of measuring changed between two areas.
func wayWords(old, now casebook.WoundMeasured) string {
	switch {
	case old.Method != now.Method || (old.AreaCm2 != nil) != (now.AreaCm2 != nil):
		return fmt.Sprintf(" It was measured in another way (%s, before that %s), which is counted in.", now.Method, old.Method)
	case now.AreaCm2 == nil && old.Convention != now.Convention:
		return fmt.Sprintf(" The ruler was laid in another way (%s, before that %s): that explains a part of an area and nothing of a depth.", conventionWords(now.Convention), conventionWords(old.Convention))
	}
	return ""
}

// turnAfter is how far ahead a forecast is looked at for a wound that grew, days.
const turnAfter = 14

// turnsAtOnce tells whether the fit would have a wound that just grew get smaller at once: after dead tissue was cut away, or
// with whatever made it grow, nobody can tell that from the sizes before.
func (h *Healing) turnsAtOnce() bool {
	if h.Grown == nil {
		return false
	}
	a, ok := h.At(h.Anchor.Add(turnAfter * 24 * time.Hour))
	if !ok {
		return false
	}
	area, _ := h.newest(healing.Area)
	depth, _ := h.newest(healing.Depth)
	return a.Area != nil && area != nil && a.Area.Median < *area || a.Depth != nil && depth != nil && a.Depth.Median < *depth
}

// grewFacts sets what grew.
func grewFacts(w *casebook.Wound, set Sink) {
	if len(w.Measured) < 2 {
		return
	}
	g := GrownOf(w)
	last := w.Measured[len(w.Measured)-1]
	if g == nil {
		if _, ok := sizeBefore(w, func(casebook.WoundMeasured) bool { return true }); ok {
			set("wound.grew", false, last.ID)
			set("wound.grew_much", false, last.ID)
		}
		return
	}
	set("wound.grew", true, g.Entries...)
	set("wound.grew_much", g.Much, g.Entries...)
	set("wound.grew_words", g.Words, g.Entries...)
	set("wound.grew_method", g.Method, g.Entries...)
	set("wound.grew_from", g.From, g.Entries...)
	set("wound.grew_at", g.At, g.Entries...)
}
