package page

import (
	"slices"
	"strings"

	"lowtide/intake"
	"lowtide/wording"
)

// fewRadios is the greatest number of words offered as buttons rather than as a list.
const fewRadios = 5

// oneOf makes radios of a few options and a list of many.
func (b *formBuilder) oneOf(out *FormField, options []Option) {
	out.Options = mark(options, out.Value, true)
	out.Control = ControlRadios
	if len(options) > fewRadios {
		out.Control = ControlSelect
		out.Options = mark(options, out.Value, false)
	} else if !out.Needed {
		out.Options = append(out.Options, Option{Value: "", Words: "Not said", Selected: out.Value == ""})
	}
}

// mark selects the value. One that is not among the options is added, so that nothing typed is lost; with
// whole false there is a first option that says nothing.
func mark(options []Option, value string, whole bool) []Option {
	var out []Option
	if !whole {
		out = append(out, Option{Words: "Not said", Selected: value == ""})
	}
	found := value == ""
	for _, o := range options {
		o.Selected = o.Value == value && value != ""
		found = found || o.Selected
		out = append(out, o)
	}
	if !found {
		out = append(out, Option{Value: value, Words: value, Selected: true})
	}
	return out
}

func enumOptions(words []string) []Option {
	var out []Option
	for _, w := range words {
		out = append(out, Option{Value: w, Words: sentence(w)})
	}
	return out
}

// sentence starts with a capital letter.
func sentence(s string) string { return wording.Sentence(s) }

// anyOf draws a list of words: ticks for known words, and for the rest a line with commas is not offered, because a
// word may hold one; each typed word stays as a tick.
func (b *formBuilder) anyOf(out *FormField, f *intake.Field) {
	out.Control, out.Wide = ControlTicks, true
	typed := b.all(out.Pointer)
	options := enumOptions(f.Enum)
	if choices, ok := b.choices[bare(out.Pointer)]; ok {
		options = choices
	}
	for _, o := range options {
		o.Selected = slices.Contains(typed, o.Value)
		out.Options = append(out.Options, o)
	}
	for _, v := range typed {
		if v = clean(v); strings.TrimSpace(v) != "" && !slices.ContainsFunc(out.Options, func(o Option) bool { return o.Value == v }) {
			out.Options = append(out.Options, Option{Value: v, Words: v, Selected: true})
		}
	}
}
