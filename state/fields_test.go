package state_test

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"sort"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/demo"
	"lowtide/equipment"
	"lowtide/evidence/casegen"
	"lowtide/rule"
	"lowtide/state"
)

// leaf is one field that a form asks for: its path in the JSON of a body, with [] for the first of a list.
type leaf struct {
	path string
	typ  reflect.Type
	enum []string
}

// leavesOf walks the tags of a body. What a field has no label for is no field of a form.
func leavesOf(t reflect.Type, prefix string) []leaf {
	var out []leaf
	for i := range t.NumField() {
		f := t.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		typ := f.Type
		for typ.Kind() == reflect.Pointer {
			typ = typ.Elem()
		}
		if f.Anonymous && name == "" {
			out = append(out, leavesOf(typ, prefix)...)
			continue
		}
		if name == "" || name == "-" {
			continue
		}
		path := prefix + name
		list := typ.Kind() == reflect.Slice && typ != reflect.TypeFor[json.RawMessage]()
		if list {
			typ, path = typ.Elem(), path+"[]"
		}
		if typ.Kind() == reflect.Struct && typ != reflect.TypeFor[time.Time]() {
			out = append(out, leavesOf(typ, path+"/")...)
			continue
		}
		l := leaf{path: path, typ: typ}
		for _, part := range strings.Split(f.Tag.Get("jsonschema"), ",") {
			if v, ok := strings.CutPrefix(part, "enum="); ok {
				l.enum = append(l.enum, v)
			}
		}
		if words := f.Tag.Get("enum"); words != "" {
			l.enum = strings.Split(words, ",")
		}
		out = append(out, l)
	}
	return out
}

// put sets the leaf in the JSON of a body; it makes what is missing on the way. false when the way is a list without a row.
func put(body map[string]any, path string, v any) bool {
	first, rest, deep := strings.Cut(path, "/")
	name, list := strings.CutSuffix(first, "[]")
	switch {
	case list && !deep:
		body[name] = []any{v}
		return true
	case list:
		rows, _ := body[name].([]any)
		if len(rows) == 0 {
			rows = []any{map[string]any{}}
			body[name] = rows
		}
		row, ok := rows[0].(map[string]any)
		return ok && put(row, rest, v)
	case deep:
		sub, _ := body[name].(map[string]any)
		if sub == nil {
			sub = map[string]any{}
			body[name] = sub
		}
		return put(sub, rest, v)
	case v == nil:
		delete(body, name)
	default:
		body[name] = v
	}
	return true
}

// others are values that a field may have besides the one that it has.
func (l leaf) others(at time.Time) []any {
	if len(l.enum) > 0 {
		var out []any
		for _, e := range l.enum {
			out = append(out, e)
		}
		return out
	}
	switch l.typ.Kind() {
	case reflect.Bool:
		return []any{true, false, nil}
	case reflect.Float64:
		return []any{0.0, 1.0, 4.0, 12.5, 37.0, 39.5, 90.0, 150.0, 290.0, nil}
	case reflect.Int:
		return []any{0, 1, 7}
	case reflect.Map:
		return []any{map[string]any{}, map[string]any{"eschar": "yes", "anticoagulant": "yes"}}
	}
	if l.typ == reflect.TypeFor[time.Time]() {
		return []any{at.Add(-5 * time.Hour), at.Add(9 * time.Hour), at.AddDate(0, 2, 0)}
	}
	return []any{"", "x1", "A", "B", "2026-02-01", "1931-05-06", "2019-05-06", "us-medicare", "started apixaban", "neck", "eschar", "bright red blood", "Dr Other"}
}

// told is every fact that a rule asks about, as text.
func told(c *casebook.Case, rules *rule.Set, used map[string]bool, asOf time.Time) string {
	s := state.Of(c, rules, equipment.BuiltIn(), nil, asOf)
	f := rule.NewFacts(s.Clock)
	s.Facts(state.Terms{Case: f.Set,
		Wound:    func(name string) state.Sink { return f.Wound(name).Set },
		Pump:     func(name string) state.Sink { return f.Pump(name).Set },
		Canister: func(pump string) state.Sink { return f.Canister(pump).Set }})
	var b strings.Builder
	for _, t := range rule.Vocabulary {
		if !used[t.Name] {
			continue
		}
		switch t.Scope {
		case rule.ScopeCase:
			fmt.Fprintln(&b, t.Name, f.Known(t.Name))
			continue
		case rule.ScopePump:
			for _, p := range s.Pumps {
				fmt.Fprintln(&b, p.Name, t.Name, f.Pump(p.Name).Known(t.Name))
			}
			continue
		case rule.ScopeCanister:
			for _, k := range s.Canisters {
				fmt.Fprintln(&b, k.Pump, t.Name, f.Canister(k.Pump).Known(t.Name))
			}
			continue
		}
		for _, w := range c.Wounds {
			fmt.Fprintln(&b, w.Name, t.Name, f.Wound(w.Name).Known(t.Name))
		}
	}
	return b.String()
}

// usedTerms are the terms that some rule asks about or prints.
func usedTerms(rules *rule.Set) map[string]bool {
	var all strings.Builder
	for _, r := range rules.Rules() {
		fmt.Fprintln(&all, r.When, r.Applies, r.Headline, r.CannotTell, r.Do)
	}
	text, out := all.String(), map[string]bool{}
	for _, t := range rule.Vocabulary {
		out[t.Name] = strings.Contains(text, t.Name)
	}
	return out
}

// specimen is a case with the entries that it is folded from.
type specimen struct {
	id      string
	entries []casebook.Entry
	blob    func(string) ([]byte, error)
	before  string
}

func (s specimen) fold(entries []casebook.Entry) *casebook.Case {
	c := casebook.Fold(s.id, entries)
	c.Blob = s.blob
	return c
}

// TestEveryFieldIsReadOrNamed changes every field of every form, in the cases of the demonstration and in generated ones,
// and looks whether any fact changes that a rule asks about. A field that moves none must be named in [state.Unread] with the
// reason, and none that is named there may move one.
func TestEveryFieldIsReadOrNamed(t *testing.T) {
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	used := usedTerms(rules)
	now := time.Date(2026, 3, 4, 8, 30, 0, 0, time.UTC)
	var all []specimen
	byCase := map[string][]casebook.Entry{}
	for _, e := range demo.Entries(now, 1) {
		byCase[e.Case] = append(byCase[e.Case], e)
	}
	blobs := demo.Blobs(now, 1)
	for id, list := range byCase {
		all = append(all, specimen{id: id, entries: list, blob: func(h string) ([]byte, error) { return blobs[h], nil }})
	}
	sort.Slice(all, func(i, j int) bool { return all[i].id < all[j].id })
	// One whose goal is an area, which no case of the demonstration has.
	area := all[0]
	for _, s := range all {
		if c := s.fold(s.entries); c.Order() != nil && len(c.Wounds) > 0 && len(c.Wounds[0].Measured) > 1 {
			area = s
			break
		}
	}
	area.entries = append([]casebook.Entry(nil), area.entries...)
	for i, e := range area.entries {
		if b, ok := e.Body.(casebook.OrderWritten); ok {
			limit := 3.0
			b.GoalKind, b.GoalAreaCm2 = "area under", &limit
			area.entries[i].Body = b
		}
	}
	all = append(all, area)
	// One whose missing piece is accounted for, as far as the count goes.
	for _, s := range all {
		c := s.fold(s.entries)
		w := slices.IndexFunc(c.Wounds, func(w casebook.Wound) bool { return len(w.Count.Missing) > 0 })
		if w < 0 {
			continue
		}
		m := c.Wounds[w].Count.Missing[0]
		e := s.entries[0]
		e.ID, e.Kind, e.Version, e.Corrects, e.Reason = "0195f0a0-0000-7000-8000-00000000c0c0", casebook.KindPiecesAccounted, 1, "", ""
		e.At, e.Recorded = now.Add(-time.Hour), now.Add(-time.Hour)
		e.Body = casebook.PiecesAccounted{Wound: c.Wounds[w].Name, Filler: m.Filler, Count: m.Count, Outcome: "imaging shows none", By: "Dr Other", SaidAt: &e.At}
		s.entries = append(slices.Clone(s.entries), e)
		all = append(all, s)
		break
	}
	for seed := range uint64(6) {
		m := casegen.Case(seed, now)
		all = append(all, specimen{id: m.ID, entries: m.Entries, blob: func(h string) ([]byte, error) { return m.Blobs[h], nil }})
	}
	for i := range all {
		all[i].before = told(all[i].fold(all[i].entries), rules, used, now)
	}
	moved, fields := 0, 0
	for _, kind := range casebook.Kinds() {
		if kind == casebook.KindEntryCorrected || kind == "contradiction.settled" {
			continue // what they name are other entries: their own tests hold what they do
		}
		typ := reflect.TypeOf(casebook.NewBody(kind)).Elem()
		for _, l := range leavesOf(typ, "") {
			fields++
			name := string(kind) + "/" + l.path
			why, named := state.Unread[name]
			reads := moves(all, kind, typ, l, rules, used, now, named)
			switch {
			case reads && named:
				t.Errorf("%s feeds a rule, and is named as one that feeds none (%s)", name, why)
			case !reads && !named:
				t.Errorf("%s feeds no rule that could be found: give it one, or name it in state.Unread with the reason", name)
			}
			if reads {
				moved++
			}
		}
	}
	t.Logf("%d fields: %d feed a rule, %d are named as feeding none", fields, moved, len(state.Unread))
	if n := fields - moved; n != len(state.Unread) {
		t.Errorf("%d fields feed none, and %d are named", n, len(state.Unread))
	}
}

// moves tells whether another value of the leaf, in some entry of some case, changes a fact that a rule asks about.
func moves(all []specimen, kind casebook.Kind, typ reflect.Type, l leaf, rules *rule.Set, used map[string]bool, now time.Time, named bool) bool {
	tries := 0
	for _, s := range all {
		// The newest entries first: what they say counts most.
		for i := len(s.entries) - 1; i >= 0; i-- {
			e := s.entries[i]
			if e.Kind != kind || e.Body == nil {
				continue
			}
			if tries++; named && tries > 2 {
				return false // a named field is looked at a little, to keep the test short
			}
			for _, v := range l.others(e.At) {
				raw, err := json.Marshal(e.Body)
				if err != nil {
					return false
				}
				var body map[string]any
				if json.Unmarshal(raw, &body) != nil || !put(body, l.path, v) {
					continue
				}
				raw, _ = json.Marshal(body)
				to := reflect.New(typ)
				if json.Unmarshal(raw, to.Interface()) != nil {
					continue
				}
				changed := append([]casebook.Entry(nil), s.entries...)
				changed[i].Body = to.Elem().Interface().(casebook.Body)
				if told(s.fold(changed), rules, used, now) != s.before {
					return true
				}
			}
			if tries > 25 {
				return false
			}
		}
	}
	return false
}
