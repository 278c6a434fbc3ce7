package chart

import (
	"sort"
	"strings"
	"time"

	"lowtide/state"
	"lowtide/unit"
)

// Table lists, in time order, every number and word that the drawing shows.
func (t *Tide) Table() Table {
	now, zone := t.s.AsOf, t.s.Zone()
	out := Table{Caption: "What the tide chart shows, oldest first", Header: []string{"When", "What"}}
	add := func(at time.Time, what, value, entry string) {
		if t.Holds(at) {
			out.Rows = append(out.Rows, TableRow{at, []string{state.Clock(zone, at), what, value}, entry})
		}
	}
	each := func(do func(p pumpTide, of string)) {
		for _, p := range t.pumps {
			of := ""
			if p.Pump != "" {
				of = " of pump " + p.Pump
			}
			do(p, of)
		}
	}
	each(func(p pumpTide, of string) {
		for _, o := range p.Orders {
			add(o.From, "Order written"+forPump(of), orderWords(o), o.Entry)
		}
	})
	each(func(p pumpTide, of string) {
		for _, o := range p.Orders {
			if o.Ended != "" {
				add(o.To, "Order ended"+forPump(of), "", o.Ended)
			}
		}
	})
	for _, e := range t.tide.Visits {
		add(e.At, "Visit", e.Words, e.Entry)
	}
	for _, e := range t.tide.Alarms {
		add(e.At, "Alarm", e.Words, e.Entry)
	}
	each(func(p pumpTide, of string) {
		for _, s := range p.Spells {
			value := doingWords(s.Doing) + " until " + state.Clock(zone, s.To)
			if s.To.Equal(now) {
				value = doingWords(s.Doing) + " until now"
			}
			at := s.From
			if at.Before(t.From) && s.To.After(t.From) {
				at = t.From
			}
			add(at, "Therapy"+of, value, s.Entry)
		}
	})
	each(func(p pumpTide, _ string) { deliveredRows(zone, p.Logs, add) })
	each(func(p pumpTide, of string) {
		for _, s := range p.Shown {
			what := "Suction shown at a visit"
			if s.AtAlarm {
				what = "Suction shown at an alarm"
			}
			add(s.At, what+of, s.Suction.String(), s.Entry)
		}
	})
	for _, s := range t.tide.Unnamed {
		what := "Suction shown at a visit"
		if s.AtAlarm {
			what = "Suction shown at an alarm"
		}
		add(s.At, what+", pump not named", s.Suction.String(), s.Entry)
	}
	each(func(p pumpTide, of string) { canisterRows(p.Canisters, of, add) })
	canisterRows(t.tide.UnnamedCanisters, " of a pump not named", add)
	for _, w := range t.tide.Wounds {
		for _, m := range w.Sizes {
			add(m.At, "Wound "+w.Wound+" measured", sizeWords(m), m.Entry)
		}
	}
	if t.tide.Planned != nil && t.tide.Planned.After(now) {
		add(*t.tide.Planned, "Visit planned", "", t.tide.PlannedBy)
	}
	each(func(p pumpTide, of string) {
		for _, row := range fillAheadRows(p.ahead, of, now) {
			add(row.at, row.what, row.value, row.entry)
		}
	})
	sort.SliceStable(out.Rows, func(i, j int) bool { return out.Rows[i].At.Before(out.Rows[j].At) })
	out.Rows = joinRows(out.Rows)
	return out
}

// forPump turns " of pump P" into " for pump P".
func forPump(of string) string { return strings.Replace(of, " of ", " for ", 1) }

func canisterRows(canisters [][]state.CanisterPoint, of string, add func(at time.Time, what, value, entry string)) {
	for _, k := range canisters {
		for _, r := range k {
			switch {
			case r.Changed && r.Known:
				add(r.At, "Canister"+of+" changed", unit.Volume(r.ML).String()+" in the old one", r.Entry)
			case r.Changed:
				add(r.At, "Canister"+of+" changed", "what was in the old one is not known", r.Entry)
			case r.ML > 0 || len(k) == 1 && !newCanister(canisters, r):
				add(r.At, "Canister"+of+" read", unit.Volume(r.ML).String(), r.Entry)
			}
		}
	}
}

// joinRows makes one row of what one entry tells of one moment.
func joinRows(rows []TableRow) []TableRow {
	var out []TableRow
	first := map[string]int{}
	for _, r := range rows {
		what := r.Cells[1]
		if r.Cells[2] != "" {
			what += ": " + r.Cells[2]
		}
		key := r.Entry + " " + r.Cells[0]
		if i, ok := first[key]; ok && r.Entry != "" {
			out[i].Cells[1] += "; " + what
			continue
		}
		first[key] = len(out)
		out = append(out, TableRow{r.At, []string{r.Cells[0], what}, r.Entry})
	}
	return out
}

// newCanister tells whether the reading only stands for the empty canister that a change put in.
func newCanister(canisters [][]state.CanisterPoint, r state.CanisterPoint) bool {
	for _, k := range canisters {
		if n := len(k); n > 0 && k[n-1].Changed && k[n-1].Entry == r.Entry {
			return true
		}
	}
	return false
}

func sizeWords(m state.WoundSize) string {
	words := "no size given"
	if a, ok := m.AreaCm2(); ok {
		words = "area " + unit.Area(a).String()
	}
	if m.DepthCm != nil {
		words += ", depth " + unit.Length(*m.DepthCm).String()
	}
	return words + " (" + m.Method + ")"
}

// SizeTable lists the measurements that [Size] draws.
func SizeTable(s *state.State, w state.WoundSizes) Table {
	out := Table{Caption: "Measurements of wound " + w.Wound + ", oldest first", Header: []string{"When", "Length × width", "Area", "Depth", "Method"}}
	cm := func(v *float64) string {
		if v == nil {
			return "not measured"
		}
		return unit.Length(*v).String()
	}
	for _, m := range w.Sizes {
		sides, area, method := "not measured", "not known", m.Method
		if m.LengthCm != nil && m.WidthCm != nil {
			sides = unit.Number(*m.LengthCm, 1) + " × " + unit.Length(*m.WidthCm).String()
		}
		if a, ok := m.AreaCm2(); ok {
			area = unit.Area(a).String()
		}
		if m.Convention != "" {
			method += ", " + m.Convention
		}
		out.Rows = append(out.Rows, TableRow{m.At, []string{state.Clock(s.Zone(), m.At), sides, area, cm(m.DepthCm), method}, m.Entry})
	}
	return out
}
