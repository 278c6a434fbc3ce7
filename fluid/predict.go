package fluid

import (
	"fmt"
	"math"
	"time"

	"lowtide/unit"
)

// Model is the name under which forecasts of this package are shown and stored.
const Model = "log-rate bank 2"

// Forecast is everything that a course says at one moment. All numbers are finite; what cannot be told is nil
// and Text says why.
type Forecast struct {
	Status Status `json:"status"`
	// Text is one sentence for the nurse; Notes are further sentences about what was left out or assumed.
	Text  string    `json:"status_text"`
	Notes []string  `json:"notes"`
	Model string    `json:"model"`
	AsOf  time.Time `json:"as_of"`
	// Rate is the output at AsOf in mL/d, averaged over the swings from day to day.
	Rate Quantiles `json:"rate_mL_d"`
	// Content is what the canister in place holds at AsOf in mL; nil when it was never read.
	Content *Quantiles `json:"content_mL"`
	// UsableML is the content at which the canister counts as full; nil without a size.
	UsableML *float64 `json:"usable_mL"`
	// FullAt is when that content is reached if nobody changes the canister.
	FullAt FullAt `json:"full_at"`
	// CollectedAfterH is what the wound gives in the first hours of therapy after AsOf, in mL, by hours.
	CollectedAfterH map[string]Quantiles `json:"collected_after_h"`
	// Before and ChanceFullBefore: the chance that the canister is full by that time; nil when not asked or not known.
	Before           *time.Time `json:"before"`
	ChanceFullBefore *float64   `json:"chance_full_before"`
	// Protein is the protein lost a day in g, by the published factor.
	Protein Quantiles `json:"protein_g_d"`
	// ReadingsUsed and IntervalsUsed count what the forecast rests on; LastReading is the latest, nil if none.
	ReadingsUsed  int        `json:"readings_used"`
	IntervalsUsed int        `json:"intervals_used"`
	LastReading   *time.Time `json:"last_reading"`
	Questions     []Question `json:"questions"`
}

// CollectedHours are the horizons of [Forecast.CollectedAfterH].
var CollectedHours = []int{24, 48, 72}

// Predict fits a course and forecasts from asOf. before is the next planned visit, or the zero time.
func Predict(c Course, asOf, before time.Time) Forecast {
	return Fit(c, asOf).Forecast(before)
}

// Forecast says everything that the track holds. before is the next planned visit, or the zero time.
func (t Track) Forecast(before time.Time) Forecast {
	f := Forecast{
		Model: Model, AsOf: t.asOf, Rate: t.Rate(), CollectedAfterH: map[string]Quantiles{},
		ReadingsUsed: len(t.readings), IntervalsUsed: t.grown, Questions: append([]Question{}, t.asks...),
	}
	f.Protein = Quantiles{
		Median: Protein(unit.Rate(f.Rate.Median)), P10: Protein(unit.Rate(f.Rate.P10)), P90: Protein(unit.Rate(f.Rate.P90)),
	}
	for _, h := range CollectedHours {
		f.CollectedAfterH[fmt.Sprint(h)] = t.Collected(float64(h) / 24)
	}
	if u := t.course.usable(); u > 0 && !math.IsInf(u, 0) {
		f.UsableML = &u
	}
	if !t.seen.IsZero() {
		seen := t.seen
		f.LastReading = &seen
		q := t.Content()
		f.Content = &q
	}
	f.FullAt = t.FullAt()
	if !before.IsZero() {
		f.Before = &before
		if p, ok := t.ChanceFull(before); ok {
			f.ChanceFullBefore = &p
		}
	}
	f.Status, f.Text = t.status(f)
	f.Notes = t.notes()
	if !before.IsZero() && before.Before(t.asOf) && f.ChanceFullBefore != nil {
		f.Notes = append(f.Notes, "The time asked for lies before the time of the forecast: the chance is that the canister, as it was last read, was full by then.")
	}
	return f
}

// Content is what the canister in place holds at asOf, in mL, if nobody has changed it. It is meaningless before
// the first reading.
func (t Track) Content() Quantiles {
	lag, ss := t.lag(), t.strands()
	mean, spread := 0.0, 0.0
	for _, s := range ss {
		come := 0.0
		if lag > 0 {
			come = lag * math.Exp(math.Min(12, s.b.x+s.b.varX/2))
		}
		mean += s.w * (s.b.v + come)
		spread += s.w * (come + 4*math.Sqrt(s.b.varV))
	}
	below := func(v float64) float64 {
		p := 0.0
		for _, s := range ss {
			p += s.w * phi((v-s.b.v)/math.Sqrt(math.Max(s.b.varV, 1e-6)))
		}
		return p
	}
	if lag > 1e-5 {
		// A canister that is "full" at v now is one that holds v or more.
		below = func(v float64) float64 { return 1 - filled(pots(ss, v), lag) }
	}
	lo, hi := math.Min(0, mean-spread), mean+20*spread+1
	at := func(p float64) float64 { return math.Max(0, solve(below, p, lo, hi, mean+probit(p)*spread/4)) }
	q := Quantiles{Median: at(0.5), P10: at(0.1), P90: at(0.9)}
	return Quantiles{Median: q.Median, P10: math.Min(q.P10, q.Median), P90: math.Max(q.P90, q.Median)}
}

// full tells whether the latest reading is at or above the usable volume.
func (t Track) full() bool {
	u := t.course.usable()
	n := len(t.readings)
	return n > 0 && u > 0 && float64(t.readings[n-1].Content) >= u
}

// mayBeFull is the chance of a full canister from which the status says so.
const mayBeFull = 0.1

func (t Track) status(f Forecast) (Status, string) {
	n := len(t.readings)
	now, known := t.ChanceFull(t.asOf)
	var open *Question
	for i := range t.asks {
		if t.asks[i].Open {
			open = &t.asks[i]
		}
	}
	switch {
	case n == 0:
		of := "of this area "
		if !(t.course.Area > 0) {
			of = ""
		}
		return CannotTell, "Cannot tell when the canister fills: no reading of it; the output shown is what wounds " + of + "gave in published series, and wounds differ several-fold."
	case f.UsableML == nil:
		return CannotTell, "Cannot tell when the canister fills: its size is not recorded."
	case t.full():
		return Full, fmt.Sprintf("The canister was at %.0f mL when it was last read, at or above the %.0f mL that count as full: change it.", float64(t.readings[n-1].Content), *f.UsableML)
	case open != nil:
		return Ask, open.Text
	case t.clock.paused(t.asOf):
		return Paused, "Therapy is paused: times are counted as if it went on now."
	case known && now >= mayBeFull:
		return MayBeFull, fmt.Sprintf("The canister may be full by now (chance %s): nobody has read it since %s.", unit.Chance(now), t.seen.UTC().Format("2006-01-02 15:04"))
	case t.grown < 2:
		return FewReadings, fmt.Sprintf("Only %s of fluid collected can be used: the forecast leans on published outputs and is wide.", count(t.grown, "interval"))
	}
	return OK, fmt.Sprintf("From %s of fluid collected, the latest read %s.", count(t.grown, "interval"), t.seen.UTC().Format("2006-01-02 15:04"))
}

func (t Track) notes() []string {
	notes := []string{}
	add := func(ok bool, text string) {
		if ok {
			notes = append(notes, text)
		}
	}
	add(!(t.course.UsableShare > 0 && t.course.UsableShare <= 1), fmt.Sprintf("The usable share is not given: %.0f %% of the canister is taken as full.", 100*DefaultUsableShare))
	add(!(t.course.Area > 0), "The wound area is not given: output before the first readings is taken from published medians, very wide.")
	if lag := t.lag(); lag > oldD {
		add(true, fmt.Sprintf("The newest reading is %.0f days of therapy old: little is known of the output now. Read the canister.", lag))
	}
	add(t.later > 0, count(t.later, "reading")+" later than the time of the forecast left out.")
	add(t.bad > 0, count(t.bad, "reading")+" left out: not a volume.")
	for i := range t.readings {
		if v := float64(t.readings[i].Content); t.course.Canister > 0 && v > float64(t.course.Canister) {
			add(true, fmt.Sprintf("%.0f mL was read in a canister of %.0f mL: check the reading or the canister's size.", v, float64(t.course.Canister)))
			break
		}
	}
	return notes
}

// oldD is the age of the newest reading, in days, from which the forecast says so: a canister is used for a week at most.
const oldD = 7

func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// Intervals counts the intervals between readings whose fluid could be used.
func (t Track) Intervals() int { return t.grown }

// Asks tells whether the forecast still depends on a question that only a person can answer.
func (t Track) Asks() bool {
	for _, q := range t.asks {
		if q.Open {
			return true
		}
	}
	return false
}
