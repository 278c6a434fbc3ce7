package state

import (
	"fmt"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/healing"
	"lowtide/outline"
	"lowtide/rule/value"
	"lowtide/state/memo"
	"lowtide/unit"
)

// Healing is what the sizes of one wound say at an instant.
type Healing struct {
	Wound string
	// Sizes are all measurements, oldest first, also those that the fit does not use.
	Sizes []HealingSize
	// Course is made as of Anchor: the last size, or the newest due day of a milestone after it. So it changes
	// only with an entry or at a due day, and is kept by its content.
	healing.Course
	Anchor time.Time
	// LastAt is the last size used; zero when there is none.
	LastAt time.Time
	// Goal is the goal of the order in force when it was written as a size, else nil, and GoalWords says it.
	Goal      *Goal
	NextDueAt time.Time // of a milestone that is not due yet; zero is none
	// Grown is set when the newest size is larger than that of the day before it: see [GrownOf].
	Grown *Grown
	// Mixed says in what ways sizes of different methods were joined; empty when there was one.
	Mixed string

	input  healing.Input
	values value.Values
}

// Ahead are the forecasts, made when somebody first looks at them: they are most of the work.
func (h *Healing) Ahead() *healing.Forecasts { return healingForecasts.Of(h.input) }

// HealingSize is one measurement as the fit takes it.
type HealingSize struct {
	At     time.Time
	Entry  string
	Method healing.Method
	// AreaCm2 is on the scale of a traced outline, AreaReadCm2 as it was read; nil when not measured or not used.
	AreaCm2, AreaReadCm2, AreaSECm2 *float64
	DepthCm, DepthSECm              *float64
	// VolumeCm3 was measured as a volume, VolumeMethod says how; BarePct is the share of the bed that neither granulation
	// nor epithelium covers, as judged by eye.
	VolumeCm3, VolumeSECm3, BarePct *float64
	VolumeMethod                    string
	// LeftOut says why the area is not used.
	LeftOut string

	lengthCm, widthCm, perimeterCm *float64
	// statedSE is the standard error that an outline states of itself; nil lets the engine take the method's own.
	statedSE *float64
}

// Goal is an order's goal as a size.
type Goal struct {
	Kind  string
	Words string
	// Below is the size to get under; zero for "closed".
	healing.Goal
	Order string
}

// bedLevelCm is the depth under which a bed counts as level when the order gives none. Chosen: the scatter of a
// depth measured with a probe; no published source.
const bedLevelCm = 0.3

// leastBarePct is the share of the bed up to which it counts as wholly granulated: shares are judged by eye, in steps of
// five at best. Common practice, no published source.
const leastBarePct = 5

// HealingLimits are the limits of package healing, from the shared values.
func HealingLimits(v value.Values) healing.Limits {
	return healing.Limits{FreshDays: v.In(value.SizeFresh, "d"), UsableDays: v.In(value.SizeUsable, "d"), WindowDays: v.In(value.ProgressWindow, "d"), ShortestDays: v.In(value.ProgressShortest, "d"),
		MarkerShare: v.In(value.MarkerShare, "%") / 100, MarkerDays: v.In(value.MarkerTime, "d")}
}

// window is the time over which progress was judged, in words.
func (h *Healing) window() string { return unit.Number(h.WindowDays, 0) + " days" }

// fresh tells whether the last size says at the instant whether the wound improves.
func (h *Healing) fresh(asOf time.Time) bool {
	return !asOf.After(h.LastAt.Add(h.values.Span(value.SizeFresh)))
}

// gridDays are the days after Anchor at which sizes are forecast; what lies between is joined by lines.
var gridDays = func() (out []float64) {
	for d := 0.0; d <= 126; d += 7 {
		out = append(out, d)
	}
	return out
}()

// HealingOf reads the sizes of a wound, fits them and returns what they say as of the instant. Entries after it
// must not be in the case.
func HealingOf(c *casebook.Case, w *casebook.Wound, v value.Values, asOf time.Time) *Healing {
	return healingOf(c, w, v, asOf, false, nil)
}

// Healing fits a curve to the sizes of a wound, also of one whose therapy has ended; nil when there is no such wound.
func (s *State) Healing(wound string) *Healing { return s.healing(wound, false, nil) }

// Course is Healing with the fitted curve through the past, for a chart.
func (s *State) Course(wound string) *Healing { return s.healing(wound, true, nil) }

// HealingByRates is Healing with other rates believed before the first size, such as those of an agency's own cases.
func (s *State) HealingByRates(wound string, rates *Rates) *Healing {
	return s.healing(wound, false, rates)
}

func (s *State) healing(wound string, past bool, rates *Rates) *Healing {
	w := s.Case.Wound(wound)
	if w == nil {
		return nil
	}
	return healingOf(s.Case, w, s.Values, s.AsOf, past, rates)
}

func healingOf(c *casebook.Case, w *casebook.Wound, v value.Values, asOf time.Time, past bool, rates *Rates) *Healing {
	h := &Healing{Wound: w.Name, Sizes: healingSizes(w, c.Zone), values: v}
	in := healing.Input{WoundType: woundType(w), Limits: HealingLimits(v), AheadDays: gridDays, Past: past, Prior: rates}
	for _, z := range h.Sizes {
		if !z.sized() && z.BarePct == nil {
			continue
		}
		in.Sizes = append(in.Sizes, healing.Size{At: z.At, AreaCm2: z.AreaReadCm2, SECm2: z.statedSE, Method: z.Method.ID, LengthCm: z.lengthCm, WidthCm: z.widthCm, PerimeterCm: z.perimeterCm,
			DepthCm: z.DepthCm, VolumeCm3: z.VolumeCm3, BarePct: z.BarePct})
		if z.sized() {
			h.LastAt = z.At
		}
	}
	h.Goal = goalOf(c, w)
	if h.Goal != nil && h.Goal.Below > 0 {
		in.Goals = []healing.Goal{h.Goal.Goal}
	}
	h.Anchor, h.NextDueAt = anchor(h, in, asOf)
	in.AsOf = h.Anchor
	h.input = in
	h.Course = healingCourses.Of(in)
	h.Mixed = mixed(h.Sizes)
	h.Grown = GrownOf(w)
	for i := range h.Sizes {
		if z := &h.Sizes[i]; z.AreaReadCm2 != nil {
			v := *z.AreaReadCm2 / z.Method.Factor
			z.AreaCm2 = &v
		}
	}
	return h
}

func woundType(w *casebook.Wound) string {
	if w.Found == nil {
		return ""
	}
	return w.Found.Body.Type
}

// healingSizes brings measurements into the form that healing takes. Areas by ruler in another convention than the
// newest one by ruler are left out: no published factor joins conventions.
func healingSizes(w *casebook.Wound, zone *time.Location) []HealingSize {
	convention, ruled := "", false
	for _, m := range w.Measured {
		if _, _, ok := Area(m.Body); ok && m.Body.AreaCm2 == nil {
			convention, ruled = m.Body.Convention, true
		}
	}
	var out []HealingSize
	for _, m := range w.Measured {
		z := HealingSize{At: m.At.In(zone), Entry: m.ID, Method: methodOf(m.Body)}
		if a, _, ok := Area(m.Body); ok {
			v := float64(a)
			if ruled && m.Body.AreaCm2 == nil && m.Body.Convention != convention {
				z.LeftOut = fmt.Sprintf("the area was taken as %s, the newest as %s, and no published factor joins them", conventionWords(m.Body.Convention), conventionWords(convention))
			} else {
				se := z.Method.SE(v)
				z.AreaReadCm2, z.AreaSECm2 = &v, &se
				z.lengthCm, z.widthCm, z.perimeterCm = m.Body.LengthCm, m.Body.WidthCm, m.Body.PerimeterCm
				if o := w.Outline(m.ID); o != nil {
					stated := outlineSE(w, o)
					z.Method, z.statedSE, z.AreaSECm2 = outlineMethod(o.Body.Scale), &stated, &stated
				}
			}
		}
		if v := m.Body.VolumeCm3; v != nil {
			se := healing.VolumeSE(*v)
			z.VolumeCm3, z.VolumeSECm3, z.VolumeMethod = v, &se, m.Body.VolumeMethod
		}
		if t := m.Body.Tissue; t != nil {
			bare := max(0, 100-t.GranulationPct-t.EpitheliumPct)
			z.BarePct = &bare
		}
		if d := m.Body.DepthCm; d != nil {
			se := healing.DepthSE(*d)
			z.DepthCm, z.DepthSECm = d, &se
		}
		out = append(out, z)
	}
	return out
}

// outlineSE is the standard error of an outline's area in cm², further parts added.
func outlineSE(w *casebook.Wound, o *casebook.Outline) float64 {
	if len(o.Added) == 0 {
		return o.Body.AreaSECm2
	}
	var list []outline.Summand
	for _, part := range w.Parts(o) {
		x := outline.Summand{AreaCm2: part.Body.AreaCm2, Photo: part.Photo}
		for _, e := range part.Body.Errors {
			x.Parts = append(x.Parts, outline.Part{Name: e.Name, SE: e.SECm2})
		}
		if len(x.Parts) == 0 { // an outline of another program may state the whole only
			x.Parts = []outline.Part{{Name: "not told what of", SE: part.Body.AreaSECm2}}
		}
		list = append(list, x)
	}
	return outline.Add(list).SE
}

// sized tells whether a size was taken that is used.
func (z *HealingSize) sized() bool {
	return z.AreaReadCm2 != nil || z.DepthCm != nil || z.VolumeCm3 != nil
}

func conventionWords(s string) string {
	if s == "" {
		return "not stated"
	}
	return "“" + s + "”"
}

// methodOf is the way an area was taken, by healing's names.
func methodOf(m casebook.WoundMeasured) healing.Method {
	name := "unknown"
	switch {
	case m.AreaCm2 == nil:
		name = "ellipse"
	case m.Method == "tracing":
		name = "outline"
	case m.Method == "outline":
		name = "photo"
	}
	out, _ := healing.MethodOf(name)
	return out
}

// outlineMethod is the method of an outline on a photo. With strips its stated error holds scale and tilt, so it is on the
// scale of a traced outline; one line of a ruler cannot see the tilt, and that error is the same in every such photo.
func outlineMethod(s casebook.TracedScale) healing.Method {
	name := "outline"
	if s.By == "ruler" {
		name = "photo"
	}
	m, _ := healing.MethodOf(name)
	return m
}

// mixed says that sizes of several methods were joined and how.
func mixed(sizes []HealingSize) string {
	var parts []string
	seen := map[string]bool{}
	for _, z := range sizes {
		if z.AreaReadCm2 == nil || seen[z.Method.ID] {
			continue
		}
		seen[z.Method.ID] = true
		parts = append(parts, fmt.Sprintf("%s divided by %.2f (%s)", z.Method.Name, z.Method.Factor, z.Method.Source))
	}
	if len(parts) < 2 {
		return ""
	}
	return "Areas were taken by different methods and brought to the scale of a traced outline: " + strings.Join(parts, "; ") + ". The uncertainty of these factors is in every interval."
}

// goalOf reads the goal of the order in force.
func goalOf(c *casebook.Case, w *casebook.Wound) *Goal {
	o := c.Order()
	if o == nil || len(o.Body.Wounds) > 0 && !contains(o.Body.Wounds, w.Name) {
		return nil
	}
	g := &Goal{Kind: o.Body.GoalKind, Order: o.ID}
	depth := bedLevelCm
	if o.Body.GoalDepthCm != nil {
		depth = *o.Body.GoalDepthCm
	}
	switch {
	case g.Kind == "bed level":
		g.Goal = healing.Goal{ID: "bed level", Measure: healing.Depth, Below: depth}
		g.Words = "bed level, read as a depth of at most " + number(depth) + " cm"
	case g.Kind == "level and granulated":
		share := 100.0
		if o.Body.GoalGranulationPct != nil {
			share = *o.Body.GoalGranulationPct
		}
		bare := max(100-share, leastBarePct)
		g.Goal = healing.Goal{ID: "ready", Measure: healing.Depth, Below: depth, And: []healing.Goal{{ID: "granulated", Measure: healing.Bare, Below: bare}}}
		g.Words = "bed level and granulated, read as a depth of at most " + number(depth) + " cm and at most " + number(bare) + " % of the bed without granulation or new skin"
	case g.Kind == "depth under" && o.Body.GoalDepthCm != nil:
		g.Goal = healing.Goal{ID: "depth", Measure: healing.Depth, Below: depth}
		g.Words = "a depth under " + number(depth) + " cm"
	case g.Kind == "area under" && o.Body.GoalAreaCm2 != nil:
		g.Goal = healing.Goal{ID: "area", Measure: healing.Area, Below: *o.Body.GoalAreaCm2}
		g.Words = "an area under " + number(*o.Body.GoalAreaCm2) + " cm² on the scale of a traced outline"
	case g.Kind == "closed":
		g.Goal = healing.Goal{ID: "closed", Measure: healing.Area}
		g.Words = "closed"
	default:
		return nil
	}
	return g
}

func number(v float64) string {
	return unit.Number(v, 1)
}

// anchor is the instant of the assessment: the last size, or the newest due day of a milestone that has come since.
func anchor(h *Healing, in healing.Input, asOf time.Time) (at, next time.Time) {
	at = h.LastAt
	if at.IsZero() {
		return asOf, next
	}
	var first time.Time
	for _, z := range h.Sizes {
		if z.AreaReadCm2 != nil {
			first = z.At
			break
		}
	}
	if first.IsZero() {
		return at, next
	}
	for _, m := range healing.MilestonesFor(in.WoundType, in.Limits) {
		// A day counts as due once it is over; the moment after its start says so to healing.
		due := first.AddDate(0, 0, int(m.DueDays)).Add(time.Second)
		if due.After(asOf) {
			Earliest(&next, due)
		} else if due.After(at) {
			at = due
		}
	}
	return at, next
}

// Told tells whether the sizes are fresh enough at the instant to say whether the wound improves.
func (h *Healing) Told(asOf time.Time) bool {
	return h.Status != healing.Closed && h.NotImproving != nil && h.fresh(asOf)
}

// GoalMet tells whether the newest size of each of the goal's measures meets it; known is false when one is missing and
// none says no. entries are those that it rests on.
func (h *Healing) GoalMet() (met, known bool, entries []string) {
	if h.Goal == nil {
		return false, false, nil
	}
	met, known = true, true
	for _, part := range append([]healing.Goal{h.Goal.Goal}, h.Goal.And...) {
		v, entry := h.newest(part.Measure)
		switch {
		case v == nil:
			known = false
		case *v > part.Below:
			return false, true, []string{entry}
		default:
			entries = append(entries, entry)
		}
	}
	return met && known, known, entries
}

// newest is the newest value of a measure with its entry; nil when it was never taken.
func (h *Healing) newest(m healing.Measure) (*float64, string) {
	for i := len(h.Sizes) - 1; i >= 0; i-- {
		z := &h.Sizes[i]
		for _, x := range []struct {
			m healing.Measure
			v *float64
		}{{healing.Area, z.AreaCm2}, {healing.Depth, z.DepthCm}, {healing.Volume, z.VolumeCm3}, {healing.Bare, z.BarePct}} {
			if x.m == m && x.v != nil {
				return x.v, z.Entry
			}
		}
	}
	return nil, ""
}

// memoEntries bounds how many courses and forecasts of wounds are kept: about 8 kB each.
const memoEntries = 2048

var (
	healingCourses   = memo.New(memoEntries, healing.CourseOf)
	healingForecasts = memo.New(memoEntries, func(in healing.Input) *healing.Forecasts { f := healing.ForecastsOf(in); return &f })
	healingGoals     = memo.New(memoEntries, func(in healing.Input) *healing.Arrival { a := healing.GoalOf(in); return &a })
)

// EndedSizes are the sizes of each wound of a case whose therapy ended, as healing takes them; nil while it goes on.
func EndedSizes(c *casebook.Case) []healing.ClosedCase {
	if c == nil || c.Ended == nil {
		return nil
	}
	var out []healing.ClosedCase
	for i := range c.Wounds {
		w := &c.Wounds[i]
		one := healing.ClosedCase{WoundType: woundType(w)}
		for _, z := range healingSizes(w, c.Zone) {
			if z.AreaReadCm2 != nil {
				one.Sizes = append(one.Sizes, healing.Size{At: z.At, AreaCm2: z.AreaReadCm2, Method: z.Method.ID})
			}
		}
		if len(one.Sizes) > 1 {
			out = append(out, one)
		}
	}
	return out
}

// healings reads every wound of the case, in its order. A case whose therapy ended has no finding that rests on a fit,
// so none is made there; its wounds' own pages make theirs.
func healings(c *casebook.Case, v value.Values, asOf time.Time) []*Healing {
	out := make([]*Healing, len(c.Wounds))
	for i := range c.Wounds {
		out[i] = &Healing{Wound: c.Wounds[i].Name, values: v}
		if c.Ended == nil {
			out[i] = HealingOf(c, &c.Wounds[i], v, asOf)
		}
	}
	return out
}

// changes are the instants after asOf at which what healing says can change without an entry.
func (h *Healing) changes(asOf time.Time) []time.Time {
	var out []time.Time
	for _, t := range []time.Time{h.NextDueAt, h.LastAt.Add(h.values.Span(value.SizeFresh) + time.Nanosecond)} {
		if t.After(asOf) {
			out = append(out, t)
		}
	}
	return out
}

func addDays(t time.Time, days float64) time.Time {
	return t.Add(time.Duration(days * 24 * float64(time.Hour))).Round(time.Minute)
}
