package state

import (
	"fmt"
	"math"
	"time"

	"lowtide/casebook"
	"lowtide/healing"
	"lowtide/rule/value"
	"lowtide/unit"
)

// Figure is a number with its unit, its method and its source.
type Figure struct {
	// ID names the figure; with Wound and Pump it is unique in a review.
	ID    string `json:"id"`
	Name  string `json:"name"`
	Wound string `json:"wound,omitempty"`
	// Pump is whose canister it is about, where the patient has several pumps.
	Pump  string  `json:"pump,omitempty"`
	Value float64 `json:"value"`
	Unit  string  `json:"unit"`
	// Text is the value with its unit, as a page prints it.
	Text   string `json:"text"`
	Method string `json:"method"`
	Source string `json:"source"`
	// At is when it was true.
	At      *time.Time `json:"at,omitempty"`
	Entries []string   `json:"entries,omitempty"`
}

// figured gives a figure on if its value is a number, with its text.
func figured(add func(Figure)) func(Figure) {
	return func(g Figure) {
		if math.IsNaN(g.Value) || math.IsInf(g.Value, 0) {
			return
		}
		if g.Text == "" {
			g.Text = unit.Number(g.Value, 1) + " " + g.Unit
		}
		add(g)
	}
}

func therapyFigures(s *State, add func(Figure)) {
	c := s.Case
	at, id, ok := Started(c)
	if !ok {
		return
	}
	end := s.AsOf
	if c.Ended != nil {
		end = c.Ended.At
	}
	// Counted in the patient's calendar days: the day of the start is day 1.
	days := int(math.Round(c.Day(end).Sub(c.Day(at)).Hours()/24)) + 1
	add(Figure{ID: "therapy.day", Name: "Day of therapy", Value: float64(days), Unit: "d", Text: fmt.Sprintf("day %d", days),
		Method: "calendar days in the patient's time zone, the first counted as 1", Source: "counting", Entries: []string{id}})
}

func orderFigures(s *State, add func(Figure)) {
	if o := s.Case.Order(); o != nil {
		if p, ok := Program(o.Body); ok {
			figured(add)(Figure{ID: "order.mean", Name: "Ordered suction, time-mean", Value: p.MeanMmHg(), Unit: "mmHg", Text: unit.Suction(p.MeanMmHg()).String(),
				Method: "sum of suction × hold over the sum of holds", Source: "arithmetic", Entries: []string{o.ID}})
		}
	}
}

// canisterFigures are what was read of each pump's canister.
func canisterFigures(s *State, add func(Figure)) {
	for _, f := range s.Canisters {
		canisterFigure(s.Case.Zone, f.Canister, s.Values.Span(value.ReadingsApart), func(g Figure) { figured(add)(f.figure(g)) })
	}
}

func canisterFigure(zone *time.Location, k Canister, apart time.Duration, add func(Figure)) {
	if k.SizeML != nil && k.VolumeML != nil && *k.SizeML > 0 {
		share := *k.VolumeML / *k.SizeML * 100
		add(Figure{ID: "canister.full", Name: "Canister filled", Value: share, Unit: "%", At: k.ReadAt,
			Text:   fmt.Sprintf("%s of %s (%s %%)", unit.Volume(*k.VolumeML), unit.Volume(*k.SizeML), unit.Number(share, 0)),
			Method: "volume read over canister size", Source: "arithmetic", Entries: entriesOf(k.ReadBy, k.SizeBy)})
	}
	if rate, from, to, ok := k.Output(apart); ok {
		at := to.At
		add(Figure{ID: "canister.output", Name: "Fluid collected per day", Value: rate, Unit: "mL/d", Text: unit.Rate(rate).String(), At: &at,
			Method: fmt.Sprintf("%s between %s and %s, canister changes counted", unit.Volume(to.ML-from.ML), Clock(zone, from.At), Clock(zone, to.At)),
			Source: "arithmetic", Entries: entriesOf(from.Entry, to.Entry)})
	}
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
				Text:   unit.Number(share*100, 1) + " %",
				Method: fmt.Sprintf("(first − last) / first = (%s − %s) / %s", a0, area, a0), Source: "definition of percent area reduction", At: &at, Entries: []string{first.ID, m.ID}})
		}
		break
	}
}

// entriesOf lists the entries that are named.
func entriesOf(ids ...string) []string {
	var out []string
	for _, id := range ids {
		if id != "" && !contains(out, id) {
			out = append(out, id)
		}
	}
	return out
}
