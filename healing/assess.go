package healing

import (
	"fmt"
	"maps"
	"math"
	"sort"
	"strconv"
	"strings"
	"time"

	"lowtide/unit"
)

// Input is one wound's sizes with the questions asked about it.
type Input struct {
	WoundType string
	Limits    Limits
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

// Assessment is everything that a series of sizes says.
type Assessment struct {
	Course
	Forecasts
}

// Course is what a series of sizes says of the past and the present.
type Course struct {
	Status   Status    `json:"status"`
	Sentence string    `json:"sentence"`
	AsOf     time.Time `json:"as_of,omitzero"`
	// Scale is the scale of all areas.
	Scale   string  `json:"scale"`
	Figures Figures `json:"figures"`
	// Past is the fitted curve at the days of the sizes and between them, when it was asked for; days are negative.
	Past []Ahead `json:"past,omitempty"`
	// NotImproving is the chance that no measure improved over the window up to the last size; nil when it cannot be told.
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

// Forecasts are what a series of sizes says of the days ahead: most of the work.
type Forecasts struct {
	Now     Ahead     `json:"now"`
	Ahead   []Ahead   `json:"ahead"`
	Closure Closure   `json:"closure"`
	Goals   []Arrival `json:"goals"`
	// notes say which of the days asked for have no size.
	notes []string
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
	// leastChance of closure for which a date is given at all
	leastChance = 0.10
)

// Assess computes everything from a series of sizes. It never fails: what cannot be told is nil, with a sentence.
// The input is not modified; the order of sizes does not matter.
func Assess(in Input) Assessment {
	w := begin(in)
	a := Assessment{w.course(), w.forecasts()}
	a.Notes = append(a.Notes, a.notes...)
	return a
}

// CourseOf is [Assess] without what lies ahead.
func CourseOf(in Input) Course { return begin(in).course() }

// ForecastsOf is the part of [Assess] that [CourseOf] leaves out.
func ForecastsOf(in Input) Forecasts { return begin(in).forecasts() }

// GoalOf is the arrival at the first goal of the input, and at closed where it names none: as in [Assess], for whoever needs
// nothing else of what lies ahead.
func GoalOf(in Input) Arrival {
	w := begin(in)
	var f Forecasts
	fits := w.forecastFits()
	switch {
	case w.status == Closed:
		w.closed(&f)
	case len(in.Goals) == 0 || len(fits) == 0:
		w.arrivals(&f, fits, 0)
	default:
		return w.goal(in.Goals[0], fits, append(w.aheadDays(), chanceDays...))
	}
	return f.Closure
}

// work is a cleaned series with its fits.
type work struct {
	in     Input
	asOf   time.Time
	s      *series
	fits   map[Measure]*Fit
	status Status
	// cohort is nil without ended cases; prior says which rates were believed.
	cohort *Cohort
	prior  string
	// sentence says the status.
	sentence string
}

func begin(in Input) *work {
	in.Limits.check()
	w := &work{in: in, asOf: in.AsOf, s: clean(in.Sizes, in.AsOf), prior: PublishedPrior(Area).Source}
	if len(w.s.sizes) > 0 && w.asOf.IsZero() {
		w.asOf = w.s.sizes[len(w.s.sizes)-1].At
	}
	prior := in.Prior
	if len(in.Cohort) > 0 {
		c := CohortCurve(in.WoundType, in.Cohort)
		w.cohort = &c
		if pr, ok := FitCohort(in.WoundType, in.Cohort); ok && prior == nil {
			prior = &pr
		}
	}
	w.fits = w.fitAll(prior)
	w.status, w.sentence = w.stand()
	return w
}

// course is what the fits say up to now.
func (w *work) course() Course {
	s, fits := w.s, w.fits
	c := Course{AsOf: w.asOf, Scale: "traced outline", LeftOut: s.leftOut, Odd: append(s.odd, oddOnes(s, fits)...), Notes: s.notes, Prior: w.prior, Cohort: w.cohort,
		Figures: figures(s), Status: w.status, Sentence: w.sentence}
	sort.SliceStable(c.Odd, func(i, j int) bool { return c.Odd[i].At.Before(c.Odd[j].At) })
	area := fits[Area]
	if area != nil {
		c.Families = area.FamilyWeight
	}
	switch {
	case c.Status == Closed:
		notImproving, growing := 0.0, 0.0
		c.NotImproving, c.Growing = &notImproving, &growing
	case len(fits) > 0 && c.Status != OldSizes:
		c.setProgress(fits, w.in.Limits)
	}
	if w.in.Past && len(fits) > 0 {
		c.setPast(s, fits)
	}
	if _, known := WoundType(w.in.WoundType); !known && w.in.WoundType != "" {
		c.Notes = append(c.Notes, fmt.Sprintf("No marker was published for the wound type %q here; those for any wound are shown.", w.in.WoundType))
	}
	if len(s.with(Area)) > 0 {
		if c.Status == OldSizes {
			area = nil
		}
		for _, m := range MilestonesFor(w.in.WoundType, w.in.Limits) {
			c.Milestones = append(c.Milestones, judge(m, s.with(Area), area, c.AsOf, s.closed))
		}
	}
	c.fill()
	return c
}

// forecasts is what the fits say of the days ahead.
func (w *work) forecasts() Forecasts {
	f := Forecasts{Ahead: []Ahead{}, Goals: []Arrival{}}
	var ahead []Ahead
	if w.status == Closed {
		ahead = w.closed(&f)
	} else {
		fits := w.forecastFits()
		w.arrivals(&f, fits, len(w.in.Goals))
		if len(fits) > 0 {
			f.Now = w.on(fits, 0)
			for _, d := range w.aheadDays() {
				ahead = append(ahead, w.on(fits, d))
			}
		}
	}
	w.order(&f, ahead)
	return f
}

// fitAll fits each measure that has sizes at two times or more.
func (w *work) fitAll(prior *Prior) map[Measure]*Fit {
	fits := map[Measure]*Fit{}
	s := w.s
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
			pr, w.prior = *prior, prior.Source
		}
		f := fitReadings(m, r, pr, biasSD, w.in.Limits.WindowDays/7)
		f.First, f.Last = times[0], times[len(times)-1]
		fits[m] = f
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

// stand says where the series stands, with its sentence.
func (w *work) stand() (status Status, sentence string) {
	s, fits := w.s, w.fits
	day := func(t time.Time) string { return t.Format("2 January 2006") }
	area := fits[Area]
	switch {
	case len(s.sizes) == 0 && len(s.leftOut) > 0:
		status, sentence = NoSizes, fmt.Sprintf("Cannot tell: none of the %d values given can be used; each is listed with its reason.", len(s.leftOut))
	case len(s.sizes) == 0:
		status, sentence = NoSizes, "Cannot tell: no size has been measured."
	case s.closed != nil:
		status, sentence = Closed, fmt.Sprintf("The wound was closed on %s and is taken to stay closed until a new size is written.", day(*s.closed))
		if s.doubtful {
			sentence += " It was large one visit earlier: if no surgeon closed it, measure again."
		}
	case len(fits) == 0:
		status, sentence = OneSize, "Cannot forecast: sizes from at least two different days are needed."
	default:
		last := lastOf(fits)
		age := w.asOf.Sub(last).Hours() / 24
		switch {
		case age > w.in.Limits.UsableDays:
			status, sentence = OldSizes, fmt.Sprintf("Cannot forecast: the last size is from %s, %.0f days ago. Measure the wound.", day(last), age)
		case area == nil:
			status, sentence = OnlyDepth, "Cannot forecast the area or the closure: areas from at least two different days are needed."
		default:
			status, sentence = OK, fmt.Sprintf("Fitted to %d areas from %s to %s.", area.Readings, day(area.First), day(area.Last))
			if area.Readings < 4 {
				sentence += " With so few sizes the forecast leans on published rates."
			}
			if age > w.in.Limits.FreshDays {
				sentence += fmt.Sprintf(" The last size is %.0f days old: whether it is improving cannot be told.", age)
			}
		}
	}
	return status, sentence
}

// aheadDays are the days asked for that can be forecast; order answers the others.
func (w *work) aheadDays() []float64 {
	var out []float64
	for _, d := range w.in.askedDays() {
		if !(d >= 0 && d <= horizonDays) {
			continue
		}
		out = append(out, d)
	}
	return out
}

// closed says that the wound is closed and stays so.
func (w *work) closed(f *Forecasts) (ahead []Ahead) {
	zero := &Band{}
	one := 1.0
	f.Now = Ahead{Date: w.asOf, Area: zero, Closed: &one}
	by := map[string]float64{}
	for _, d := range w.aheadDays() {
		ahead = append(ahead, Ahead{Days: d, Date: addDays(w.asOf, d), Area: zero, Closed: &one})
		by[dayKey(d)] = 1
	}
	for _, d := range chanceDays {
		by[dayKey(d)] = 1
	}
	gone := w.s.closed.Sub(w.asOf).Hours() / 24
	f.Closure = Arrival{Goal: Goal{ID: "closure", Measure: Area}, Chance: &one, ChanceByDays: by, MedianDays: &gone, P10Days: &gone, P90Days: &gone,
		HorizonDays: horizonDays, Basis: "the wound is closed; days before the review are negative"}
	return ahead
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
func (w *work) order(f *Forecasts, forecast []Ahead) {
	for _, d := range w.in.askedDays() {
		switch {
		case len(forecast) > 0 && forecast[0].Days == d:
			f.Ahead = append(f.Ahead, forecast[0])
			forecast = forecast[1:]
			continue
		case !finite(d):
			continue
		}
		x := Ahead{Days: d}
		if math.Abs(d) <= mostDays && !w.asOf.IsZero() {
			x.Date = addDays(w.asOf, d)
		}
		if d < 0 && len(w.fits) > 0 && !x.Date.IsZero() {
			w.lookBack(&x)
		}
		switch {
		case x.Area != nil || x.Depth != nil || x.Volume != nil:
		case d < 0:
			f.notes = append(f.notes, fmt.Sprintf("No size for %v days ahead: that is before the first size.", d))
		case d > horizonDays:
			f.notes = append(f.notes, fmt.Sprintf("No forecast for %v days ahead: at most %v days are forecast.", d, horizonDays))
		}
		f.Ahead = append(f.Ahead, x)
	}
}

// lookBack fills in the sizes of a day before the day of the review: on the fitted curve, or since the last size ahead of it.
func (w *work) lookBack(x *Ahead) {
	for _, m := range Measures {
		f := w.fits[m]
		var fc forecast
		switch {
		case f == nil || x.Date.Before(f.First):
			continue
		case !x.Date.After(f.Last):
			fc = f.past(weeksBetween(f.First, x.Date))
		case w.status == OldSizes:
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

// forecastFits are the fits that forecasts are made of; none when nothing can be forecast.
func (w *work) forecastFits() map[Measure]*Fit {
	if w.status == Closed || w.status == OldSizes || len(w.fits) == 0 {
		return nil
	}
	bare := w.s.bareFit(w.in.Limits.WindowDays / 7)
	if bare == nil {
		return w.fits
	}
	// the bed's look takes part in forecasts and goals, and in nothing else
	fits := maps.Clone(w.fits)
	fits[Bare] = bare
	return fits
}

// arrivals forecasts the closure and the first goals.
func (w *work) arrivals(f *Forecasts, fits map[Measure]*Fit, goals int) {
	f.Closure = noArrival("there are too few sizes for a date")
	if len(fits) == 0 {
		return
	}
	days := append(w.aheadDays(), chanceDays...)
	if area := fits[Area]; area != nil {
		f.Closure = area.arrival(Goal{ID: "closure", Measure: Area}, area.closedAt, w.asOf, days)
	}
	for _, g := range w.in.Goals[:min(goals, len(w.in.Goals))] {
		f.Goals = append(f.Goals, w.goal(g, fits, days))
	}
}

// goal is when a goal and all that goes with it are reached. Sizes of several measures are taken as independent: they
// fall together in truth, so that the chance is rather too low than too high.
func (w *work) goal(g Goal, fits map[Measure]*Fit, days []float64) Arrival {
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
		r := f.reachBelow([]float64{part.Below}, w.asOf.Sub(f.Last).Hours()/24)
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

// on forecasts the sizes of one day.
func (w *work) on(fits map[Measure]*Fit, days float64) Ahead {
	out := Ahead{Days: days, Date: addDays(w.asOf, days)}
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
		out.Basis = "no date: the chance that it comes within a year is " + unit.Chance(within)
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

func (a *Course) setProgress(fits map[Measure]*Fit, l Limits) {
	last := lastOf(fits)
	for _, m := range Measures {
		f := fits[m]
		// a measure that was not taken lately says nothing about the window
		if f == nil || a.AsOf.Sub(f.Last).Hours()/24 > l.FreshDays || f.WindowWk*7 < l.ShortestDays || last.Sub(f.Last).Hours()/24 > 7 {
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
func (a *Course) fill() {
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
