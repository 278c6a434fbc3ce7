package rule

import (
	"fmt"
	"sort"
	"time"

	"github.com/BurntSushi/toml"
)

// fields reads one TOML table key by key, so that every problem of a file is found and none hides the next.
type fields struct {
	file, at string
	table    map[string]any
	seen     map[string]bool
	found    *Problems
}

// readTOML returns nil after a problem.
func readTOML(file string, raw []byte, found *Problems) *fields {
	table := map[string]any{}
	if err := decodeTOML(raw, &table); err != nil {
		*found = append(*found, Problem{file, "", "not TOML: " + err.Error(), "correct the line"})
		return nil
	}
	return &fields{file: file, table: table, seen: map[string]bool{}, found: found}
}

// decodeTOML turns a panic of the library on hostile bytes into an error.
func decodeTOML(raw []byte, into *map[string]any) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("%v", r)
		}
	}()
	_, err = toml.Decode(string(raw), into)
	return err
}

func (f *fields) say(key, what, remedy string) {
	*f.found = append(*f.found, Problem{f.file, f.at + key, what, remedy})
}

// has tells whether a key is there, without reading it.
func (f *fields) has(key string) bool { _, ok := f.table[key]; return ok }

func (f *fields) get(key string) any {
	f.seen[key] = true
	return f.table[key]
}

// text reads an optional text; need asks for one that is there and not empty.
func (f *fields) text(key string) string {
	v := f.get(key)
	s, ok := v.(string)
	if v != nil && !ok {
		f.say(key, fmt.Sprintf("is %v, not a text", v), "put it in quotes")
	} else if ok && s == "" {
		f.say(key, "is empty", "write it, or leave the key out when it is optional")
	}
	return s
}

// blank reads an optional text that may be empty.
func (f *fields) blank(key string) string {
	if f.table[key] == "" {
		f.seen[key] = true
		return ""
	}
	return f.text(key)
}

func (f *fields) need(key, remedy string) string {
	if !f.has(key) {
		f.say(key, "is missing", remedy)
		return ""
	}
	return f.text(key)
}

// one reads a text that must be one of a list.
func one[T ~string](f *fields, key string, list []T) T {
	s := T(f.text(key))
	if s != "" && rank(list, s) == len(list) {
		f.say(key, fmt.Sprintf("%q is not known", s), fmt.Sprintf("write one of %q", list))
	}
	return s
}

func needOne[T ~string](f *fields, key string, list []T) T {
	if !f.has(key) {
		f.say(key, "is missing", fmt.Sprintf("write one of %q", list))
		return ""
	}
	return one(f, key, list)
}

// date reads an optional date and returns its midnight UTC.
func (f *fields) date(key string) time.Time {
	v := f.get(key)
	t, ok := v.(time.Time)
	if v == nil {
		return time.Time{}
	}
	if !ok {
		f.say(key, fmt.Sprintf("is %v, not a date", v), "write a date without quotes, such as 2026-03-01")
		return time.Time{}
	}
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC)
}

// sub reads an optional table.
func (f *fields) sub(key string) *fields {
	v := f.get(key)
	t, ok := v.(map[string]any)
	if v == nil {
		return nil
	}
	if !ok {
		f.say(key, "is not a table", "write ["+key+"] and its keys below")
		return nil
	}
	return &fields{f.file, f.at + key + ".", t, map[string]bool{}, f.found}
}

// list reads an optional list of tables, [[key]].
func (f *fields) list(key string) []*fields {
	var tables []map[string]any
	switch v := f.get(key).(type) {
	case nil:
	case []map[string]any:
		tables = v
	case []any:
		for _, x := range v {
			t, ok := x.(map[string]any)
			if !ok {
				f.say(key, "is not a list of tables", "write [["+key+"]] and its keys below")
				return nil
			}
			tables = append(tables, t)
		}
	default:
		f.say(key, "is not a list of tables", "write [["+key+"]] and its keys below")
	}
	out := make([]*fields, len(tables))
	for i, t := range tables {
		out[i] = &fields{f.file, fmt.Sprintf("%s%s[%d].", f.at, key, i+1), t, map[string]bool{}, f.found}
	}
	return out
}

// flag reads an optional yes or no.
func (f *fields) flag(key string) bool {
	v := f.get(key)
	b, ok := v.(bool)
	if v != nil && !ok {
		f.say(key, fmt.Sprintf("is %v, not true or false", v), "write true or false without quotes")
	}
	return b
}

// value reads the value of a [[value]]; of one that is empty until it is set, the number that its cases are run with.
func (f *fields) value(unset bool) any {
	if !unset {
		return f.constant("value")
	}
	v := f.constant("example")
	if _, ok := v.(float64); v != nil && !ok {
		f.say("example", fmt.Sprintf("is %v, not a number", v), "only numbers can be empty until they are set")
		return nil
	}
	return v
}

// constant reads a value: a number, text, yes/no, or a list of numbers or of texts.
func (f *fields) constant(key string) any {
	v := f.get(key)
	switch x := v.(type) {
	case int64:
		return float64(x)
	case float64, string, bool:
		return x
	case []any:
		var texts []string
		var numbers []float64
		for _, e := range x {
			switch e := e.(type) {
			case string:
				texts = append(texts, e)
			case int64:
				numbers = append(numbers, float64(e))
			case float64:
				numbers = append(numbers, e)
			}
		}
		if len(x) > 0 && len(texts) == len(x) {
			return texts
		}
		if len(x) > 0 && len(numbers) == len(x) {
			return numbers
		}
	case nil:
		f.say(key, "is missing", "write the value")
		return nil
	}
	f.say(key, fmt.Sprintf("is %v", v), "write a number, a text, true or false, or a list of numbers or of texts")
	return nil
}

// names reads an optional name or list of names.
func (f *fields) names(key string) []string {
	if !f.has(key) {
		return nil
	}
	switch v := f.constant(key).(type) {
	case string:
		return []string{v}
	case []string:
		return v
	case nil:
	default:
		f.say(key, fmt.Sprintf("is %v, not a name", v), "write "+key+" = \"NAME\", or a list of names")
	}
	return nil
}

// done complains of every key that nobody read.
func (f *fields) done() {
	var rest []string
	for k := range f.table {
		if !f.seen[k] {
			rest = append(rest, k)
		}
	}
	sort.Strings(rest)
	for _, k := range rest {
		f.say(k, "is not a key of this form", "correct its spelling or take it out")
	}
}
