package state

import (
	"fmt"
	"math"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/healing"
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

// bedWorries are the looks of the bed that stay until a newer look at the bed says otherwise.
var bedWorries = []string{"eschar", "friable", "pale"}

// bedFacts takes the look of the bed at the newest change that noted one. A look without a worry is true only for its own
// change.
func bedFacts(w *casebook.Wound, set Sink) {
	for i := len(w.Changes) - 1; i >= 0; i-- {
		bed := w.Changes[i].Body.Bed
		if len(bed) == 0 {
			continue
		}
		worry := false
		for _, x := range bedWorries {
			worry = worry || contains(bed, x)
		}
		if worry || i == len(w.Changes)-1 {
			set("wound.bed", strings.Join(bed, ", "), w.Changes[i].ID)
			set("wound.bed_at", w.Changes[i].At, w.Changes[i].ID)
		}
		return
	}
}

// looked tells whether a measurement says anything of undermining and tunnels.
func looked(m casebook.WoundMeasured) bool {
	return m.NoneUnder || len(m.Undermining)+len(m.Tunnels) > 0
}

// A tunnel is the same as before within clockSame hours of the clock; deeperCm is what a probe tells apart. Common
// practice, no published source.
const clockSame, deeperCm = 1.5, 1.0

// underFacts compares the newest look for undermining and tunnels with the one before it.
func underFacts(w *casebook.Wound, set Sink) {
	var looks []casebook.Dated[casebook.WoundMeasured]
	for i := len(w.Measured) - 1; i >= 0 && len(looks) < 2; i-- {
		if looked(w.Measured[i].Body) {
			looks = append(looks, w.Measured[i])
		}
	}
	if len(looks) < 2 {
		return
	}
	now, was := looks[0], looks[1]
	by := []string{was.ID, now.ID}
	newTunnels, more := []string{}, []string{}
	for _, t := range now.Body.Tunnels {
		old, ok := sameUnder(t, was.Body.Tunnels)
		switch {
		case !ok:
			newTunnels = append(newTunnels, underWords("a tunnel", t))
		case t.DepthCm-old.DepthCm >= deeperCm:
			more = append(more, underWords("a tunnel", t)+", "+unit.Number(old.DepthCm, 1)+" cm before")
		}
	}
	for _, u := range now.Body.Undermining {
		old, ok := sameUnder(u, was.Body.Undermining)
		switch {
		case !ok:
			more = append(more, underWords("undermining", u)+", not there before")
		case u.DepthCm-old.DepthCm >= deeperCm:
			more = append(more, underWords("undermining", u)+", "+unit.Number(old.DepthCm, 1)+" cm before")
		}
	}
	set("wound.tunnel_new", strings.Join(newTunnels, "; "), by...)
	set("wound.under_more", strings.Join(more, "; "), by...)
	set("wound.under_at", now.At, by...)
}

// sameUnder finds what was at the same hour of the clock.
func sameUnder(u casebook.Under, list []casebook.Under) (casebook.Under, bool) {
	for _, x := range list {
		d := math.Abs(u.FromClock - x.FromClock)
		if min(d, 12-d) <= clockSame {
			return x, true
		}
	}
	return casebook.Under{}, false
}

func underWords(what string, u casebook.Under) string {
	return fmt.Sprintf("%s at %s o'clock, %s cm", what, unit.Number(u.FromClock, 1), unit.Number(u.DepthCm, 1))
}

func woundFigures(s *State, add func(Figure)) {
	for i := range s.Counted.Wounds {
		sizeFigures(&s.Counted.Wounds[i], figured(add))
	}
}

func sizeFigures(w *casebook.Wound, add func(Figure)) {
	if w.Count.Known {
		add(Figure{ID: "wound.pieces", Name: "Filler in the wound", Wound: w.Name, Value: float64(w.Count.Total()), Unit: "pieces", Text: w.Count.Words(),
			Method: "pieces put in at the last change", Source: "counting"})
	}
	n := len(w.Measured)
	if n == 0 {
		return
	}
	m := w.Measured[n-1]
	at := m.At
	area, how, ok := Area(m.Body)
	if ok {
		src := "geometry: π/4 × length × width"
		if m.Body.AreaCm2 != nil {
			src = "measured by " + m.Body.Method
		}
		add(Figure{ID: "wound.area", Name: "Area", Wound: w.Name, Value: float64(area), Unit: "cm²", Text: area.String(), Method: how, Source: src, At: &at, Entries: []string{m.ID}})
	}
	if m.Body.LengthCm != nil && m.Body.WidthCm != nil {
		l, wd := unit.Length(*m.Body.LengthCm), unit.Length(*m.Body.WidthCm)
		p := unit.EllipsePerimeter(l, wd)
		add(Figure{ID: "wound.perimeter", Name: "Perimeter", Wound: w.Name, Value: float64(p), Unit: "cm", Text: p.String(),
			Method: "ellipse over ruler length and width", Source: "Ramanujan 1914, second approximation", At: &at, Entries: []string{m.ID}})
		add(Figure{ID: "wound.rectangle", Name: "Length × width", Wound: w.Name, Value: float64(l) * float64(wd), Unit: "cm²",
			Method: "product of ruler length and width; over-reads the area of an ellipse by 27 %", Source: "geometry: 4/π", At: &at, Entries: []string{m.ID}})
	}
	if m.Body.DepthCm != nil {
		add(Figure{ID: "wound.depth", Name: "Depth", Wound: w.Name, Value: *m.Body.DepthCm, Unit: "cm", Text: unit.Length(*m.Body.DepthCm).String(),
			Method: "measured straight down at the deepest point", Source: "measurement", At: &at, Entries: []string{m.ID}})
	}
	for _, first := range w.Measured[:n-1] {
		a0, _, has := Area(first.Body)
		if !ok || !has || !Comparable(first.Body, m.Body) {
			continue
		}
		if share, defined := healing.Reduction(float64(a0), float64(area)); defined {
			add(Figure{ID: "wound.reduction", Name: "Area reduction since the first measurement of the same kind", Wound: w.Name, Value: share * 100, Unit: "%",
				Text:   unit.Fall(share),
				Method: fmt.Sprintf("(first − last) / first = (%s − %s) / %s", a0, area, a0), Source: "definition of percent area reduction", At: &at, Entries: []string{first.ID, m.ID}})
		}
		break
	}
}
