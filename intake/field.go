package intake

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"sync"
	"time"

	"lowtide/casebook"
)

// FieldType is what a field holds.
type FieldType string

// The types of fields.
const (
	TypeText    FieldType = "text"
	TypeNumber  FieldType = "number"
	TypeCount   FieldType = "count"
	TypeYesNo   FieldType = "yes or no"
	TypeDate    FieldType = "date"
	TypeTime    FieldType = "time"
	TypeWords   FieldType = "words"   // a list of texts
	TypeAnswers FieldType = "answers" // questions with their answers
	TypeGroup   FieldType = "group"   // an object
	TypeRows    FieldType = "rows"    // a list of objects
	TypeJSON    FieldType = "json"    // any JSON, read later
	TypeEntry   FieldType = "entry"   // a whole entry
)

// Field is a field of a body, as its tags describe it. Forms are drawn from it.
type Field struct {
	Name string
	// Words is the label; Unit the unit of a number, printed as package unit prints it.
	Words, Unit string
	Type        FieldType
	Required    bool
	// Enum lists the allowed words; for TypeWords those of each item.
	Enum     []string
	Min, Max *float64
	// Lengths count characters; 0 means no limit.
	MinLength, MaxLength int
	MinItems, MaxItems   int
	// Fields are the fields of a group, or of each row.
	Fields []Field
	// index leads to the Go field, through embedded structs.
	index []int
}

// FieldsOf returns the fields of the kind's body in their order, or nil when the kind is not known.
// The result is shared: do not change it.
func FieldsOf(kind casebook.Kind) []Field {
	b := casebook.NewBody(kind)
	if b == nil {
		return nil
	}
	return fieldsOf(reflect.TypeOf(b).Elem())
}

// shapes caches fieldsOf by type: a pure function of the type.
var shapes sync.Map

func fieldsOf(t reflect.Type) []Field {
	if f, ok := shapes.Load(t); ok {
		return f.([]Field)
	}
	f := describe(t)
	shapes.Store(t, f)
	return f
}

// describe reads the tags of a struct.
func describe(t reflect.Type) []Field {
	var out []Field
	for i := 0; i < t.NumField(); i++ {
		sf := t.Field(i)
		if sf.Anonymous {
			for _, f := range describe(sf.Type) {
				f.index = append([]int{i}, f.index...)
				out = append(out, f)
			}
			continue
		}
		name, _, _ := strings.Cut(sf.Tag.Get("json"), ",")
		f := Field{Name: name, Words: sf.Tag.Get("words"), Unit: sf.Tag.Get("unit"), index: []int{i}}
		if f.Words == "" {
			f.Words = name
		}
		f.typed(sf.Type)
		for _, part := range strings.Split(sf.Tag.Get("jsonschema"), ",") {
			f.keyword(part, t)
		}
		if list := sf.Tag.Get("enum"); list != "" {
			f.Enum = strings.Split(list, ",")
		}
		out = append(out, f)
	}
	return out
}

func (f *Field) typed(t reflect.Type) {
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch {
	case t == reflect.TypeFor[time.Time]():
		f.Type = TypeTime
	case t == reflect.TypeFor[json.RawMessage]():
		f.Type = TypeJSON
	case t == reflect.TypeFor[casebook.Entry]():
		f.Type = TypeEntry
	case t == reflect.TypeFor[map[string]string]():
		f.Type = TypeAnswers
	case t == reflect.TypeFor[[]string]():
		f.Type = TypeWords
	case t == reflect.TypeFor[[]EntryShape]():
		f.Type = TypeRows // read by the case file's own loop
	case t.Kind() == reflect.Slice && t.Elem().Kind() == reflect.Struct:
		f.Type, f.Fields = TypeRows, fieldsOf(t.Elem())
	case t.Kind() == reflect.Struct:
		f.Type, f.Fields = TypeGroup, fieldsOf(t)
	case t.Kind() == reflect.String:
		f.Type = TypeText
	case t.Kind() == reflect.Float64:
		f.Type = TypeNumber
	case t.Kind() == reflect.Int:
		f.Type = TypeCount
	case t.Kind() == reflect.Bool:
		f.Type = TypeYesNo
	default:
		panic(fmt.Sprintf("intake: field %s has type %s, which has no reader", f.Name, t))
	}
}

// keyword reads one part of a jsonschema tag. One that it does not know is a mistake in the tag.
func (f *Field) keyword(part string, in reflect.Type) {
	key, val, _ := strings.Cut(part, "=")
	num := func() *float64 {
		x, err := strconv.ParseFloat(val, 64)
		if err != nil {
			panic(fmt.Sprintf("intake: tag %q of %s.%s: %v", part, in, f.Name, err))
		}
		return &x
	}
	switch key {
	case "":
	case "required":
		f.Required = true
	case "enum":
		f.Enum = append(f.Enum, val)
	case "minimum":
		f.Min = num()
	case "maximum":
		f.Max = num()
	case "minLength":
		f.MinLength = int(*num())
	case "maxLength":
		f.MaxLength = int(*num())
	case "minItems":
		f.MinItems = int(*num())
	case "maxItems":
		f.MaxItems = int(*num())
	case "format":
		switch val {
		case "date":
			f.Type = TypeDate
		case "date-time":
			f.Type = TypeTime
		default:
			panic(fmt.Sprintf("intake: format %q of %s.%s has no reader", val, in, f.Name))
		}
	default:
		panic(fmt.Sprintf("intake: tag %q of %s.%s has no reader", part, in, f.Name))
	}
}

// In returns the field's value in a body, or in a group of one.
func (f Field) In(body reflect.Value) reflect.Value { return body.FieldByIndex(f.index) }

func findField(fields []Field, name string) *Field {
	for i := range fields {
		if fields[i].Name == name {
			return &fields[i]
		}
	}
	return nil
}
