package page

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/intake"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
	"lowtide/stock"
	"lowtide/unit"
	"lowtide/wording"
)

// FormInput is what the form of an entry is drawn from.
type FormInput struct {
	Typed
	// Case and Review are nil while the case is only being made.
	Case      *casebook.Case
	Review    *review.Review
	Equipment *equipment.Set
	// Rules hold the payers' policies; they may be nil.
	Rules *rule.Set
	Clock Clock
	Key   string
	// Lots are those that the writer has at hand by the record, for the form of a visit.
	Lots []stock.Lot
}

// NewEntryForm draws the form of a kind, with the fields that its body has.
func NewEntryForm(frame Frame, kind casebook.Kind, in FormInput) FormPage {
	b := newFormBuilder(in.Typed)
	b.prepare(in, "")
	id := in.Case.ID
	p := FormPage{Frame: frame, Heading: formTitle(kind), Action: CasePath(id, "add", string(kind)), Submit: "Save",
		Hidden: []FormField{hidden("-key", in.Key)}, Back: Link{CasePath(id), "Leave without saving"}}
	p.Warnings = formWarnings(kind, in)
	p.Sections = b.sections(kind, "", in)
	p.Sections = append(p.Sections, FormSection{Title: "When", Fields: []FormField{b.when("at", "When it happened", in.Clock)}})
	p.Problems = b.list()
	return p
}

// formTitle is the heading of a kind's form.
func formTitle(k casebook.Kind) string { return wording.Kind(k) }

// when draws the time of the entry.
func (b *formBuilder) when(pointer, label string, k Clock) FormField {
	f := FormField{Name: pointer, Pointer: pointer, Label: label, Needed: true, Value: b.get(pointer), Problems: b.wrong(pointer),
		Hint: "Clock time in " + k.Zone.String() + ". Change it when you write later than it happened."}
	b.known[pointer] = label
	b.moment(&f)
	return f
}

// sections arranges the fields of a kind; a kind without an arrangement of its own has them in one part.
func (b *formBuilder) sections(kind casebook.Kind, prefix string, in FormInput) []FormSection {
	list := intake.FieldsOf(kind)
	one := func(title string, names ...string) FormSection {
		return FormSection{Title: title, Fields: b.fields(list, prefix, names...)}
	}
	b.as[prefix+"wound"], b.as[prefix+"wounds/wound"] = ControlSelect, ControlSelect
	switch kind {
	case casebook.KindPersonRegistered:
		return []FormSection{one("Who", "name", "born", "record", "mobility", "language", "weight_kg"),
			one("Where", "place", "address", "altitude_m", "zone", "nurse", "team"), one("People to call", "contacts")}
	case casebook.KindWoundFound:
		// The name of a new wound is typed, not chosen.
		delete(b.as, prefix+"wound")
		delete(b.choices, prefix+"wound")
		b.as[prefix+"spot"] = ControlSelect
		place := one("Body map", "spot", "side")
		place.Picture, place.Lead = bodyPicker(in.Case, in.Clock.Now), []string{"Tap the place, or choose it from the list. The words above stay as you write them."}
		return []FormSection{one("The wound", "wound", "site", "type", "stage", "since"), place,
			one("What matters for therapy", "limb", "circumferential", "poor_perfusion", "infected", "clock"),
			one("Filler in the wound when this service took over", "in_place", "in_place_unknown")}
	case casebook.KindScreeningDone:
		return append(b.screening(prefix, in), one("", "note"))
	case casebook.KindOrderWritten:
		risks := one("Risks accepted", "accepts_risks")
		if len(risks.Fields[0].Options) == 0 {
			risks.Lead = []string{"No screening question was answered yes, so there is no risk to confirm."}
		}
		stages := one("Suction", "stages")
		stages.Lead = []string{"One stage is continuous therapy. With several stages the pump goes through them and starts again.",
			"Write suction as the order has it, as a depth below ambient in mmHg, without a minus. If the order is in another unit, type the unit too, such as 16.7 kPa: it is converted."}
		return []FormSection{stages, one("Dressing", "wounds", "filler", "contact_layer", "change_every_h"),
			one("Therapy", "prescriber", "goal", "goal_kind", "goal_depth_cm", "goal_granulation_pct", "goal_area_cm2", "duration_days"), risks, one("", "note")}
	case casebook.KindDecisionMade:
		return []FormSection{one("What was decided", "choice", "by", "wounds", "next_at"), one("Why, and how sure", "wish", "reasons", "unsure"),
			one("What follows", "tried", "next", "note")}
	case casebook.KindWoundMeasured:
		return b.measure(prefix)
	case casebook.KindPhotoTaken:
		return []FormSection{one("", "wound", "head", "taken_by", "note")}
	case casebook.KindNoteWritten:
		return b.note(prefix)
	case casebook.KindPowerNoted, casebook.KindAlarmReported:
		rest := slices.DeleteFunc(b.fields(list, prefix), func(f FormField) bool { return f.Pointer == prefix+"pump" })
		return []FormSection{{Fields: append(b.whosePump(list, prefix, in), rest...)}}
	case casebook.KindCanisterRead:
		return []FormSection{{Fields: append(b.whosePump(list, prefix, in), b.fields(list, prefix, "volume_mL", "colour", "changed", "size_mL", "note")...)}}
	}
	return []FormSection{{Fields: b.fields(list, prefix)}}
}

// whosePump asks which pump it is about, where the patient has several or one is named already.
func (b *formBuilder) whosePump(list []intake.Field, prefix string, in FormInput) []FormField {
	p := prefix + "pump"
	names := state.PumpNames(in.Case)
	if len(names) < 2 && b.get(p) == "" && len(b.wrong(p)) == 0 {
		return nil
	}
	if typed := b.get(p); typed != "" && !slices.Contains(names, typed) {
		names = append(names, typed)
	}
	b.choices[p] = nil
	for _, name := range names {
		b.choices[p] = append(b.choices[p], Option{Value: name, Words: pumpWords(in.Case, name)})
	}
	b.as[p], b.labels[p] = ControlRadios, "Which pump"
	b.hints[p] = "There are several pumps, and each is judged by itself: what names none cannot be forecast."
	return b.fields(list, prefix, "pump")
}

// pumpWords names a pump with the wounds that it is on.
func pumpWords(c *casebook.Case, name string) string {
	open := state.OpenPumps(c)
	for i := len(open) - 1; i >= 0; i-- {
		if b := open[i].Assigned.Body; b.Pump == name && len(b.Wounds) > 0 {
			return name + ", wound " + strings.Join(b.Wounds, ", ")
		}
	}
	return name
}

// measure arranges the fields of a measurement.
func (b *formBuilder) measure(prefix string) []FormSection {
	list := intake.FieldsOf(casebook.KindWoundMeasured)
	one := func(title string, names ...string) FormSection {
		return FormSection{Title: title, Fields: b.fields(list, prefix, names...)}
	}
	return []FormSection{one("Size", "wound", "method", "convention", "length_cm", "width_cm", "depth_cm", "area_cm2", "perimeter_cm", "volume_cm3", "volume_method"),
		one("Undermining and tunnels", "undermining", "tunnels", "none_under"), one("Bed", "tissue", "bed_level"), one("", "note")}
}

func (b *formBuilder) note(prefix string) []FormSection {
	list := intake.FieldsOf(casebook.KindNoteWritten)
	first := []string{"text"}
	// Only a note that names a drug against clotting is asked about it.
	if casebook.ClotDrugIn(b.get(prefix+"text")) != "" || b.get(prefix+"clot_drug") != "" {
		first = append(first, "clot_drug")
		b.as[prefix+"clot_drug"] = ControlRadios
	}
	out := []FormSection{{Fields: b.fields(list, prefix, append(first, "prescriber_told", "about", "wish")...)}}
	out = append(out, FormSection{Title: "Danger signs", Lead: []string{"Leave this open when you did not look. Nothing ticked is never read as none."}, Fields: b.fields(list, prefix, "signs")})
	if f := b.fields(list, prefix, "settles", "done"); len(f[0].Options) > 0 {
		out = append(out, FormSection{Title: "Signs dealt with", Fields: f})
	}
	return append(out, FormSection{Title: "Also seen", Folded: true, Open: b.below(prefix+"temperature_C") || b.below(prefix+"systolic") || b.below(prefix+"pain"),
		Fields: b.fields(list, prefix, "pain", "temperature_C", "systolic_mmHg", "systolic_usual_mmHg")},
		FormSection{Title: "Next visit", Fields: b.fields(list, prefix, "next_visit")})
}

// screening puts the questions by group, each with its three answers and none chosen.
func (b *formBuilder) screening(prefix string, in FormInput) []FormSection {
	wound := b.fields(intake.FieldsOf(casebook.KindScreeningDone), prefix, "wound")
	if o := wound[0].Options; len(o) > 0 && o[0].Value == "" {
		o[0].Words = "All wounds"
	}
	out := []FormSection{{Lead: []string{"A question without an answer stays unknown; it is never read as no."}, Fields: wound}}
	for _, q := range casebook.Questions {
		if out[len(out)-1].Title != q.Group {
			out = append(out, FormSection{Title: q.Group})
		}
		s := &out[len(out)-1]
		s.Fields = append(s.Fields, b.question(prefix, q, in))
	}
	return out
}

func (b *formBuilder) question(prefix string, q casebook.Question, in FormInput) FormField {
	p := prefix + "answers/" + q.ID
	f := FormField{Control: ControlRadios, Name: p, Pointer: p, Label: q.Words, Value: b.get(p), Problems: b.wrong(p), Wide: true}
	b.known[p] = q.Words
	f.Options = mark([]Option{{Value: casebook.AnswerYes, Words: "Yes"}, {Value: casebook.AnswerNo, Words: "No"}, {Value: casebook.AnswerUnknown, Words: "Not known"}}, f.Value, true)
	if in.Case != nil && len(in.Case.Screenings) > 0 {
		yes, known, _ := state.Screened(in.Case, q.ID)
		switch {
		case yes:
			f.Hint = "Recorded so far: yes"
		case known:
			f.Hint = "Recorded so far: no"
		}
	}
	if in.Case != nil && f.Hint == "" {
		switch a := state.AnsweredBefore(in.Case)[q.ID]; {
		case a != "":
			f.Hint = "Taken over from what is recorded: " + a
		case q.ID == "intermittent_mode" && in.Case.Order() == nil:
			f.Hint = "Leave it open until there is an order."
		}
	}
	return f
}

// prepare sets the choices and the words that depend on the case, for fields under a prefix.
func (b *formBuilder) prepare(in FormInput, prefix string) {
	for name, hint := range formHints {
		b.hints[prefix+name] = hint
	}
	b.as[prefix+"contacts/role"] = ControlSelect
	if in.Equipment != nil {
		b.equip(in.Equipment, prefix)
	}
	if in.Case == nil {
		return
	}
	c := in.Case
	var wounds []Option
	for i := range c.Wounds {
		wounds = append(wounds, Option{Value: c.Wounds[i].Name, Words: woundLabel(&c.Wounds[i])})
	}
	b.choices[prefix+"wounds"] = wounds
	for _, name := range []string{"wound", "wounds/wound"} {
		b.choices[prefix+name] = wounds
	}
	var settles []Option
	for _, s := range state.OpenSigns(c) {
		settles = append(settles, Option{Value: s.Sign, Words: fmt.Sprintf("%s, seen %s", sentence(s.Sign), in.Clock.near(s.Since))})
	}
	b.choices[prefix+"settles"] = settles
	var risks []Option
	for _, q := range casebook.Questions {
		if yes, _, _ := state.Screened(c, q.ID); yes {
			risks = append(risks, Option{Value: q.ID, Words: q.Words})
		}
	}
	b.choices[prefix+"accepts_risks"] = risks
	if in.Review != nil {
		b.choices[prefix+"about"] = aboutOptions(in.Review)
	}
	var pumps []Option
	for _, u := range state.OpenPumps(c) {
		pumps = append(pumps, Option{Value: u.Assigned.Body.Pump, Words: u.Assigned.Body.Pump})
	}
	b.choices[prefix+"pump"] = pumps
	b.choices[prefix+"signs"] = signOptions()
	b.payers(in, prefix)
}

// signOptions are the danger signs in the order of the review, with the explicit "none" first.
func signOptions() []Option {
	out := []Option{{Value: "none", Words: "None of these, I looked"}}
	for _, s := range state.Signs {
		out = append(out, Option{Value: s, Words: sentence(s)})
	}
	return out
}

// aboutOptions offers the findings that are open, once each.
func aboutOptions(r *review.Review) []Option {
	var out []Option
	for _, f := range r.Findings {
		if f.Level != rule.Note && !slices.ContainsFunc(out, func(o Option) bool { return o.Value == f.Rule }) {
			out = append(out, Option{Value: f.Rule, Words: f.Headline})
		}
	}
	return out
}

func (b *formBuilder) equip(eq *equipment.Set, prefix string) {
	var classes, sizes, items []Option
	for _, p := range eq.Pumps {
		classes = append(classes, Option{Value: p.ID, Words: sentence(p.Words)})
	}
	for _, k := range eq.Canisters {
		sizes = append(sizes, Option{Value: strconv.FormatFloat(k.SizeML, 'f', -1, 64), Words: unit.Volume(k.SizeML).String()})
	}
	for _, i := range eq.Items {
		items = append(items, Option{Value: i.Words, Words: i.Words})
	}
	b.choices[prefix+"class"], b.as[prefix+"class"] = classes, ControlSelect
	b.choices[prefix+"item"] = items
	b.choices[prefix+"used/item"] = items
	for _, name := range []string{"canister_mL", "size_mL", "canister/size_mL"} {
		b.choices[prefix+name] = sizes
	}
}

// woundLabel names a wound with its place on the body.
func woundLabel(w *casebook.Wound) string {
	if w.Found == nil {
		return "Wound " + w.Name
	}
	return "Wound " + w.Name + ", " + w.Found.Body.Site
}
