package fhir

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"sort"
	"strconv"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/unit"
)

// field is one value of a body with its place in it, such as wounds[0].in[1].count.
type field struct {
	path  string
	value any // string, bool, json.Number
}

// fieldsOf lists every value of a body in the order of their places.
func fieldsOf(b casebook.Body) ([]field, error) {
	raw, err := json.Marshal(b)
	if err != nil {
		return nil, err
	}
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.UseNumber()
	var tree any
	if err := dec.Decode(&tree); err != nil {
		return nil, err
	}
	var out []field
	walk("", tree, func(f field) { out = append(out, f) })
	return out, nil
}

func walk(path string, v any, visit func(field)) {
	switch v := v.(type) {
	case map[string]any:
		keys := make([]string, 0, len(v))
		for k := range v {
			keys = append(keys, k)
		}
		sort.Strings(keys)
		for _, k := range keys {
			at := k
			if path != "" {
				at = path + "." + k
			}
			walk(at, v[k], visit)
		}
	case []any:
		for i, x := range v {
			walk(path+"["+strconv.Itoa(i)+"]", x, visit)
		}
	case nil:
	default:
		visit(field{path, v})
	}
}

// place is one step of a path: a name, or an index when name is empty.
type place struct {
	name  string
	index int
}

// mostIndex bounds lists that are read from outside.
const mostIndex = 400

// places reads a path.
func places(path string) ([]place, error) {
	var out []place
	for _, part := range strings.Split(path, ".") {
		name, rest, _ := strings.Cut(part, "[")
		if name == "" {
			return nil, fmt.Errorf("a name is missing in %q", path)
		}
		out = append(out, place{name: name})
		for rest != "" {
			digits, after, ok := strings.Cut(rest, "]")
			i, err := strconv.Atoi(digits)
			if !ok || err != nil || i < 0 || i > mostIndex {
				return nil, fmt.Errorf("an index is wrong in %q", path)
			}
			out = append(out, place{index: i})
			if after == "" {
				break
			}
			if after[0] != '[' {
				return nil, fmt.Errorf("an index is wrong in %q", path)
			}
			rest = after[1:]
		}
	}
	return out, nil
}

// put sets a value in a tree of map[string]any and *[]any; lists grow as needed.
func put(tree map[string]any, path string, value any) error {
	at, err := places(path)
	if err != nil {
		return err
	}
	var node any = tree
	for i, p := range at {
		last := i == len(at)-1
		var next any
		if !last {
			next = any(map[string]any{})
			if at[i+1].name == "" {
				next = &[]any{}
			}
		} else {
			next = value
		}
		switch n := node.(type) {
		case map[string]any:
			if p.name == "" {
				return fmt.Errorf("%q: a list where a name is expected", path)
			}
			if old, ok := n[p.name]; ok && !last {
				node = old
				continue
			}
			n[p.name] = next
		case *[]any:
			if p.name != "" {
				return fmt.Errorf("%q: a name where a list is expected", path)
			}
			for len(*n) <= p.index {
				*n = append(*n, nil)
			}
			if old := (*n)[p.index]; old != nil && !last {
				node = old
				continue
			}
			(*n)[p.index] = next
		default:
			return fmt.Errorf("%q: a value stands where more is expected", path)
		}
		node = next
	}
	return nil
}

// plainTree turns the lists of put into ordinary ones.
func plainTree(v any) any {
	switch v := v.(type) {
	case map[string]any:
		for k, x := range v {
			v[k] = plainTree(x)
		}
		return v
	case *[]any:
		out := make([]any, 0, len(*v))
		for _, x := range *v {
			if x != nil {
				out = append(out, plainTree(x))
			}
		}
		return out
	}
	return v
}

// described is what the tags of a body say of a field.
type described struct {
	words, unit string
	kind        reflect.Kind
	isTime      bool
}

// describe finds the tags of a field by its path within a body.
func describe(b casebook.Body, path string) (described, bool) {
	at, err := places(path)
	if err != nil {
		return described{}, false
	}
	t := reflect.TypeOf(b)
	var d described
	for _, p := range at {
		for t.Kind() == reflect.Pointer {
			t = t.Elem()
		}
		switch {
		case p.name == "" && t.Kind() == reflect.Slice:
			t = t.Elem()
			continue
		case t.Kind() == reflect.Map:
			t = t.Elem()
			d.words = p.name
			continue
		case t.Kind() != reflect.Struct:
			return described{}, false
		}
		f, ok := fieldNamed(t, p.name)
		if !ok {
			return described{}, false
		}
		t = f.Type
		d.words, d.unit = f.Tag.Get("words"), f.Tag.Get("unit")
	}
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	d.kind, d.isTime = t.Kind(), t == reflect.TypeFor[time.Time]()
	return d, true
}

func fieldNamed(t reflect.Type, name string) (reflect.StructField, bool) {
	for i := range t.NumField() {
		f := t.Field(i)
		if f.Anonymous && f.Type.Kind() == reflect.Struct {
			if inner, ok := fieldNamed(f.Type, name); ok {
				return inner, true
			}
			continue
		}
		if tag, _, _ := strings.Cut(f.Tag.Get("json"), ","); tag == name {
			return f, true
		}
	}
	return reflect.StructField{}, false
}

// quantityOf is a number in a unit that Lowtide prints; a unit without a UCUM code is kept as text.
func quantityOf(n json.Number, printed string) *quantity {
	q := &quantity{Value: n, Unit: printed}
	if c, ok := unit.Find(printed); ok {
		q.System, q.Code = systemUCUM, c.UCUM
	}
	return q
}

// number prints a float as shortly as it can be read back.
func number(x float64) json.Number { return json.Number(strconv.FormatFloat(x, 'f', -1, 64)) }

// componentOf shows a field as a component. LOINC says what the field is where a code is known for it.
func componentOf(b casebook.Body, f field) component {
	d, _ := describe(b, f.path)
	c := component{Code: fieldConcept(b.Kind(), f.path, d.words)}
	switch v := f.value.(type) {
	case bool:
		c.ValueBoolean = &v
	case json.Number:
		if d.kind == reflect.Int {
			if i, err := strconv.Atoi(v.String()); err == nil {
				c.ValueInteger = &i
				break
			}
		}
		c.ValueQuantity = quantityOf(v, d.unit)
	case string:
		if d.isTime {
			c.ValueDateTime = v
		} else if code, ok := snomedOf(b.Kind(), f.path, v); ok {
			c.ValueCodeableConcept = &concept{Coding: []coding{{System: systemSNOMED, Code: code}}, Text: v}
		} else {
			c.ValueString = v
		}
	}
	return c
}

func fieldConcept(kind casebook.Kind, path, words string) concept {
	c := concept{Text: words}
	if code, ok := loincOf(kind, path); ok {
		c.Coding = append(c.Coding, coding{System: systemLOINC, Code: code})
	}
	c.Coding = append(c.Coding, coding{System: systemField, Code: string(kind) + "/" + path, Display: words})
	return c
}

// valueOf reads a component back as the value of a field.
func (c component) value() any {
	switch {
	case c.ValueBoolean != nil:
		return *c.ValueBoolean
	case c.ValueInteger != nil:
		return json.Number(strconv.Itoa(*c.ValueInteger))
	case c.ValueQuantity != nil:
		return c.ValueQuantity.Value
	case c.ValueDateTime != "":
		return c.ValueDateTime
	case c.ValueCodeableConcept != nil:
		return c.ValueCodeableConcept.Text
	}
	return c.ValueString
}
