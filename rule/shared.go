package rule

import (
	"fmt"
	"math"
	"path"
	"regexp"
	"slices"
	"sort"
	"strings"
	"time"

	"lowtide/rule/value"
)

// Shared is a number that more than one place needs, as it holds once every local change is in force. [Set.Values] has
// those in force at an instant. Its Name is its ID.
type Shared struct {
	Value
	SourceID string    `json:"source"`
	Locator  string    `json:"locator"`
	Sure     Sure      `json:"sure"`
	From     time.Time `json:"from"`
	Until    time.Time `json:"until,omitzero"`
	// Also says what beside rules goes by the value, in words; empty when nothing does.
	Also string `json:"also,omitempty"`
	// Added tells that the whole value came with the local protocol.
	Added bool `json:"added,omitempty"`

	source *Source
	file   string
	rules  []*Rule
}

// Rules are the rules that use the value, in the order of the set.
func (v *Shared) Rules() []*Rule { return v.rules }

// LocalWords says what a local protocol did to the value; empty when nothing.
func (v *Shared) LocalWords() string {
	switch {
	case v.Added:
		return "The value comes from the local protocol."
	case v.Local:
		return v.Value.LocalWords()
	}
	return ""
}

// Basis prints what the value rests on.
func (v *Shared) Basis() string { return basis(v.source, v.Locator, v.Sure) }

// Shared returns the shared values by ID.
func (s *Set) Shared() []*Shared { return s.shared }

// Values returns the shared values in force at the instant. Before its first date a value has its first number: the
// dates of a value bind rules, and computations need a number for every day.
func (s *Set) Values(at time.Time) value.Values {
	i := sort.Search(len(s.values), func(i int) bool { return s.values[i].Until().IsZero() || at.Before(s.values[i].Until()) })
	return s.values[i]
}

// valueEditions lists the values in force from one local change to the next, oldest first.
func valueEditions(shared []*Shared) []value.Values {
	var starts []time.Time
	for _, v := range shared {
		if v.Change != nil {
			starts = append(starts, v.Change.From)
		}
	}
	slices.SortFunc(starts, time.Time.Compare)
	starts = slices.CompactFunc(starts, time.Time.Equal)
	var out []value.Values
	for i := 0; i <= len(starts); i++ {
		var until time.Time
		if i < len(starts) {
			until = starts[i]
		}
		list := make([]value.Value, len(shared))
		for k, v := range shared {
			x := value.Value{ID: value.ID(v.Name), Words: v.Words, Unit: v.Unit, Local: v.Added}
			n := v.Value.Value
			if v.Local && i > 0 && !v.Change.From.After(starts[i-1]) {
				x.Local = true
			} else if v.Local {
				n = v.Original
			}
			if x.Number, _ = n.(float64); n == nil {
				x.Unset = true
			}
			list[k] = x
		}
		out = append(out, value.New(list, until))
	}
	return out
}

// sharedID is how a shared value is named.
var sharedID = regexp.MustCompile(`^[a-z]+[a-z0-9]*(_[a-z0-9]+)*$`)

// loadShared reads the shared values of a pack: value/ID.toml.
func loadShared(from forms, found *Problems) []*Shared {
	var out []*Shared
	from("value", found, func(f *fields) {
		out = append(out, readShared(f))
		f.done()
	})
	return out
}

func readShared(f *fields) *Shared {
	v := &Shared{file: f.file,
		SourceID: f.need("source", "name a file of source; common practice and memory are sources too"),
		Locator:  f.blank("locator"),
		Sure:     needOne(f, "sure", []Sure{Read, ReadSecond, Computed, Memory}),
		From:     f.date("from"),
		Until:    f.date("until"),
		Also:     f.text("also"),
	}
	unset := f.flag("unset")
	v.Value = Value{Name: f.need("id", "write the name of the file without .toml"), Words: f.need("words", "say what the value is"),
		Unset: unset, Value: f.value(unset), Unit: f.blank("unit"), Shared: true}
	v.from, v.until = v.From, v.Until
	v.Unit = checkUnit(f, "unit", v.Value.Value, v.Unit)
	if x, ok := v.Value.Value.(float64); v.Value.Value != nil && (!ok || !(x > 0) || math.IsInf(x, 0)) {
		f.say("value", fmt.Sprintf("is %v", v.Value.Value), "a shared value is a number above 0")
	}
	if unset {
		v.Example, _ = v.Value.Value.(float64)
		v.Value.Value = nil
	}
	if v.Name != "" && (!sharedID.MatchString(v.Name) || heads[v.Name] || rank(reserved, v.Name) < len(reserved)) {
		f.say("id", fmt.Sprintf("%q cannot name a value", v.Name), "use lower-case words with _, and no word of the language or of the terms")
	}
	if v.Name != "" && path.Base(f.file) != v.Name+".toml" {
		f.say("id", fmt.Sprintf("%q is not the name of the file", v.Name), "name the file "+v.Name+".toml")
	}
	if !f.has("from") {
		f.say("from", "is missing", "write the date from which the value holds")
	}
	if !v.Until.IsZero() && !v.From.Before(v.Until) {
		f.say("until", "is not after from", "correct the dates")
	}
	return v
}

// linkShared checks the shared values and gives every rule those that it uses.
func (s *Set) linkShared(sources map[string]*Source, used map[string]bool, found *Problems) {
	byID := map[string]*Shared{}
	for _, v := range s.shared {
		if other := byID[v.Name]; other != nil && v.Name != "" {
			*found = append(*found, Problem{v.file, "id", v.Name + " is also in " + other.file, "give it an ID of its own; a built-in value is changed in " + protocolFile})
		}
		byID[v.Name] = v
		used[v.SourceID] = true
		v.source = linkSource(v.file, v.SourceID, v.Locator, sources, found)
		v.rules = nil
	}
	for _, r := range s.rules {
		if r.Withdrawn != nil { // it may use values that are gone
			continue
		}
		for i, id := range r.use {
			say := func(what, remedy string) {
				*found = append(*found, Problem{r.file, fmt.Sprintf("use[%d]", i+1), what, remedy})
			}
			v := byID[id]
			if v == nil {
				say("there is no shared value "+id, "add value/"+id+".toml or correct the name")
				continue
			}
			if at := r.valueAt(id); at == nil {
				r.Values = append(r.Values, v.Value)
			} else if !at.Shared {
				say(id+" is also a value of this rule", "take the [[value]] out or rename it")
			} else if slices.Contains(r.use[:i], id) {
				say(id+" is named twice", "take one out")
			}
			if v.From.After(r.From) || (!v.Until.IsZero() && (r.Until.IsZero() || v.Until.Before(r.Until))) {
				say(id+" is not in force on every day on which the rule is", "end the rule with its value, or give the value the rule's dates")
			}
			v.rules = append(v.rules, r)
		}
	}
}

// valueAt returns the value of the rule with that name, or nil.
func (r *Rule) valueAt(name string) *Value {
	for i := range r.Values {
		if r.Values[i].Name == name {
			return &r.Values[i]
		}
	}
	return nil
}

// sharedNames lists the shared values that the rule uses, for a complaint.
func (r *Rule) sharedNames() string { return strings.Join(r.use, ", ") }
