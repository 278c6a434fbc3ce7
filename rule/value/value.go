// Package value holds the numbers that more than one place needs: rules, computations, papers and pages take them from
// here, so that a local protocol which changes one changes all of them.
//
// A number is one TOML file of this folder, ID.toml; package rule reads them with the rules. [Values] are those in force
// at an instant.
package value

import (
	"sort"
	"strings"
	"time"

	"lowtide/unit"
)

// ID names a shared value; it is the name of its file and how rules and sentences call it: off_limit, {off_limit}.
type ID string

// Value is a shared value in force. It is empty until a local protocol sets it when Unset.
type Value struct {
	ID     ID      `json:"id"`
	Words  string  `json:"words"`
	Number float64 `json:"value"`
	Unit   string  `json:"unit"`
	Unset  bool    `json:"unset,omitempty"`
	Local  bool    `json:"local,omitempty"`
}

// String prints the number with its unit, "not set" when it is empty.
func (v Value) String() string {
	if v.Unset {
		return NotSet
	}
	return Print(v.Number, v.Unit, true)
}

// Values are the shared values in force at one instant. They do not change and may be shared. The zero Values hold none.
type Values struct {
	list  []Value // by ID
	until time.Time
}

// New returns values that hold until an instant; zero is for ever. The list is sorted in place.
func New(list []Value, until time.Time) Values {
	sort.Slice(list, func(i, j int) bool { return list[i].ID < list[j].ID })
	return Values{list, until}
}

// Until is the instant at which another number comes into force; zero is never.
func (v Values) Until() time.Time { return v.until }

// All returns every value by ID.
func (v Values) All() []Value { return append([]Value(nil), v.list...) }

// Find returns the value with the ID.
func (v Values) Find(id ID) (Value, bool) {
	i := sort.Search(len(v.list), func(i int) bool { return v.list[i].ID >= id })
	if i < len(v.list) && v.list[i].ID == id {
		return v.list[i], true
	}
	return Value{}, false
}

// get is Find for an ID of the list of this package, which a test holds to the files.
func (v Values) get(id ID) Value {
	x, ok := v.Find(id)
	if !ok {
		panic("value: there is no shared value " + string(id))
	}
	return x
}

// In returns the number in a unit. It panics for an ID that is not there, for a unit of another dimension, and for a value
// that may be empty: those are bugs of the caller.
func (v Values) In(id ID, u string) float64 {
	x, ok := v.Maybe(id, u)
	if !ok {
		panic("value: " + string(id) + " is empty")
	}
	return x
}

// Maybe is In for a value that is empty until a local protocol sets it; ok is false while it is.
func (v Values) Maybe(id ID, u string) (x float64, ok bool) {
	w := v.get(id)
	if w.Unset {
		return 0, false
	}
	if w.Unit == u { // no rounding on the way
		return w.Number, true
	}
	x, err := unit.Convert(w.Number, w.Unit, u)
	if err != nil {
		panic("value: " + string(id) + ": " + err.Error())
	}
	return x, true
}

// Number is In for packages that know of no shared values: they get it as a function.
func (v Values) Number(id, u string) float64 { return v.In(ID(id), u) }

// Span returns a value that is a time, to the nanosecond.
func (v Values) Span(id ID) time.Duration { return Span(v.In(id, "h")) }

// Text prints a value with its unit, as [Values.Fill] does.
func (v Values) Text(id ID) string { return v.get(id).String() }

// Fill puts the numbers into a sentence: "after {off_limit} the dressing is replaced". {off_limit in min} prints it in that
// unit. It panics for a name that is no shared value: sentences are part of the program.
func (v Values) Fill(text string) string {
	i := strings.IndexByte(text, '{')
	if i < 0 {
		return text
	}
	j := strings.IndexByte(text[i:], '}')
	if j < 0 {
		panic("value: a brace without its partner in " + text)
	}
	id, u := Placeholder(text[i+1 : i+j])
	x := v.get(ID(id))
	words := x.String()
	if u != "" && !x.Unset {
		words = PrintIn(x.Number, x.Unit, u)
	}
	return text[:i] + words + v.Fill(text[i+j+1:])
}
