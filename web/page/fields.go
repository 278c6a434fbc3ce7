package page

import (
	"net/url"
	"slices"
	"strconv"
	"strings"

	"lowtide/intake"
)

// Control says how a field of a form is drawn.
type Control string

// The ways to draw a field.
const (
	ControlLine   Control = "line"   // one line of text, also for numbers: a decimal comma and a unit may be typed
	ControlLines  Control = "lines"  // several lines of text
	ControlDate   Control = "date"   // a day
	ControlMoment Control = "moment" // a day and a time
	ControlRadios Control = "radios" // one of a few
	ControlTicks  Control = "ticks"  // any of several
	ControlTick   Control = "tick"   // a single yes
	ControlSelect Control = "select" // one of many
	ControlGroup  Control = "group"  // fields that belong together
	ControlRows   Control = "rows"   // groups that repeat
	ControlHidden Control = "hidden"
)

// FormField is one field of a form, with what was typed and what is wrong with it.
type FormField struct {
	Control Control
	// Name is the name of the control; Pointer is the name without the mark of a preset.
	Name, Pointer     string
	Label, Unit, Hint string
	Needed            bool
	Value             string
	Options           []Option
	Problems          []string
	// Keypad is the inputmode; Type the type of the input.
	Keypad, Type string
	MaxLength    int
	// Step lets the script put buttons for one more and one less beside the field.
	Step bool
	// Fields are those of a group, Rows those of rows. More tells that a row can be added.
	Fields []FormField
	Rows   [][]FormField
	More   bool
	// Wide is for fields that take the whole width.
	Wide bool
}

// ID is the element's ID: problems at the top of a form link to it.
func (f FormField) ID() string { return fieldID(f.Pointer) }

func fieldID(pointer string) string { return "f-" + strings.ReplaceAll(pointer, " ", "_") }

// Described lists the IDs of the hint and of the problems.
func (f FormField) Described() string {
	var ids []string
	if f.Hint != "" {
		ids = append(ids, f.ID()+"-hint")
	}
	if len(f.Problems) > 0 {
		ids = append(ids, f.ID()+"-wrong")
	}
	return strings.Join(ids, " ")
}

// FormSection is a part of a form under a heading.
type FormSection struct {
	// ID is set where problems link to the whole part.
	ID    string
	Title string
	Lead  []string
	Links []Link
	// Picture is a drawing on which a place can be chosen, as SVG.
	Picture string
	Fields  []FormField
	// Folded sections are closed until something is in them.
	Folded, Open bool
	Sub          []FormSection
}

// FormProblem is one problem in the list at the top.
type FormProblem struct {
	Label, Text, Remedy, Href string
}

// FormSearch looks for a patient by name or number. More tells that the list was cut.
type FormSearch struct {
	Action, Do, Who string
	More            bool
}

// FormWarning is a sentence to read before the form, with a link.
type FormWarning struct {
	Text string
	Link *Link
}

// FormPage is any page on which an entry is written.
type FormPage struct {
	Frame
	Heading  string
	Lead     []string
	Warnings []FormWarning
	Before   []Part // what is there already, in words
	Action   string
	Hidden   []FormField
	Sections []FormSection
	Submit   string
	// Then saves and goes on to signing; most forms have none.
	Then     string
	Problems []FormProblem
	// Search narrows a long list of patients; it is nil on most forms.
	Search *FormSearch
	// Back is the address to leave to without saving.
	Back Link
}

// Typed is what was typed into a form, or is put there to begin with, and what is wrong with it.
type Typed struct {
	Values   url.Values
	Problems intake.Problems
	// More names the rows to which one row is added.
	More string
}

// formBuilder makes the fields of one form and remembers which it made, so that problems can link to them.
type formBuilder struct {
	Typed
	known map[string]string // label by pointer
	// choices gives the options of fields whose words depend on the case; offers those of free text.
	choices map[string][]Option
	hints   map[string]string
	labels  map[string]string
	as      map[string]Control
}

func newFormBuilder(t Typed) *formBuilder {
	if t.Values == nil {
		t.Values = url.Values{}
	}
	return &formBuilder{Typed: t, known: map[string]string{}, choices: map[string][]Option{}, hints: map[string]string{}, labels: map[string]string{}, as: map[string]Control{}}
}

// get returns what was typed at a pointer, as a preset or not.
func (b *formBuilder) get(pointer string) string {
	for _, name := range []string{pointer, pointer + "?"} {
		if v := b.Values[name]; len(v) > 0 {
			return clean(v[len(v)-1])
		}
	}
	return ""
}

func (b *formBuilder) all(pointer string) []string {
	return append(slices.Clone(b.Values[pointer]), b.Values[pointer+"?"]...)
}

// clean makes typed bytes fit to be shown in a field again.
func clean(s string) string {
	return strings.ReplaceAll(strings.ToValidUTF8(s, "\uFFFD"), "\x00", "\uFFFD")
}

// bare drops row numbers from a pointer: hints and choices are the same for every row.
func bare(pointer string) string {
	var out []string
	for _, seg := range strings.Split(pointer, "/") {
		if _, err := strconv.Atoi(seg); err != nil {
			out = append(out, seg)
		}
	}
	return strings.Join(out, "/")
}

// fields draws every field of a body, or of a part of it, under a prefix.
func (b *formBuilder) fields(list []intake.Field, prefix string, names ...string) []FormField {
	var out []FormField
	if len(names) == 0 {
		for i := range list {
			out = append(out, b.field(&list[i], prefix))
		}
	}
	for _, name := range names {
		i := slices.IndexFunc(list, func(f intake.Field) bool { return f.Name == name })
		if i < 0 {
			panic("page: no field " + name)
		}
		out = append(out, b.field(&list[i], prefix))
	}
	return out
}

// loose are fields without a third state: a tick says yes.
var loose = map[string]bool{"none_out": true, "none_in": true, "none_under": true, "in_place_unknown": true}

// long are texts that take several lines.
var long = map[string]bool{"note": true, "text": true, "done": true, "next": true, "reasons": true, "unsure": true}

// field draws one field as its description says.
func (b *formBuilder) field(f *intake.Field, prefix string) FormField {
	p := prefix + f.Name
	out := FormField{Name: p, Pointer: p, Label: f.Words, Unit: f.Unit, Needed: f.Required, Value: b.get(p), Type: "text"}
	if l, ok := b.labels[bare(p)]; ok {
		out.Label = l
	}
	out.Hint = b.hints[bare(p)]
	b.known[p] = out.Label
	out.Problems = b.wrong(p)
	choices, chosen := b.choices[bare(p)]
	switch f.Type {
	case intake.TypeText:
		out.Control, out.MaxLength = ControlLine, f.MaxLength
		switch {
		case len(f.Enum) > 0:
			b.oneOf(&out, enumOptions(f.Enum))
		case long[f.Name]:
			out.Control, out.Wide = ControlLines, true
		case chosen:
			out.Options = choices
		}
	case intake.TypeNumber, intake.TypeCount:
		out.Control, out.Keypad = ControlLine, "decimal"
		if f.Type == intake.TypeCount {
			out.Keypad, out.Step = "numeric", true
		}
		if f.Min != nil && *f.Min < 0 {
			out.Keypad = "text" // the keypads for numbers have no minus
		}
		out.Options = choices
	case intake.TypeYesNo:
		out.Control = ControlTick
		if !loose[f.Name] {
			b.oneOf(&out, []Option{{Value: "true", Words: "Yes"}, {Value: "false", Words: "No"}})
		}
	case intake.TypeDate:
		out.Control, out.Type = ControlDate, "date"
		if out.Value != "" && !isDay(out.Value) {
			out.Type = "text"
		}
	case intake.TypeTime:
		b.moment(&out)
	case intake.TypeWords:
		b.anyOf(&out, f)
	case intake.TypeGroup:
		out.Control, out.Wide = ControlGroup, true
		out.Fields = b.fields(f.Fields, p+"/")
	case intake.TypeRows:
		b.rows(&out, f)
	default:
		out.Control = ControlHidden
	}
	if as, ok := b.as[bare(p)]; ok {
		out.Control = as
		if as == ControlSelect && chosen {
			// A list of one that must be chosen from is chosen already.
			out.Options = mark(choices, out.Value, f.Required && len(choices) == 1)
		} else if as == ControlSelect {
			out.Options = mark(enumOptions(f.Enum), out.Value, false)
		} else if as == ControlRadios && chosen {
			b.oneOf(&out, choices)
		}
	}
	if out.Needed && len(out.Options) > 0 && out.Control == ControlSelect && out.Options[0].Value == "" {
		out.Options[0].Words = "Choose"
	}
	return out
}

// moment draws a time; one that a browser's own field could not show stays text.
func (b *formBuilder) moment(out *FormField) {
	out.Control, out.Type = ControlMoment, "datetime-local"
	if out.Value != "" && !isLocal(out.Value) {
		out.Type = "text"
	}
}
