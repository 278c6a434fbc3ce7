package page

import (
	"fmt"
	"net/url"
	"slices"
	"sort"
	"strconv"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/state"
	"lowtide/wording"
)

// Fillers are the words for filler, in the order of the rows of a count.
var Fillers = []string{"foam", "dense foam", "gauze", "other"}

// MeasurePrefix leads to the fields of the measurement made at a visit for the wound in row i.
func MeasurePrefix(i int) string { return "-measure/" + strconv.Itoa(i) + "/" }

// startVisit fills the next visit and how wounds were measured last. Everything that is counted, read or seen
// stays empty.
func startVisit(v url.Values, c *casebook.Case, k Clock) {
	if every, ok := interval(c); ok {
		v.Set("next_visit", LocalValue(byDay(k.Now.Add(every), k.Now, k.Zone), k.Zone))
	}
	if len(state.PumpNames(c)) < 2 {
		v.Set("canister/size_mL?", sizeText(c))
	}
	for i := range c.Wounds {
		method, convention := measuredHow(&c.Wounds[i])
		v.Set(MeasurePrefix(i)+"method?", method)
		v.Set(MeasurePrefix(i)+"convention?", convention)
	}
}

// byDay is the latest quarter of an hour between eight and five that is not after the latest moment of the order: a
// suggestion at three in the morning helps nobody. When that has passed already, the moment itself is suggested.
func byDay(latest, now time.Time, zone *time.Location) time.Time {
	latest = latest.In(zone).Truncate(15 * time.Minute)
	at := latest
	y, m, d := latest.Date()
	switch h := latest.Hour(); {
	case h < 8:
		at = time.Date(y, m, d-1, 17, 0, 0, 0, zone)
	case h >= 17:
		at = time.Date(y, m, d, 17, 0, 0, 0, zone)
	}
	if at.Before(now) {
		return latest
	}
	return at
}

// interval is how often the order has the dressing changed.
func interval(c *casebook.Case) (time.Duration, bool) {
	o := c.Order()
	if o == nil || o.Body.ChangeEveryH == nil {
		return 0, false
	}
	return time.Duration(*o.Body.ChangeEveryH * float64(time.Hour)), true
}

// NewVisit draws the page of a visit.
func NewVisit(frame Frame, in FormInput) FormPage {
	b := newFormBuilder(in.Typed)
	b.prepare(in, "")
	b.prepare(in, "-measure/")
	c := in.Case
	p := FormPage{Frame: frame, Heading: "Visit", Action: CasePath(c.ID, "visit"), Submit: "Save the visit", Then: "Save and sign",
		Hidden: []FormField{hidden("-key", in.Key)}, Back: Link{CasePath(c.ID), "Leave without saving"}}
	if len(c.Wounds) == 0 {
		p.Warnings = append(p.Warnings, FormWarning{"No wound is recorded. A visit needs one.", &Link{CasePath(c.ID, "add", string(casebook.KindWoundFound)), "Record a wound"}})
	}
	if c.Order() == nil {
		p.Warnings = append(p.Warnings, FormWarning{"No order is in force.", &Link{CasePath(c.ID, "add", string(casebook.KindOrderWritten)), "Write the order"}})
	}
	b.known["wounds"] = "Wounds"
	rows := visitRows(in.Values, c)
	var others, measures []FormSection
	for i := range c.Wounds {
		w := &c.Wounds[i]
		s := b.visitWound(w, rows[w.Name], in)
		if treated(c, w) {
			p.Sections = append(p.Sections, s)
		} else {
			s.Title, s.Folded, s.Open = woundLabel(w)+" (not under therapy)", true, b.below("wounds/"+strconv.Itoa(rows[w.Name])+"/")
			others = append(others, s)
		}
		measures = append(measures, b.visitMeasure(w, rows[w.Name]))
	}
	p.Sections = append(p.Sections, others...)
	if len(p.Sections) > 0 {
		p.Sections[0].ID = fieldID("wounds")
	}
	p.Sections = append(p.Sections, b.visitSigns(in), b.visitPump(in), b.visitCanister(in))
	p.Sections = append(p.Sections, measures...)
	p.Sections = append(p.Sections, b.visitUsed(in), b.visitEnd(in))
	p.Problems = b.list()
	return p
}

// treated tells whether the wound is under therapy: the order names it (or names none), or filler may be in it.
func treated(c *casebook.Case, w *casebook.Wound) bool {
	if w.Count.Total() > 0 || !w.Count.Known || w.Count.Open() {
		return true
	}
	o := c.Order()
	return o == nil || len(o.Body.Wounds) == 0 || slices.Contains(o.Body.Wounds, w.Name)
}

// visitRows gives each wound its row: the one it has in the typed form, else a free one.
func visitRows(v url.Values, c *casebook.Case) map[string]int {
	rows, taken := map[string]int{}, map[int]bool{}
	for name, values := range v {
		digits, found := strings.CutPrefix(name, "wounds/")
		digits, last := strings.CutSuffix(digits, "/wound?")
		if i, err := strconv.Atoi(digits); found && last && err == nil && i >= 0 && i < maxRow && len(values) > 0 {
			if _, twice := rows[values[0]]; !twice && c.Wound(values[0]) != nil {
				rows[values[0]], taken[i] = i, true
			}
		}
	}
	next := 0
	for i := range c.Wounds {
		if _, ok := rows[c.Wounds[i].Name]; ok {
			continue
		}
		for taken[next] {
			next++
		}
		rows[c.Wounds[i].Name], taken[next] = next, true
	}
	return rows
}

func (b *formBuilder) visitWound(w *casebook.Wound, i int, in FormInput) FormSection {
	p := "wounds/" + strconv.Itoa(i) + "/"
	list := partFields(intake.FieldsOf(casebook.KindDressingChanged), "wounds")
	s := FormSection{Title: woundLabel(w)}
	s.Fields = []FormField{hidden(p+"wound?", w.Name)}
	b.known[p+"wound"] = woundLabel(w)
	if w.Count.Open() {
		for _, l := range countLines(&casebook.Case{Wounds: []casebook.Wound{*w}}, in.Clock) {
			s.Lead = append(s.Lead, "Count still open: "+l)
		}
		s.Links = []Link{{CasePath(in.Case.ID, "add", string(casebook.KindPiecesAccounted)) + "?wound=" + url.QueryEscape(w.Name), "Account for the pieces"}}
	}
	out := b.counts(p+"out", "out", w, expected(w), in)
	out.Fields = append(out.Fields, b.fields(list, p, "none_out")...)
	put := b.counts(p+"in", "in", w, "", in)
	put.Fields = append(put.Fields, b.fields(list, p, "none_in", "contact_layer")...)
	look := FormSection{Title: "Look", Fields: b.fields(list, p, "bed", "periwound", "exudate")}
	if same := b.sameFields(in.Case, w, i); same != nil {
		look.Title, look.Folded, look.Open = "Otherwise", true, b.below(p+"bed") || b.below(p+"periwound") || b.below(p+"exudate")
		look = FormSection{Title: "Look", Fields: same, Sub: []FormSection{look}}
	}
	s.Sub = []FormSection{out, put, look}
	return s
}

// expected says what should come out. It is said in words; the field beside it stays empty, so that it is counted.
func expected(w *casebook.Wound) string {
	if !w.Count.Known {
		return "How much filler is in place is not known. Count every piece that comes out."
	}
	var parts []string
	for f, n := range w.Count.InPlace {
		if n == 1 {
			parts = append(parts, "1 "+f+" is in place")
		} else if n > 1 {
			parts = append(parts, fmt.Sprintf("%d %s are in place", n, f))
		}
	}
	if len(parts) == 0 {
		return "No filler is recorded as in place."
	}
	sort.Strings(parts)
	return strings.Join(parts, ", ") + ". Count what comes out."
}

// counts draws one count for each filler: those that matter here, and the others folded.
func (b *formBuilder) counts(p, side string, w *casebook.Wound, lead string, in FormInput) FormSection {
	title := "Pieces taken out"
	near := map[string]bool{}
	if side == "in" {
		title, lead = "Pieces put in", "Count a bridge as a piece of its own."
	} else {
		for f, n := range w.Count.InPlace {
			near[f] = n > 0
		}
	}
	b.known[p] = woundLabel(w) + ": " + strings.ToLower(title)
	if o := in.Case.Order(); o != nil && o.Body.Filler != "" && (side == "in" || len(near) == 0) {
		near[o.Body.Filler] = true
	}
	if len(near) == 0 {
		near["foam"] = true
	}
	s := FormSection{Title: title, Lead: []string{lead}, ID: fieldID(p)}
	rest := FormSection{Title: "Another filler " + map[string]string{"out": "taken out", "in": "put in"}[side], Folded: true}
	for i, f := range Fillers {
		row := p + "/" + strconv.Itoa(i) + "/"
		count := FormField{Control: ControlLine, Name: row + "count", Pointer: row + "count", Label: sentence(f) + map[string]string{"out": ", pieces out", "in": ", pieces in"}[side],
			Value: b.get(row + "count"), Problems: b.wrong(row + "count"), Keypad: "numeric", Type: "text", Step: true}
		b.known[row+"count"] = count.Label
		both := []FormField{hidden(row+"filler?", f), count}
		if near[f] {
			s.Fields = append(s.Fields, both...)
		} else {
			rest.Fields = append(rest.Fields, both...)
			rest.Open = rest.Open || b.below(row)
		}
	}
	if len(rest.Fields) > 0 {
		s.Sub = []FormSection{rest}
	}
	return s
}

func (b *formBuilder) visitSigns(in FormInput) FormSection {
	list := intake.FieldsOf(casebook.KindDressingChanged)
	s := FormSection{Title: "The patient", Fields: b.fields(list, "", "signs", "pain")}
	s.Sub = []FormSection{{Title: "Temperature", Folded: true, Open: b.below("temperature_C"), Fields: b.fields(list, "", "temperature_C")}}
	yes, known, _ := state.Screened(in.Case, "cord_injury")
	if yes || !known {
		words := "The patient has a spinal cord injury."
		if !yes {
			words = "Whether the patient has a spinal cord injury is not known."
		}
		pressure := FormSection{Title: "Blood pressure", Lead: []string{words + " A rise of the systolic pressure can be the first sign of autonomic dysreflexia."}, Fields: b.fields(list, "", "systolic_mmHg", "systolic_usual_mmHg")}
		s.Sub = append(s.Sub, pressure)
	}
	if settle := b.fields(list, "", "settles", "done"); len(settle[0].Options) > 0 {
		s.Sub = append(s.Sub, FormSection{Title: "Signs seen earlier", Fields: settle})
	}
	return s
}

func (b *formBuilder) visitPump(in FormInput) FormSection {
	list := intake.FieldsOf(casebook.KindDressingChanged)
	power := partFields(list, "power")
	s := FormSection{Title: "Seal and pump", Fields: b.fields(list, "", "seal", "suction_mmHg")}
	if o := in.Case.Order(); o != nil {
		s.Lead = []string{"Ordered: " + wording.Stages(o.Body.Stages) + "."}
	}
	s.Fields = append(s.Fields, b.whosePump(power, "power/", in)...)
	s.Fields = append(s.Fields, b.fields(power, "power/", "therapy", "battery_pct", "plugged_in")...)
	test, place := partFields(list, "hold_test"), partFields(list, "pump_place")
	more := FormSection{Title: "Seal test, place of the pump, plan for mains, note", Folded: true}
	more.Sub = []FormSection{{Title: "Seal test", Open: b.below("hold_test/") || b.below("motor_pct"), Lead: []string{"Pause the pump, read the suction, wait, read it again, start the pump. Only where the device's instructions and the local protocol allow a pause. Or, without a pause, how much of the time the motor runs."}, Fields: append(b.fields(test, "hold_test/"), b.fields(list, "", "motor_pct")...)},
		{Title: "Place of the pump and plan for mains", Open: b.below("pump_place/") || b.below("power/plug_in_at"), Fields: append(b.fields(place, "pump_place/"), b.fields(power, "power/", "plug_in_at")...)},
		{Title: "Note on the pump", Open: b.below("power/note"), Fields: b.fields(power, "power/", "note")}}
	for _, x := range more.Sub {
		more.Open = more.Open || x.Open
	}
	s.Sub = []FormSection{more}
	return s
}

func (b *formBuilder) visitCanister(in FormInput) FormSection {
	list := partFields(intake.FieldsOf(casebook.KindDressingChanged), "canister")
	s := FormSection{Title: "Canister", Fields: append(b.whosePump(list, "canister/", in), b.fields(list, "canister/", "volume_mL", "colour", "changed")...)}
	if len(state.PumpNames(in.Case)) > 1 {
		s.Lead = []string{"One canister can be written here. Add the other pump's as a canister reading."}
		s.Links = []Link{{CasePath(in.Case.ID, "add", string(casebook.KindCanisterRead)), "Canister reading"}}
	} else if size := sizeText(in.Case); size != "" {
		s.Lead = []string{"The canister in place holds " + size + " mL."}
	}
	b.as["canister/size_mL"] = ControlSelect
	size := preset(b.fields(list, "canister/", "size_mL")[0])
	s.Sub = []FormSection{{Title: "Another size, or a note on the canister", Folded: true, Open: b.below("canister/note") || b.below("canister/size_mL"), Fields: append([]FormField{size}, b.fields(list, "canister/", "note")...)}}
	if size.Value == "" {
		s.Fields, s.Sub[0].Fields, s.Sub[0].Title = append(s.Fields, size), s.Sub[0].Fields[1:], "Note on the canister"
	}
	return s
}

// visitMeasure is the measurement of one wound: it is written only when something of it is filled in.
func (b *formBuilder) visitMeasure(w *casebook.Wound, i int) FormSection {
	p := MeasurePrefix(i)
	s := FormSection{Title: "Measurement of wound " + w.Name, Folded: true, Open: b.below(p)}
	s.Sub = b.measure(p)
	for i := range s.Sub {
		for j := range s.Sub[i].Fields {
			switch f := &s.Sub[i].Fields[j]; strings.TrimPrefix(f.Pointer, p) {
			case "wound":
				*f = hidden(f.Pointer+"?", w.Name)
			case "method", "convention":
				*f = preset(*f)
			}
		}
	}
	if n := len(w.Measured); n > 0 {
		s.Lead = []string{"Last time: " + lastSize(w.Measured[n-1].Body) + "."}
	}
	return s
}

func (b *formBuilder) visitEnd(in FormInput) FormSection {
	b.hints["next_visit"] = "The order does not say how often to change, so no time is suggested."
	if every, ok := interval(in.Case); ok {
		b.hints["next_visit"] = fmt.Sprintf("Suggested from the order: a change every %s h. Change it, or clear it when no visit is planned.", strconv.FormatFloat(every.Hours(), 'f', -1, 64))
	}
	list := intake.FieldsOf(casebook.KindDressingChanged)
	s := FormSection{Title: "Next visit and note", Fields: b.fields(list, "", "next_visit")}
	s.Sub = []FormSection{{Title: "Note", Folded: true, Open: b.below("note"), Fields: b.fields(list, "", "note")},
		{Title: "Not now, but earlier", Folded: true, Open: len(b.wrong("at")) > 0, Fields: []FormField{b.when("at", "When this visit was", in.Clock)}}}
	return s
}

// partFields returns the fields of a group or of the rows with the name.
func partFields(list []intake.Field, name string) []intake.Field {
	i := slices.IndexFunc(list, func(f intake.Field) bool { return f.Name == name })
	if i < 0 {
		panic("page: no part " + name)
	}
	return list[i].Fields
}
