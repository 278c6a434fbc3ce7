package chart

import (
	"sort"
	"time"

	"lowtide/casebook"
	"lowtide/state"
	"lowtide/unit"
)

// TideAheadTable lists, in time order, every number and word that [TideAhead] draws over the range.
func TideAheadTable(c *casebook.Case, ahead *state.FillAhead, now time.Time, r Range) Table {
	t := gather(c, now)
	out := Table{Caption: "What the tide chart shows, oldest first", Header: []string{"When", "What"}}
	add := func(at time.Time, what, value, entry string) {
		if r.Holds(at) {
			out.Rows = append(out.Rows, TableRow{at, []string{state.Clock(c.Zone, at), what, value}, entry})
		}
	}
	for _, o := range t.orders {
		add(o.from, "Order written", o.words(), o.entry)
	}
	for _, o := range c.Orders {
		if o.EndedAt != nil && !o.EndedAt.After(now) {
			add(*o.EndedAt, "Order ended", "", o.EndedBy)
		}
	}
	for _, e := range t.events {
		what := "Visit"
		value := "dressing changed"
		if e.row == rowAlarms {
			what, value = "Alarm", e.words
		}
		add(e.at, what, value, e.entry)
	}
	for _, s := range t.spells {
		value := string(s.State) + " until " + state.Clock(c.Zone, s.To)
		if s.To.Equal(now) {
			value = string(s.State) + " until now"
		}
		at := s.From
		if at.Before(r.From) && s.To.After(r.From) {
			at = r.From
		}
		add(at, "Therapy", value, s.Entry)
	}
	deliveredRows(c, t.logs, add)
	for _, s := range t.shown {
		add(s.at, "Suction shown "+s.by, unit.Suction(s.mmHg).String(), s.entry)
	}
	for _, k := range t.canisters {
		for _, rd := range k {
			switch {
			case rd.change && rd.known:
				add(rd.at, "Canister changed", unit.Volume(rd.mL).String()+" in the old one", rd.entry)
			case rd.change:
				add(rd.at, "Canister changed", "what was in the old one is not known", rd.entry)
			case rd.mL > 0 || len(k) == 1 && !newCanister(t, rd):
				add(rd.at, "Canister read", unit.Volume(rd.mL).String(), rd.entry)
			}
		}
	}
	for _, w := range t.wounds {
		for _, m := range w.Measured {
			if !m.At.After(now) {
				add(m.At, "Wound "+w.Name+" measured", sizeWords(m.Body), m.ID)
			}
		}
	}
	if t.planned != nil && t.planned.After(now) {
		add(*t.planned, "Visit planned", "", t.plannedBy)
	}
	for _, row := range fillAheadRows(ahead, now) {
		add(row.at, row.what, row.value, row.entry)
	}
	sort.SliceStable(out.Rows, func(i, j int) bool { return out.Rows[i].At.Before(out.Rows[j].At) })
	out.Rows = joinRows(out.Rows)
	return out
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
func newCanister(t told, rd reading) bool {
	for _, k := range t.canisters {
		if n := len(k); n > 0 && k[n-1].change && k[n-1].entry == rd.entry {
			return true
		}
	}
	return false
}

func sizeWords(m casebook.WoundMeasured) string {
	words := "no size given"
	if a, _, ok := state.Area(m); ok {
		words = "area " + a.String()
	}
	if m.DepthCm != nil {
		words += ", depth " + unit.Length(*m.DepthCm).String()
	}
	return words + " (" + m.Method + ")"
}

// SizeTable lists the measurements that [Size] draws.
func SizeTable(c *casebook.Case, w *casebook.Wound) Table {
	out := Table{Caption: "Measurements of wound " + w.Name + ", oldest first", Header: []string{"When", "Length × width", "Area", "Depth", "Method"}}
	cm := func(v *float64) string {
		if v == nil {
			return "not measured"
		}
		return unit.Length(*v).String()
	}
	for _, m := range w.Measured {
		b := m.Body
		sides, area, method := "not measured", "not known", b.Method
		if b.LengthCm != nil && b.WidthCm != nil {
			sides = unit.Number(*b.LengthCm, 1) + " × " + unit.Length(*b.WidthCm).String()
		}
		if a, _, ok := state.Area(b); ok {
			area = a.String()
		}
		if b.Convention != "" {
			method += ", " + b.Convention
		}
		out.Rows = append(out.Rows, TableRow{m.At, []string{state.Clock(c.Zone, m.At), sides, area, cm(b.DepthCm), method}, m.ID})
	}
	return out
}
