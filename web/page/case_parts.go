package page

import (
	"fmt"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/chart"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/state"
	"lowtide/unit"
	"lowtide/wording"
)

func figureView(c *casebook.Case, f state.Figure, k Clock) FigureView {
	v := FigureView{Name: f.Name, Text: f.Text, Method: f.Method, Source: f.Source, Entries: entryLinks(c, f.Entries, k)}
	if f.At != nil {
		v.At = k.At(*f.At)
	}
	return v
}

func orderView(c *casebook.Case, r *review.Review, k Clock) OrderView {
	o := c.Order()
	if o == nil {
		v := OrderView{None: "No order is in force."}
		if n := len(c.Orders); n > 0 && c.Orders[n-1].EndedAt != nil {
			last := c.Orders[n-1]
			v.None += " The last one ended " + k.At(*last.EndedAt) + "."
			v.Entry = Link{LogPath(c.ID, last.EndedBy), "what ended it"}
		}
		return v
	}
	b := o.Body
	v := OrderView{Entry: Link{LogPath(c.ID, o.ID), "Order of " + k.At(o.At)}, Lacks: state.OrderMissing(b)}
	put := func(label, text string) {
		if text == "" {
			text = "not stated"
		}
		v.Parts = append(v.Parts, Part{label, text})
	}
	if o.Came.Claimed() {
		put("Claimed by a file", wording.Came(o.Came, k.At)+" Compare it with the prescriber's own order, and take it over in the log.")
	}
	put("Suction", wording.Stages(b.Stages))
	put("Filler", b.Filler)
	put("Contact layer", b.ContactLayer)
	every := ""
	if b.ChangeEveryH != nil {
		every = "every " + unit.Number(*b.ChangeEveryH, 1) + " h"
	}
	put("Change", every)
	put("Goal", b.Goal)
	put("Prescriber", b.Prescriber)
	if len(b.Wounds) > 0 {
		put("Wounds", strings.Join(b.Wounds, ", "))
	} else {
		put("Wounds", "all of this case")
	}
	ends := ""
	if b.DurationDays != nil {
		end := o.At.Add(time.Duration(*b.DurationDays * 24 * float64(time.Hour)))
		ends = k.Day(end) + ", after " + unit.Number(*b.DurationDays, 1) + " days"
	}
	put("Ends", ends)
	if b.Note != "" {
		put("Note", b.Note)
	}
	if f, ok := r.Figure("order.mean", ""); ok && len(b.Stages) > 1 {
		put(f.Name, f.Text)
	}
	return v
}

func woundView(c *casebook.Case, w *casebook.Wound, number int, r *review.Review, k Clock) WoundView {
	v := WoundView{Title: "Wound " + w.Name, Href: WoundPath(c.ID, w.Name)}
	put := func(label, text string) {
		if text != "" {
			v.Parts = append(v.Parts, Part{label, text})
		}
	}
	if w.Found == nil {
		put("Where", "not recorded: entries name this wound, and nobody opened it")
	} else {
		b := w.Found.Body
		put("Where", b.Site)
		put("Type", joined(", stage ", b.Type, b.Stage))
		put("12 o'clock is", b.Clock)
		v.Entries = append(v.Entries, Link{LogPath(c.ID, w.Found.ID), "Found " + k.Day(w.Found.At)})
	}
	put("Filler in the wound", inPlace(w, k))
	if n := len(w.Measured); n > 0 {
		m := w.Measured[n-1]
		put("Last size", lastSize(m.Body)+", "+k.At(m.At))
		put("Undermining", wording.Unders(m.Body.Undermining))
		put("Tunnels", wording.Unders(m.Body.Tunnels))
		if m.Body.Tissue != nil {
			put("Tissue", wording.Tissue(*m.Body.Tissue))
		}
		v.Entries = append(v.Entries, Link{LogPath(c.ID, m.ID), "Measured " + k.At(m.At)})
	} else {
		put("Last size", "not measured")
	}
	v.Open = openCounts(c, w, k)
	for _, f := range woundFigures(r, w.Name) {
		v.Figures = append(v.Figures, Part{f.Name, f.Text})
	}
	if len(w.Measured) > 1 {
		cv := chartView(c.ID, chart.Size(r.State, r.State.SizesOf(w.Name), sizeChartPx, fmt.Sprintf("size-%d", number)).SVG(), "", chart.SizeTable(r.State, r.State.SizesOf(w.Name)))
		v.Size = &cv
	}
	return v
}

func lastSize(b casebook.WoundMeasured) string {
	var out []string
	if b.LengthCm != nil && b.WidthCm != nil {
		out = append(out, unit.Number(*b.LengthCm, 1)+" × "+wording.Cm(*b.WidthCm))
	}
	if b.DepthCm != nil {
		out = append(out, wording.Cm(*b.DepthCm)+" deep")
	}
	if a, _, ok := state.Area(b); ok {
		out = append(out, "area "+a.String())
	}
	if len(out) == 0 {
		return "no size given"
	}
	return strings.Join(out, ", ")
}

// inPlace says what is in the wound and since when, or that nobody knows.
func inPlace(w *casebook.Wound, k Clock) string {
	since := ""
	if n := len(w.Changes); n > 0 {
		since = ", since " + k.At(w.Changes[n-1].At)
	} else if w.Found != nil {
		since = ", as found " + k.At(w.Found.At)
	}
	if !w.Count.Known {
		return "not known: it was not counted" + since
	}
	if len(w.Changes) == 0 && w.Count.Total() == 0 {
		return "none recorded"
	}
	return w.Count.Words() + since
}

// openCounts lists what does not add up.
func openCounts(c *casebook.Case, w *casebook.Wound, k Clock) []Link {
	var out []Link
	for _, u := range w.Count.Missing {
		out = append(out, Link{LogPath(c.ID, u.Entry), casebook.UncountedWords([]casebook.Uncounted{u}) + " did not come out at the change of " + k.At(u.At)})
	}
	for _, u := range w.Count.Surplus {
		out = append(out, Link{LogPath(c.ID, u.Entry), casebook.UncountedWords([]casebook.Uncounted{u}) + " more came out than was recorded as put in, " + k.At(u.At)})
	}
	for _, u := range w.Count.Unsure {
		out = append(out, Link{LogPath(c.ID, u.Entry), "not counted, " + k.At(u.At) + ": nobody can tell whether all is out"})
	}
	return out
}

func (p *CasePage) canister(c *casebook.Case, r *review.Review, k Clock) {
	for _, f := range r.State.Canisters {
		p.canisterOn(c, f.AsRead, f.Pump, k)
	}
}

// canisterOn says how one canister stands; pump is named where there are several.
func (p *CasePage) canisterOn(c *casebook.Case, can state.Canister, pump string, k Clock) {
	put := func(label, text string) {
		if pump != "" {
			label = "Pump " + pump + ", " + strings.ToLower(label[:1]) + label[1:]
		}
		p.Canister = append(p.Canister, Part{label, text})
	}
	switch {
	case can.VolumeML != nil && can.ChangedAt != nil && can.ReadBy == can.ChangedBy:
		put("In it", "new and empty "+k.At(*can.ReadAt)+"; not read since")
	case can.VolumeML != nil:
		put("In it", unit.Volume(*can.VolumeML).String()+", read "+k.At(*can.ReadAt))
	default:
		put("In it", "not known: no reading")
	}
	if can.SizeML != nil {
		put("Size", unit.Volume(*can.SizeML).String())
	} else {
		put("Size", "not known")
	}
	if can.ChangedAt != nil {
		put("In use since", k.At(*can.ChangedAt))
	} else {
		put("In use since", "not known: no change recorded")
	}
	if can.Colour != "" {
		put("Colour", can.Colour)
	}
	var ids []string
	for _, id := range []string{can.SizeBy, can.ChangedBy, can.ReadBy} {
		if id != "" && (len(ids) == 0 || ids[len(ids)-1] != id) {
			ids = append(ids, id)
		}
	}
	p.CanisterLinks = append(p.CanisterLinks, entryLinks(c, ids, k)...)
}

func (p *CasePage) pumps(c *casebook.Case, eq *equipment.Set, k Clock) {
	for _, u := range state.OpenPumps(c) {
		b := u.Assigned.Body
		v := PumpView{Entry: Link{LogPath(c.ID, u.Assigned.ID), "Given " + k.At(u.Assigned.At)}}
		v.Parts = append(v.Parts, Part{"Pump", b.Pump})
		switch class, ok := eq.Pump(b.Class); {
		case ok:
			v.Parts = append(v.Parts, Part{"Class", class.Words + ", " + unit.Number(class.ShallowestMmHg, 0) + " to " + unit.Number(class.DeepestMmHg, 0) + " mmHg"})
		case b.Class != "":
			v.Parts = append(v.Parts, Part{"Class", b.Class + ", which is not in the equipment list"})
		}
		if len(b.Wounds) > 0 {
			v.Parts = append(v.Parts, Part{"Wounds", strings.Join(b.Wounds, ", ")})
		}
		p.Pumps = append(p.Pumps, v)
	}
	if n := len(c.Power); n > 0 && len(p.Pumps) > 0 {
		last := c.Power[n-1]
		said := Say(last.Body, k)
		v := &p.Pumps[len(p.Pumps)-1]
		v.Parts = append(v.Parts, Part{"Last noted", said.Title + ", " + k.At(last.At)})
	}
}

// lowerFirst starts a phrase of ours with a small letter.
func lowerFirst(s string) string { return strings.ToLower(s[:1]) + s[1:] }
