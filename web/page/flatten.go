package page

import (
	"encoding/json"
	"fmt"
	"net/url"
	"strconv"
	"time"

	"lowtide/casebook"
	"lowtide/intake"
)

// Flatten writes a body into the names and texts of a form, so that reading the form gives the same body.
func Flatten(body casebook.Body, zone *time.Location) url.Values {
	out := url.Values{}
	raw, err := json.Marshal(body)
	if err != nil {
		return out // only a body of an unknown kind can hold what is no JSON
	}
	var whole map[string]json.RawMessage
	if json.Unmarshal(raw, &whole) != nil {
		return out
	}
	flattenGroup(out, intake.FieldsOf(body.Kind()), whole, "", zone)
	return out
}

func flattenGroup(out url.Values, fields []intake.Field, whole map[string]json.RawMessage, prefix string, zone *time.Location) {
	for _, f := range fields {
		if raw, ok := whole[f.Name]; ok {
			flatten(out, f, raw, prefix+f.Name, zone)
		}
	}
}

func flatten(out url.Values, f intake.Field, raw json.RawMessage, name string, zone *time.Location) {
	switch f.Type {
	case intake.TypeGroup:
		var in map[string]json.RawMessage
		if json.Unmarshal(raw, &in) == nil {
			flattenGroup(out, f.Fields, in, name+"/", zone)
		}
	case intake.TypeRows:
		var rows []map[string]json.RawMessage
		if json.Unmarshal(raw, &rows) == nil {
			for i, row := range rows {
				flattenGroup(out, f.Fields, row, name+"/"+strconv.Itoa(i)+"/", zone)
			}
		}
	case intake.TypeWords:
		var words []string
		if json.Unmarshal(raw, &words) == nil && len(words) > 0 {
			out[name] = words
		}
	case intake.TypeAnswers:
		var answers map[string]string
		if json.Unmarshal(raw, &answers) == nil {
			for q, a := range answers {
				out.Set(name+"/"+q, a)
			}
		}
	case intake.TypeTime:
		var t time.Time
		if json.Unmarshal(raw, &t) == nil {
			out.Set(name, LocalValue(t, zone))
		}
	case intake.TypeJSON, intake.TypeEntry:
	default:
		var v any
		if json.Unmarshal(raw, &v) == nil && v != nil {
			out.Set(name, flatText(v))
		}
	}
}

func flatText(v any) string {
	if x, ok := v.(float64); ok {
		return strconv.FormatFloat(x, 'f', -1, 64)
	}
	return fmt.Sprint(v)
}
