package page

import (
	"strings"

	"github.com/a-h/templ"
)

// described are the attributes that join a control to its hint and its problems.
func described(f FormField) templ.Attributes {
	a := templ.Attributes{}
	if ids := f.Described(); ids != "" {
		a["aria-describedby"] = ids
	}
	switch f.Control {
	case ControlRadios, ControlTicks, ControlGroup, ControlRows:
	default:
		if len(f.Problems) > 0 {
			a["aria-invalid"] = "true"
		}
	}
	return a
}

// ticked reads the value of a single tick as it was typed or recorded.
func ticked(v string) bool {
	switch strings.ToLower(strings.TrimSpace(v)) {
	case "true", "on", "yes", "1":
		return true
	}
	return false
}

func sectionID(s FormSection) templ.Attributes {
	if s.ID == "" {
		return nil
	}
	return templ.Attributes{"id": s.ID, "tabindex": "-1"}
}

// longOption is the greatest number of letters of an option that shares its line with others.
const longOption = 30

// choiceShape says how options are laid out: ticks in columns, or one a line when their words are long.
func choiceShape(f FormField) string {
	if f.Control == ControlRadios {
		return "few"
	}
	for _, o := range f.Options {
		if o.Value != "none" && len(o.Words) > longOption {
			return "long"
		}
	}
	return "many"
}
