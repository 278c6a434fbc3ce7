package state

import (
	"sort"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/outline"
	"lowtide/rule/value"
	"lowtide/unit"
)

// Area returns the wound's area at a measurement: the traced one when there is one, else that of the ellipse
// over the ruler's length and width. method says which.
func Area(m casebook.WoundMeasured) (area unit.Area, method string, ok bool) {
	switch {
	case m.AreaCm2 != nil:
		return unit.Area(*m.AreaCm2), m.Method, true
	case m.LengthCm != nil && m.WidthCm != nil:
		return outline.EllipseArea(unit.Length(*m.LengthCm), unit.Length(*m.WidthCm)), "ellipse over ruler length and width", true
	}
	return 0, "", false
}

// Comparable tells whether two measurements were taken in the same way, so that their difference means
// something.
func Comparable(a, b casebook.WoundMeasured) bool {
	return a.Method == b.Method && a.Convention == b.Convention && (a.AreaCm2 != nil) == (b.AreaCm2 != nil)
}

// woundFacts sets every term of wound scope for one wound.
func woundFacts(c *casebook.Case, v value.Values, w *casebook.Wound, set Sink) {
	set("wound.name", w.Name)
	set("wound.found", w.Found != nil)
	if w.Found != nil {
		b, id := w.Found.Body, w.Found.ID
		set("wound.site", b.Site, id)
		set("wound.type", b.Type, id)
		set.setText("wound.stage", b.Stage, id)
		set.setBool("wound.limb", b.Limb, id)
		set.setBool("wound.circumferential", b.Circumferential, id)
		set.setBool("wound.poor_perfusion", b.PoorPerfusion, id)
		set.setBool("wound.infected", b.Infected, id)
	}
	under := w.Count.Total() > 0
	var by []string
	if o := c.Order(); o != nil && (len(o.Body.Wounds) == 0 || contains(o.Body.Wounds, w.Name)) {
		under, by = true, []string{o.ID}
	}
	set("wound.under_therapy", under && c.Ended == nil, by...)
	countFacts(w, func(t time.Time) string { return Clock(c.Zone, t) }, set)
	if n := len(w.Changes); n > 0 {
		last := w.Changes[n-1]
		set("wound.changed_at", last.At, last.ID)
		set.setBool("wound.contact_layer", last.Body.ContactLayer, last.ID)
		skinFacts(w, set)
		set.setText("wound.exudate", last.Body.Exudate, last.ID)
		bedFacts(w, set)
	}
	measureFacts(v.Span(value.ProgressWindow), w, set)
	grewFacts(w, set)
	underFacts(w, set)
}

// skinFacts takes the look of the skin at the newest change. When that did not note it, an older look that
// worries stays; "intact" does not, because it may no longer be true.
func skinFacts(w *casebook.Wound, set Sink) {
	for i := len(w.Changes) - 1; i >= 0; i-- {
		look := w.Changes[i].Body.Periwound
		if len(look) == 0 {
			continue
		}
		if words := strings.Join(look, ", "); i == len(w.Changes)-1 || words != "intact" {
			set("wound.periwound", words, w.Changes[i].ID)
		}
		return
	}
}

func countFacts(w *casebook.Wound, clock func(time.Time) string, set Sink) {
	last := ""
	if n := len(w.Changes); n > 0 {
		last = w.Changes[n-1].ID
	} else if w.Found != nil {
		last = w.Found.ID
	}
	if w.Count.Known {
		var kinds []string
		for f, n := range w.Count.InPlace {
			if n > 0 {
				kinds = append(kinds, f)
			}
		}
		sort.Strings(kinds)
		set("wound.pieces", float64(w.Count.Total()), last)
		// A wound without filler has none that could be the wrong one.
		set.setText("wound.filler", strings.Join(kinds, ", "), last)
	}
	put := func(name string, list []casebook.Uncounted) {
		total, by := 0, []string(nil)
		for _, u := range list {
			total += u.Count
			if !contains(by, u.Entry) {
				by = append(by, u.Entry)
			}
		}
		set("wound.count_"+name, float64(total), by...)
		if len(list) > 0 {
			set("wound.count_"+name+"_words", casebook.UncountedWords(list), by...)
			set("wound.count_"+name+"_at", list[0].At, by...)
		}
	}
	put("missing", w.Count.Missing)
	told := ""
	if n := len(w.Count.Told); n > 0 {
		told = " Told, and no word yet: " + w.Count.Told[n-1].Who + " (" + clock(w.Count.Told[n-1].At) + ")."
		set("wound.count_told", told, w.Count.Told[n-1].Entry)
	} else {
		set("wound.count_told", told)
	}
	put("surplus", w.Count.Surplus)
	set("wound.count_unsure", len(w.Count.Unsure) > 0)
	if len(w.Count.Unsure) > 0 {
		u := w.Count.Unsure[0]
		set("wound.count_unsure", true, u.Entry)
		set("wound.count_unsure_at", u.At, u.Entry)
	}
}

// measureFacts sets the newest measurement, and what it says against the newest one that is at least apart older.
func measureFacts(apart time.Duration, w *casebook.Wound, set Sink) {
	n := len(w.Measured)
	set("wound.measured_count", float64(n))
	if n == 0 {
		return
	}
	m := w.Measured[n-1]
	b := m.Body
	set("wound.measured_at", m.At, m.ID)
	area, _, hasArea := Area(b)
	if hasArea {
		set("wound.area_cm2", float64(area), m.ID)
	}
	set.setNum("wound.depth_cm", b.DepthCm, m.ID)
	if b.Tissue != nil {
		set("wound.granulation_pct", b.Tissue.GranulationPct, m.ID)
		set("wound.eschar_pct", b.Tissue.EscharPct, m.ID)
	}
	set.setBool("wound.bed_level", b.BedLevel, m.ID)
	// Look through the newest measurement that says something about it: an empty list is not an answer.
	for i := n - 1; i >= 0; i-- {
		old := w.Measured[i].Body
		if under := len(old.Undermining)+len(old.Tunnels) > 0; under || old.NoneUnder {
			set("wound.undermined", under, w.Measured[i].ID)
			break
		}
	}
	if n > 1 {
		set("wound.method_mixed", !Comparable(w.Measured[n-2].Body, b), w.Measured[n-2].ID, m.ID)
	}
	if old, ok := compared(w, apart, func(x casebook.WoundMeasured) bool { _, _, has := Area(x); return has && Comparable(x, b) }); ok && hasArea {
		before, _, _ := Area(old.Body)
		if before > 0 {
			set("wound.area_change_pct", float64(area-before)/float64(before)*100, old.ID, m.ID)
			set("wound.compared_from", old.At, old.ID)
		}
	}
	if old, ok := compared(w, apart, func(x casebook.WoundMeasured) bool { return x.DepthCm != nil }); ok && b.DepthCm != nil {
		if before := *old.Body.DepthCm; before > 0 {
			set("wound.depth_change_pct", (*b.DepthCm-before)/before*100, old.ID, m.ID)
		}
	}
}

// compared returns the newest measurement that passes and is at least apart older than the last one.
func compared(w *casebook.Wound, apart time.Duration, pass func(casebook.WoundMeasured) bool) (casebook.Dated[casebook.WoundMeasured], bool) {
	last := w.Measured[len(w.Measured)-1]
	for i := len(w.Measured) - 2; i >= 0; i-- {
		if m := w.Measured[i]; last.At.Sub(m.At) >= apart && pass(m.Body) {
			return m, true
		}
	}
	return casebook.Dated[casebook.WoundMeasured]{}, false
}
