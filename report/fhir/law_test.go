package fhir

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/intake"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
)

// drawValue makes a value that a field allows.
func drawValue(t *rapid.T, f intake.Field) any {
	switch f.Type {
	case intake.TypeText:
		if len(f.Enum) > 0 {
			return rapid.SampledFrom(f.Enum).Draw(t, f.Name)
		}
		if f.Name == "wound" {
			return rapid.SampledFrom([]string{"A", "B", "left heel"}).Draw(t, f.Name)
		}
		// FHIR allows no empty string and none of blanks only
		return rapid.StringMatching(`[=+@<"a-zé][^\x00-\x08\x0b\x0c\x0e-\x1f]{0,30}[a-zß]`).Draw(t, f.Name)
	case intake.TypeNumber:
		low, high := 0.0, 1000.0
		if f.Min != nil {
			low = *f.Min
		}
		if f.Max != nil {
			high = *f.Max
		}
		return rapid.Float64Range(low, high).Draw(t, f.Name)
	case intake.TypeCount:
		return rapid.IntRange(0, 60).Draw(t, f.Name)
	case intake.TypeYesNo:
		return rapid.Bool().Draw(t, f.Name)
	case intake.TypeDate:
		return time.Unix(rapid.Int64Range(0, 2e9).Draw(t, f.Name), 0).UTC().Format(time.DateOnly)
	case intake.TypeTime:
		return time.Unix(rapid.Int64Range(1e9, 2e9).Draw(t, f.Name), 0).In(time.FixedZone("", 3600*rapid.IntRange(-9, 12).Draw(t, "offset"))).Format(time.RFC3339)
	case intake.TypeWords:
		if len(f.Enum) == 0 {
			return []string{"one", "two"}
		}
		return rapid.SliceOfN(rapid.SampledFrom(f.Enum), 1, 3).Draw(t, f.Name)
	case intake.TypeAnswers:
		return map[string]string{casebook.Questions[rapid.IntRange(0, len(casebook.Questions)-1).Draw(t, f.Name)].ID: "yes"}
	case intake.TypeGroup:
		return drawFields(t, f.Fields)
	case intake.TypeRows:
		var rows []any
		for range rapid.IntRange(1, 3).Draw(t, f.Name) {
			rows = append(rows, drawFields(t, f.Fields))
		}
		return rows
	}
	t.Fatalf("a field of type %q cannot be drawn: %s", f.Type, f.Name)
	return nil
}

func drawFields(t *rapid.T, fields []intake.Field) map[string]any {
	out := map[string]any{}
	for _, f := range fields {
		if f.Required || rapid.Bool().Draw(t, f.Name+"?") {
			v := drawValue(t, f)
			if g, group := v.(map[string]any); group && f.Name == "tissue" {
				// a share of 0 is the same as none, and a group that says nothing holds no fact
				maps.DeleteFunc(g, func(_ string, share any) bool { return share == 0.0 })
			}
			if g, group := v.(map[string]any); group && len(g) == 0 {
				continue
			}
			out[f.Name] = v
		}
	}
	return out
}

// Whatever an entry of any kind holds comes back from the Bundle as it was, and the Bundle is valid R4.
func TestLawRoundTrip(t *testing.T) {
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	um := validator(t)
	var kinds []casebook.Kind
	for _, k := range casebook.Kinds() {
		if k != casebook.KindEntryCorrected {
			kinds = append(kinds, k)
		}
	}
	slices.Sort(kinds)
	rapid.Check(t, func(t *rapid.T) {
		var entries []casebook.Entry
		// one of each kind, so that few draws cover all, and a few twice
		list := append(rapid.SliceOfN(rapid.SampledFrom(kinds), 0, 4).Draw(t, "again"), kinds...)
		for i, k := range rapid.Permutation(list).Draw(t, "order") {
			raw, err := json.Marshal(drawFields(t, intake.FieldsOf(k)))
			if err != nil {
				t.Fatal(err)
			}
			wire := fmt.Sprintf(`{"id":"01950000-0000-7000-8000-%012d","case":"c","kind":%q,"version":%d,"at":"2026-03-0%dT08:00:00+01:00","recorded":"2026-03-01T09:00:00Z","author":"n.demo","body":%s}`,
				i, k, casebook.Version(k), 1+i%3, raw)
			var e casebook.Entry
			if err := json.Unmarshal([]byte(wire), &e); err != nil {
				t.Fatal(err)
			}
			if _, unknown := e.Body.(casebook.Unknown); unknown {
				t.Fatalf("%s does not fit its type: %s", k, raw)
			}
			entries = append(entries, e)
		}
		c := casebook.Fold("c", entries)
		r := review.Of(state.Of(c, rules, equipment.BuiltIn(), nil, demoNow), rules)
		roundTrip(t, c, r)
		raw, err := Bundle(Input{Review: r})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := um.Unmarshal(raw); err != nil {
			t.Fatalf("not valid R4: %v", err)
		}
	})
}
