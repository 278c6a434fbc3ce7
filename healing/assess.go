package healing

import (
	"fmt"
	"maps"
	"math"
	"sort"
	"strconv"
	"strings"
	"time"
)

// Input is one wound's sizes with the questions asked about it.
type Input struct {
	WoundType string
	// AsOf is the day of the review; zero takes the last size. Sizes after it are left out.
	AsOf  time.Time
	Sizes []Size
	// AheadDays are days from AsOf at which the size is wanted; empty takes 7, 14 and 28. Up to 364 are forecast;
	// negative ones are answered from the fitted curve, as far back as there are sizes.
	AheadDays []float64
	Goals     []Goal
	// Prior replaces the published prior of area; nil keeps it.
	Prior *Prior
	// Cohort are the agency's own ended cases. With enough of the same wound type they give the reference curve and,
	// when Prior is nil, the prior.
	Cohort []ClosedCase
	// Past asks for the fitted curve through the sizes.
	Past bool
}

// Goal is a size that the therapy is to reach.
type Goal struct {
	ID      string  `json:"id"`
	Measure Measure `json:"measure"`
	// Below is the value to get under, cm², cm, cm³ or percent.
	Below float64 `json:"below"`
	// And are further sizes that have to be reached too, such as a granulated bed.
	And []Goal `json:"and,omitempty"`
}

// Status says how an assessment ended.
type Status string

// Statuses of an assessment.
const (
	OK        Status = "ok"
	Closed    Status = "closed"
	NoSizes   Status = "no sizes"
	OneSize   Status = "too few sizes"
	OldSizes  Status = "sizes too old"
	OnlyDepth Status = "no areas"
)

// Assessment is everything the package says about a wound.
type Assessment struct {
	Status   Status    `json:"status"`
	Sentence string    `json:"sentence"`
	AsOf     time.Time `json:"as_of,omitzero"`
	// Scale is the scale of all areas.
	Scale   string  `json:"scale"`
	Figures Figures `json:"figures"`
	Now     Ahead   `json:"now"`
	Ahead   []Ahead `json:"ahead"`
	// Past is the fitted curve at the days of the sizes and between them, when it was asked for; days are negative.
	Past    []Ahead   `json:"past,omitempty"`
	Closure Closure   `json:"closure"`
	Goals   []Arrival `json:"goals"`
	// NotImproving is the chance that no measure improved over the two weeks up to the last size; nil when it cannot be told.
	NotImproving *float64          `json:"chance_not_improving"`
	Growing      *float64          `json:"chance_growing"`
	WindowDays   float64           `json:"window_days"`
	Progress     []MeasureProgress `json:"progress"`
	Milestones   []MilestoneResult `json:"milestones"`
	Odd          []Odd             `json:"odd_measurements"`
	LeftOut      []LeftOut         `json:"left_out"`
	Families     []FamilyWeight    `json:"families"`
	Prior        string            `json:"prior"`
	// Cohort is the agency's own reference; nil when no ended cases were given.
	Cohort *Cohort  `json:"cohort"`
	Notes  []string `json:"notes"`
}

// Ahead is the forecast of the sizes on one day; a measure without enough sizes is nil.
type Ahead struct {
	Days   float64   `json:"days"`
	Date   time.Time `json:"date,omitzero"`
	Area   *Band     `json:"area_cm2"`
	Depth  *Band     `json:"depth_cm,omitempty"`
	Volume *Band     `json:"volume_cm3,omitempty"`
	// Bare is the share of the bed that is not granulated, percent.
	Bare *Band `json:"bare_pct,omitempty"`
	// Closed is the chance that the wound is closed.
	Closed *float64 `json:"chance_closed"`
}

// Arrival is when a size is reached, in days from the day of the review.
type Arrival struct {
	Goal
	// Chance of getting there within HorizonDays.
	Chance *float64 `json:"chance"`
	// ChanceByDays is the chance by each day.
	ChanceByDays map[string]float64 `json:"chance_by_days"`
	// MedianDays, P10Days and P90Days hold if it gets there within HorizonDays; nil when that is unlikely.
	MedianDays  *float64 `json:"median_days"`
	P10Days     *float64 `json:"p10_days"`
	P90Days     *float64 `json:"p90_days"`
	HorizonDays float64  `json:"horizon_days"`
	Basis       string   `json:"basis"`
}

// Closure is the arrival at closed.
type Closure = Arrival

// Odd is a measurement that does not fit the others.
type Odd struct {
	At time.Time `json:"at"`
	// Index is the place of the size in the list that was given, from 0.
	Index   int     `json:"index"`
	Measure Measure `json:"measure"`
	Value   float64 `json:"value"`
	// Chance that it is wild.
	Chance float64 `json:"chance"`
	// Expected is what the neighbours say.
	Expected *float64 `json:"expected"`
	Why      string   `json:"why"`
}

const (
	// staleDays is how old the last size may be for a word on progress
	staleDays = 21.0
	// shortWindowDays is the shortest window over which progress is judged
	shortWindowDays = 5.0
	// leastChance of closure for which a date is given at all
	leastChance = 0.10
	// a forecast needs the last size to be no older than this
	tooOldDays = 90.0
)

// Assess computes everything from a series of sizes. It never fails: what cannot be told is nil, with a sentence.
// The input is not modified; the order of sizes does not matter.
func Assess(in Input) Assessment {
	s := clean(in.Sizes, in.AsOf)
	a := Assessment{AsOf: in.AsOf, Scale: "traced outline", LeftOut: s.leftOut, Odd: s.odd, Notes: s.notes,
		Prior: PublishedPrior(Area).Source, Closure: noArrival("there are too few sizes for a date")}
	if len(s.sizes) > 0 && a.AsOf.IsZero() {
		a.AsOf = s.sizes[len(s.sizes)-1].At
	}
	prior := in.Prior
	if len(in.Cohort) > 0 {
		c := CohortCurve(in.WoundType, in.Cohort)
		a.Cohort = &c
		if pr, ok := FitCohort(in.WoundType, in.Cohort); ok && prior == nil {
			prior = &pr
		}
	}
	fits := fitAll(s, prior, &a)
	a.Odd = append(a.Odd, oddOnes(s, fits)...)
	sort.SliceStable(a.Odd, func(i, j int) bool { return a.Odd[i].At.Before(a.Odd[j].At) })
	a.Figures = figures(s)
	area := fits[Area]
	a.setStatus(s, fits)
	switch {
	case a.Status == Closed:
		a.setClosed(s, in)
	case len(fits) > 0 && a.Status != OldSizes:
		a.setForecasts(fits, s.bareFit(), in)
		a.setProgress(fits)
	}
	if in.Past && len(fits) > 0 {
		a.setPast(s, fits)
	}
	if _, known := WoundType(in.WoundType); !known && in.WoundType != "" {
		a.Notes = append(a.Notes, fmt.Sprintf("No marker was published for the wound type %q here; those for any wound are shown.", in.WoundType))
	}
	if len(s.with(Area)) > 0 {
		for _, m := range MilestonesFor(in.WoundType) {
			f := area
			if a.Status == OldSizes {
				f = nil
			}
			a.Milestones = append(a.Milestones, judge(m, s.with(Area), f, a.AsOf, s.closed))
		}
	}
	a.order(fits, in)
	a.fill()
	return a
}

// fitAll fits each measure that has sizes at two times or more.
func fitAll(s *series, prior *Prior, a *Assessment) map[Measure]*Fit {
	fits := map[Measure]*Fit{}
	if s.closed != nil {
		return fits
	}
	for _, m := range Measures {
		r, times, biasSD := s.readings(m)
		if len(times) < 2 {
			continue
		}
		pr := PublishedPrior(m)
		if m == Area && prior != nil && prior.sound() {
			pr, a.Prior = *prior, prior.Source
		}
		f := fitReadings(m, r, pr, biasSD)
		f.First, f.Last = times[0], times[len(times)-1]
		fits[m] = f
	}
	if f := fits[Area]; f != nil {
		a.Families = f.FamilyWeight
	}
	return fits
}

// oddOnes names readings that are more likely wild than not.
func oddOnes(s *series, fits map[Measure]*Fit) []Odd {
	var out []Odd
	for _, m := range Measures {
		f := fits[m]
		if f == nil {
			continue
		}
		for i, z := range s.sizes {
			if p := f.WildChance[i]; p > 0.5 {
				out = append(out, Odd{At: z.At, Index: z.place, Measure: m, Value: *m.of(z), Chance: math.Min(1, p), Expected: between(s, m, i, f),
					Why: "it does not lie on the course of the other sizes; look whether it was written or measured wrongly"})
			}
		}
	}
	return out
}

// between is the value that the nearest believed neighbours give for size i.
func between(s *series, m Measure, i int, f *Fit) *float64 {
	find := func(dir int) int {
		for j := i + dir; j >= 0 && j < len(s.sizes); j += dir {
			if v := m.of(s.sizes[j]); v != nil && *v > 0 && f.WildChance[j] <= 0.5 {
				return j
			}
		}
		return -1
	}
	p, n := find(-1), find(1)
	switch {
	case p < 0 && n < 0:
		return nil
	case p < 0:
		return m.of(s.sizes[n])
	case n < 0:
		return m.of(s.sizes[p])
	}
	w, total := weeksBetween(s.sizes[p].At, s.sizes[i].At), weeksBetween(s.sizes[p].At, s.sizes[n].At)
	if total > 0 {
		w /= total
	}
	v := math.Exp((1-w)*math.Log(*m.of(s.sizes[p])) + w*math.Log(*m.of(s.sizes[n])))
	return &v
}

func (a *Assessment) setStatus(s *series, fits map[Measure]*Fit) {
	day := func(t time.Time) string { return t.Format("2 January 2006") }
	area := fits[Area]
	switch {
	case len(s.sizes) == 0 && len(s.leftOut) > 0:
		a.Status, a.Sentence = NoSizes, fmt.Sprintf("Cannot tell: none of the %d values given can be used; each is listed with its reason.", len(s.leftOut))
	case len(s.sizes) == 0:
		a.Status, a.Sentence = NoSizes, "Cannot tell: no size has been measured."
	case s.closed != nil:
		a.Status, a.Sentence = Closed, fmt.Sprintf("The wound was closed on %s and is taken to stay closed until a new size is written.", day(*s.closed))
		if s.doubtful {
			a.Sentence += " It was large one visit earlier: if no surgeon closed it, measure again."
		}
	case len(fits) == 0:
		a.Status, a.Sentence = OneSize, "Cannot forecast: sizes from at least two different days are needed."
	default:
		last := lastOf(fits)
		age := a.AsOf.Sub(last).Hours() / 24
		switch {
		case age > tooOldDays:
			a.Status, a.Sentence = OldSizes, fmt.Sprintf("Cannot forecast: the last size is from %s, %.0f days ago. Measure the wound.", day(last), age)
		case area == nil:
			a.Status, a.Sentence = OnlyDepth, "Cannot forecast the area or the closure: areas from at least two different days are needed."
		default:
			a.Status, a.Sentence = OK, fmt.Sprintf("Fitted to %d areas from %s to %s.", area.Readings, day(area.First), day(area.Last))
			if area.Readings < 4 {
				a.Sentence += " With so few sizes the forecast leans on published rates."
			}
			if age > staleDays {
				a.Sentence += fmt.Sprintf(" The last size is %.0f days old: whether it is improving cannot be told.", age)
			}
		}
	}
}

// aheadDays are the days asked for that can be forecast; order answers the others.
func (a *Assessment) aheadDays(in Input) []float64 {
	var out []float64
	for _, d := range in.askedDays() {
		if !(d >= 0 && d <= horizonDays) {
			continue
		}
		out = append(out, d)
	}
	return out
}

func (a *Assessment) setClosed(s *series, in Input) {
	zero := &Band{}
	one := 1.0
	a.Now = Ahead{Date: a.AsOf, Area: zero, Closed: &one}
	by := map[string]float64{}
	for _, d := range a.aheadDays(in) {
		a.Ahead = append(a.Ahead, Ahead{Days: d, Date: addDays(a.AsOf, d), Area: zero, Closed: &one})
		by[dayKey(d)] = 1
	}
	for _, d := range chanceDays {
		by[dayKey(d)] = 1
	}
	gone := s.closed.Sub(a.AsOf).Hours() / 24
	a.Closure = Arrival{Goal: Goal{ID: "closure", Measure: Area}, Chance: &one, ChanceByDays: by, MedianDays: &gone, P10Days: &gone, P90Days: &gone,
		HorizonDays: horizonDays, Basis: "the wound is closed; days before the review are negative"}
	none := 0.0
	a.NotImproving, a.Growing = &none, &none
}

// askedDays are the days at which sizes are wanted.
func (in Input) askedDays() []float64 {
	if len(in.AheadDays) == 0 {
		return []float64{7, 14, 28}
	}
	return in.AheadDays
}

// order puts an answer for every day that was asked into the order of the questions: the forecast, for days gone by the
// fitted curve, and sizes of nil where neither reaches.
func (a *Assessment) order(fits map[Measure]*Fit, in Input) {
	forecast := a.Ahead
	a.Ahead = nil
	for _, d := range in.askedDays() {
		switch {
		case len(forecast) > 0 && forecast[0].Days == d:
			a.Ahead = append(a.Ahead, forecast[0])
			forecast = forecast[1:]
			continue
		case !finite(d):
			continue
		}
		x := Ahead{Days: d}
		if math.Abs(d) <= mostDays && !a.AsOf.IsZero() {
			x.Date = addDays(a.AsOf, d)
		}
		if d < 0 && len(fits) > 0 && !x.Date.IsZero() {
			a.lookBack(fits, &x)
		}
		switch {
		case x.Area != nil || x.Depth != nil || x.Volume != nil:
		case d < 0:
			a.Notes = append(a.Notes, fmt.Sprintf("No size for %v days ahead: that is before the first size.", d))
		case d > horizonDays:
			a.Notes = append(a.Notes, fmt.Sprintf("No forecast for %v days ahead: at most %v days are forecast.", d, horizonDays))
		}
		a.Ahead = append(a.Ahead, x)
	}
}

// lookBack fills in the sizes of a day before the day of the review: on the fitted curve, or since the last size ahead of it.
func (a *Assessment) lookBack(fits map[Measure]*Fit, x *Ahead) {
	for _, m := range Measures {
		f := fits[m]
		var fc forecast
		switch {
		case f == nil || x.Date.Before(f.First):
			continue
		case !x.Date.After(f.Last):
			fc = f.past(weeksBetween(f.First, x.Date))
		case a.Status == OldSizes:
			continue
		default:
			fc = f.at(weeksBetween(f.Last, x.Date))
		}
		b := fc.band()
		x.put(m, &b)
	}
}

// mostDays are the days, about a century, beyond which no date is written.
const mostDays = 36500.0

// chanceDays are the days by which the chance of closure is always given.
var chanceDays = []float64{28, 56, 84, 112, 168, 364}

func (a *Assessment) setForecasts(fits map[Measure]*Fit, bare *Fit, in Input) {
	if bare != nil {
		// the bed's look takes part in forecasts and goals, and in nothing else
		fits = maps.Clone(fits)
		fits[Bare] = bare
	}
	days := a.aheadDays(in)
	a.Now = a.ahead(fits, 0)
	for _, d := range days {
		a.Ahead = append(a.Ahead, a.ahead(fits, d))
	}
	if f := fits[Area]; f != nil {
		a.Closure = f.arrival(Goal{ID: "closure", Measure: Area}, f.closedAt, a.AsOf, append(days, chanceDays...))
	}
	for _, g := range in.Goals {
		a.Goals = append(a.Goals, a.goal(g, fits, append(days, chanceDays...)))
	}
}

// goal is when a goal and all that goes with it are reached. Sizes of several measures are taken as independent: they
// fall together in truth, so that the chance is rather too low than too high.
func (a *Assessment) goal(g Goal, fits map[Measure]*Fit, days []float64) Arrival {
	var all reach
	for i, part := range append([]Goal{g}, g.And...) {
		f := fits[part.Measure]
		if f == nil || !(part.Below > 0) || math.IsInf(part.Below, 0) {
			no := noArrival("there are too few sizes of " + part.Measure.words() + ", or the goal is not above 0")
			no.Goal = g
			if !finite(g.Below) {
				no.Goal.Below = 0
			}
			no.Goal.And = nil
			return no
		}
		r := f.reachBelow([]float64{part.Below}, a.AsOf.Sub(f.Last).Hours()/24)
		if i == 0 {
			all = r
			continue
		}
		for d := range all.chance {
			all.chance[d] *= r.chance[d]
		}
	}
	return all.arrival(g, days)
}

func (a *Assessment) ahead(fits map[Measure]*Fit, days float64) Ahead {
	out := Ahead{Days: days, Date: addDays(a.AsOf, days)}
	for _, m := range fitted {
		f := fits[m]
		if f == nil {
			continue
		}
		fc := f.at(weeksBetween(f.Last, out.Date))
		b := fc.band()
		if m == Area {
			c := fc.closed()
			out.Closed = &c
		}
		out.put(m, &b)
	}
	return out
}

// arrival computes when a size is reached.
func (f *Fit) arrival(g Goal, values []float64, asOf time.Time, days []float64) Arrival {
	return f.reachBelow(values, asOf.Sub(f.Last).Hours()/24).arrival(g, days)
}

func (r reach) arrival(g Goal, days []float64) Arrival {
	within := r.by(horizonDays)
	out := Arrival{Goal: g, Chance: &within, ChanceByDays: map[string]float64{}, HorizonDays: horizonDays}
	for _, d := range days {
		out.ChanceByDays[dayKey(d)] = r.by(d)
	}
	if within < leastChance {
		out.Basis = fmt.Sprintf("no date: the chance within %v days is only %.0f %%", horizonDays, 100*within)
		return out
	}
	m, lo, hi := r.quantileIf(0.5), r.quantileIf(0.1), r.quantileIf(0.9)
	out.MedianDays, out.P10Days, out.P90Days = &m, &lo, &hi
	out.Basis = fmt.Sprintf("if it happens within %v days, for which the chance is %.0f %%", horizonDays, 100*within)
	return out
}

func noArrival(why string) Arrival {
	return Arrival{Goal: Goal{ID: "closure", Measure: Area}, ChanceByDays: map[string]float64{}, HorizonDays: horizonDays, Basis: "cannot tell: " + why}
}

func (a *Assessment) setProgress(fits map[Measure]*Fit) {
	last := lastOf(fits)
	for _, m := range Measures {
		f := fits[m]
		// a measure that was not taken lately says nothing about the last two weeks
		if f == nil || a.AsOf.Sub(f.Last).Hours()/24 > staleDays || f.WindowWk*7 < shortWindowDays || last.Sub(f.Last).Hours()/24 > 7 {
			continue
		}
		a.Progress = append(a.Progress, f.Progress())
		a.WindowDays = math.Max(a.WindowDays, f.WindowWk*7)
	}
	if len(a.Progress) == 0 {
		return
	}
	not, growing := notImproving(a.Progress)
	a.NotImproving, a.Growing = &not, &growing
}

func lastOf(fits map[Measure]*Fit) (last time.Time) {
	for _, f := range fits {
		if f.Last.After(last) {
			last = f.Last
		}
	}
	return last
}

// fill turns missing lists into empty ones, so that readers of JSON always find a list.
func (a *Assessment) fill() {
	if a.Ahead == nil {
		a.Ahead = []Ahead{}
	}
	if a.Goals == nil {
		a.Goals = []Arrival{}
	}
	if a.Progress == nil {
		a.Progress = []MeasureProgress{}
	}
	if a.Milestones == nil {
		a.Milestones = []MilestoneResult{}
	}
	if a.Odd == nil {
		a.Odd = []Odd{}
	}
	if a.LeftOut == nil {
		a.LeftOut = []LeftOut{}
	}
	if a.Families == nil {
		a.Families = []FamilyWeight{}
	}
	if a.Notes == nil {
		a.Notes = []string{}
	}
}

func addDays(t time.Time, days float64) time.Time {
	return t.Add(time.Duration(days * 24 * float64(time.Hour)))
}

func dayKey(d float64) string {
	return strings.TrimSuffix(strconv.FormatFloat(d, 'f', -1, 64), ".0")
}
