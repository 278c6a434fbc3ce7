package csv

import (
	"time"

	"lowtide/casebook"
	"lowtide/rule"
	"lowtide/state"
)

// maker fills a table: each column has the function that reads it from a row's source.
type maker[T any] struct {
	Column
	read func(Item, T) any
}

func table[T any](name string, columns []maker[T]) Table {
	t := Table{Name: name}
	for _, c := range columns {
		t.Columns = append(t.Columns, c.Column)
	}
	return t
}

func (t *Table) row(it Item, cells []any) {
	t.Rows = append(t.Rows, cells)
	t.caseOf = append(t.caseOf, it.Review.Case)
}

func cells[T any](columns []maker[T], it Item, v T) []any {
	out := make([]any, len(columns))
	for i, c := range columns {
		out[i] = c.read(it, v)
	}
	return out
}

// orNil unpacks an optional number.
func orNil(p *float64) any {
	if p == nil {
		return nil
	}
	return *p
}

func wordOrNil(s string) any {
	if s == "" {
		return nil
	}
	return s
}

func caseColumns[T any]() []maker[T] {
	person := func(f func(casebook.PersonRegistered) string) func(Item, T) any {
		return func(it Item, _ T) any {
			if it.Review.State.Registered() == nil {
				return nil
			}
			return wordOrNil(f(it.Review.State.Registered().Body))
		}
	}
	return []maker[T]{
		{Column{Name: "case", Type: "text", Words: "the case", Source: "case ID"}, func(it Item, _ T) any { return it.Review.Case }},
		{Column{Name: "name", Type: "text", Words: "name of the patient", Source: "person.registered", Identifies: true}, person(func(p casebook.PersonRegistered) string { return p.Name })},
		{Column{Name: "record", Type: "text", Words: "the agency's number", Source: "person.registered", Identifies: true}, person(func(p casebook.PersonRegistered) string { return p.Record })},
		{Column{Name: "place", Type: "word", Words: "ward, nursing home or home", Source: "person.registered"}, person(func(p casebook.PersonRegistered) string { return p.Place })},
		{Column{Name: "team", Type: "text", Words: "team", Source: "person.registered", Identifies: true}, person(func(p casebook.PersonRegistered) string { return p.Team })},
	}
}

func total(rows []casebook.WoundChange, pieces func(casebook.WoundChange) ([]casebook.Pieces, bool)) any {
	n := 0
	for _, w := range rows {
		list, counted := pieces(w)
		if !counted {
			return nil // one wound was not counted, so the sum is not known
		}
		for _, p := range list {
			n += p.Count
		}
	}
	return n
}

type visit = casebook.Dated[casebook.DressingChanged]

func visitColumns() []maker[visit] {
	c := func(name, typ, unit, words, source string, read func(Item, visit) any) maker[visit] {
		return maker[visit]{Column{Name: name, Type: typ, Unit: unit, Words: words, Source: source}, read}
	}
	out := append(caseColumns[visit](),
		c("at", "time", "", "when the dressing was changed", "dressing.changed", func(_ Item, v visit) any { return v.At }),
		c("days_since_start", "count", "d", "calendar days since therapy started, in the patient's time zone", "counting", func(it Item, v visit) any {
			s := it.Review.Therapy.StartedAt
			if s == nil {
				return nil
			}
			return calendarDays(it.Review.State, *s, v.At)
		}),
		c("wounds", "count", "", "wounds whose dressing was changed", "dressing.changed", func(_ Item, v visit) any { return len(v.Body.Wounds) }),
		c("pieces_out", "count", "", "pieces of filler taken out; empty when a wound was not counted", "dressing.changed", func(_ Item, v visit) any {
			return total(v.Body.Wounds, func(w casebook.WoundChange) ([]casebook.Pieces, bool) { return w.Out, w.Out != nil || w.NoneOut })
		}),
		c("pieces_in", "count", "", "pieces of filler put in; empty when a wound was not counted", "dressing.changed", func(_ Item, v visit) any {
			return total(v.Body.Wounds, func(w casebook.WoundChange) ([]casebook.Pieces, bool) { return w.In, w.In != nil || w.NoneIn })
		}),
		c("seal", "word", "", "seal after the change", "dressing.changed", func(_ Item, v visit) any { return wordOrNil(v.Body.Seal) }),
		c("suction_mmHg", "number", "mmHg", "suction shown after the change, depth below ambient", "dressing.changed", func(_ Item, v visit) any { return orNil(v.Body.SuctionMmHg) }),
		c("pain", "number", "", "pain, 0 to 10", "dressing.changed", func(_ Item, v visit) any { return orNil(v.Body.Pain) }),
		c("temperature_C", "number", "°C", "temperature", "dressing.changed", func(_ Item, v visit) any { return orNil(v.Body.TemperatureC) }),
		c("signs", "count", "", "danger signs seen; empty when nobody answered", "dressing.changed", func(_ Item, v visit) any {
			if len(v.Body.Signs) == 0 {
				return nil
			}
			n := 0
			for _, s := range v.Body.Signs {
				if s != "none" {
					n++
				}
			}
			return n
		}),
		c("canister_mL", "number", "mL", "volume read in the canister", "dressing.changed", func(_ Item, v visit) any {
			if v.Body.Canister == nil {
				return nil
			}
			return orNil(v.Body.Canister.VolumeML)
		}),
	)
	return append(out, maker[visit]{Column{Name: "author", Type: "text", Words: "who wrote it", Source: "entry", Identifies: true}, func(_ Item, v visit) any { return wordOrNil(v.Author) }})
}

// Visits has one row for each change of dressing.
func Visits(items []Item) Table {
	columns := visitColumns()
	t := table("visits", columns)
	for _, it := range items {
		for _, v := range it.Review.State.Visits() {
			t.row(it, cells(columns, it, v))
		}
	}
	return t
}

func calendarDays(s *state.State, from, to time.Time) int {
	return int(s.Day(to).Add(12*time.Hour).Sub(s.Day(from)).Hours() / 24)
}

type wound = *casebook.Wound

// figure reads a figure of the review for the wound.
func figure(id string) func(Item, wound) any {
	return func(it Item, w wound) any {
		if f, ok := it.Review.Figure(id, w.Name); ok {
			return f.Value
		}
		return nil
	}
}

func woundColumns() []maker[wound] {
	c := func(name, typ, unit, words, source string, read func(Item, wound) any) maker[wound] {
		return maker[wound]{Column{Name: name, Type: typ, Unit: unit, Words: words, Source: source}, read}
	}
	found := func(f func(casebook.WoundFound) string) func(Item, wound) any {
		return func(_ Item, w wound) any {
			if w.Found == nil {
				return nil
			}
			return wordOrNil(f(w.Found.Body))
		}
	}
	closure := func(f func(state.Forecast) *float64) func(Item, wound) any {
		return func(it Item, w wound) any {
			if g, ok := it.Review.Forecast("wound.closure", w.Name); ok && f(g) != nil {
				return *f(g)
			}
			return nil
		}
	}
	return append(caseColumns[wound](),
		c("wound", "text", "", "short name of the wound", "wound.found", func(_ Item, w wound) any { return w.Name }),
		c("type", "word", "", "type of wound", "wound.found", found(func(b casebook.WoundFound) string { return b.Type })),
		c("stage", "word", "", "stage, for a pressure injury", "wound.found", found(func(b casebook.WoundFound) string { return b.Stage })),
		c("site", "word", "", "where on the body, as written", "wound.found", found(func(b casebook.WoundFound) string { return b.Site })),
		c("found_at", "time", "", "when the wound was first written down", "wound.found", func(_ Item, w wound) any {
			if w.Found == nil {
				return nil
			}
			return w.Found.At
		}),
		c("measurements", "count", "", "times it was measured", "wound.measured", func(_ Item, w wound) any { return len(w.Measured) }),
		c("last_measured_at", "time", "", "when it was last measured", "wound.measured", func(_ Item, w wound) any {
			if len(w.Measured) == 0 {
				return nil
			}
			return w.Measured[len(w.Measured)-1].At
		}),
		c("area_cm2", "number", "cm²", "newest area", "figure wound.area", figure("wound.area")),
		c("depth_cm", "number", "cm", "newest depth", "figure wound.depth", figure("wound.depth")),
		c("reduction_pct", "number", "%", "area reduction since the first measurement of the same kind", "figure wound.reduction", figure("wound.reduction")),
		c("closure_median", "number", "d", "forecast: closed after, median, in the forecast's unit", "forecast wound.closure", closure(func(f state.Forecast) *float64 { return f.Median })),
		c("closure_low", "number", "d", "low end of its 80 % interval", "forecast wound.closure", closure(func(f state.Forecast) *float64 { return f.Low })),
		c("closure_high", "number", "d", "high end of its 80 % interval", "forecast wound.closure", closure(func(f state.Forecast) *float64 { return f.High })),
		c("pieces_in_place", "count", "", "pieces of filler in the wound; empty when not known", "filler count", func(_ Item, w wound) any {
			if !w.Count.Known {
				return nil
			}
			return w.Count.Total()
		}),
		c("count_open", "yes or no", "", "the filler count does not add up", "filler count", func(_ Item, w wound) any { return w.Count.Open() }),
		c("findings_act_now", "count", "", "open findings of level Act now about this wound", "review", level(rule.ActNow)),
		c("findings_today", "count", "", "open findings of level Today about this wound", "review", level(rule.Today)),
	)
}

func level(l rule.Level) func(Item, wound) any {
	return func(it Item, w wound) any {
		n := 0
		for _, f := range it.Review.Findings {
			if f.Wound == w.Name && f.Level == l {
				n++
			}
		}
		return n
	}
}

// Wounds has one row for each wound.
func Wounds(items []Item) Table {
	columns := woundColumns()
	t := table("wounds", columns)
	for _, it := range items {
		for i := range it.Review.State.WoundRecords() {
			t.row(it, cells(columns, it, &it.Review.State.WoundRecords()[i]))
		}
	}
	return t
}

// day is one calendar day of a case under therapy.
type day struct {
	start, end time.Time
}

func (d day) holds(t time.Time) bool { return !t.Before(d.start) && t.Before(d.end) }

func countIn[T any](d day, list []casebook.Dated[T]) int {
	n := 0
	for _, x := range list {
		if d.holds(x.At) {
			n++
		}
	}
	return n
}

func dayColumns() []maker[day] {
	c := func(name, typ, unit, words, source string, read func(Item, day) any) maker[day] {
		return maker[day]{Column{Name: name, Type: typ, Unit: unit, Words: words, Source: source}, read}
	}
	return append(caseColumns[day](),
		c("date", "date", "", "calendar day in the patient's time zone", "counting", func(_ Item, d day) any { return d.start }),
		c("day_of_therapy", "count", "d", "the day of the start is day 1", "counting", func(it Item, d day) any {
			return calendarDays(it.Review.State, *it.Review.Therapy.StartedAt, d.start) + 1
		}),
		c("changes", "count", "", "changes of dressing", "dressing.changed", func(it Item, d day) any { return countIn(d, it.Review.State.Visits()) }),
		c("measurements", "count", "", "wounds measured", "wound.measured", func(it Item, d day) any {
			n := 0
			for _, w := range it.Review.State.WoundRecords() {
				n += countIn(d, w.Measured)
			}
			return n
		}),
		c("alarms", "count", "", "alarms reported", "alarm.reported", func(it Item, d day) any { return countIn(d, it.Review.State.Alarms()) }),
		c("canister_readings", "count", "", "looks at the canister", "canister.read, dressing.changed", func(it Item, d day) any { return countIn(d, it.Review.State.Readings()) }),
		c("canister_mL", "number", "mL", "last volume read that day", "canister.read, dressing.changed", func(it Item, d day) any {
			var last any
			for _, k := range it.Review.State.Readings() {
				if d.holds(k.At) && k.Body.VolumeML != nil {
					last = *k.Body.VolumeML
				}
			}
			return last
		}),
		c("notes", "count", "", "notes written", "note.written", func(it Item, d day) any { return countIn(d, it.Review.State.Notes()) }),
	)
}

// mostDays bounds a case whose dates are wrong.
const mostDays = 3660

// Days has one row for each calendar day from the start of therapy to its end, or to the moment of the review.
func Days(items []Item) Table {
	columns := dayColumns()
	t := table("days", columns)
	for _, it := range items {
		start := it.Review.Therapy.StartedAt
		if start == nil {
			continue
		}
		end := it.Review.AsOf
		if e := it.Review.Therapy.EndedAt; e != nil {
			end = *e
		}
		for at, n := it.Review.State.Day(*start), 0; !at.After(end) && n < mostDays; n++ {
			next := it.Review.State.NextDay(at)
			t.row(it, cells(columns, it, day{at, next}))
			at = next
		}
	}
	return t
}
