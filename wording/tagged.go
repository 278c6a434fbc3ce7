package wording

import (
	"reflect"
	"strconv"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/unit"
)

// tagged says a body by its tags: the title of its kind, then each field that holds something, in the order of the form.
func (s *sayer) tagged(b casebook.Body) {
	if b == nil {
		s.Title = "Entry without content"
		return
	}
	s.Title = Kind(b.Kind())
	s.Parts = s.fields(intake.FieldsOf(b.Kind()), reflect.ValueOf(b))
}

func (s *sayer) fields(list []intake.Field, body reflect.Value) []Part {
	t := &sayer{at: s.at}
	for _, f := range list {
		v := f.In(body)
		if v.Kind() == reflect.Pointer {
			if v.IsNil() {
				continue
			}
			v = v.Elem()
		}
		switch f.Type {
		case intake.TypeGroup:
			t.put(f.Words, joined(s.fields(f.Fields, v)))
		case intake.TypeRows:
			for i := range v.Len() {
				t.put(f.Words, joined(s.fields(f.Fields, v.Index(i))))
			}
		case intake.TypeAnswers:
			answers := v.Interface().(map[string]string)
			for _, q := range casebook.Questions {
				t.put(q.Words, answers[q.ID])
			}
		case intake.TypeWords:
			t.list(f.Words, v.Interface().([]string))
		default:
			t.put(f.Words, s.value(f, v))
		}
	}
	return t.Parts
}

// value says a field that holds one value; empty when it holds nothing.
func (s *sayer) value(f intake.Field, v reflect.Value) string {
	switch x := v.Interface().(type) {
	case time.Time:
		if x.IsZero() {
			return ""
		}
		return s.at(x)
	case float64:
		return strings.TrimSpace(unit.Number(x, 2) + " " + f.Unit)
	case int:
		return strings.TrimSpace(strconv.Itoa(x) + " " + f.Unit)
	case bool:
		return map[bool]string{true: "yes", false: "no"}[x]
	case string:
		return x
	}
	return ""
}

// joined puts the parts of a group into one line.
func joined(parts []Part) string {
	var out []string
	for _, p := range parts {
		out = append(out, p.Label+" "+p.Text)
	}
	return strings.Join(out, ", ")
}
