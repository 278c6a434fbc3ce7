package rule

import (
	"fmt"
	"math"
	"time"
)

// Facts are what is known of one case at one instant: values of terms, each with the entries that it came from.
// A term that was never set is unknown. Facts must not be changed once an [Outcome] of them is in use.
type Facts struct {
	base  *Facts // of a wound, a pump or a canister: the case's
	pump  *Facts // of a canister: its pump's
	scope Scope
	of    string // the wound or the pump
	slots []fact
	print func(time.Time) string
	under []*Facts
}

type fact struct {
	value   any
	entries []string
}

// NewFacts returns facts of a case in which nothing is known yet. printTime prints an instant in the case's time
// zone, for example as "Tue 24 Nov 14:10"; nil panics.
func NewFacts(printTime func(time.Time) string) *Facts {
	if printTime == nil {
		panic("rule: NewFacts without a function that prints times")
	}
	return &Facts{scope: ScopeCase, slots: make([]fact, counts[ScopeCase]), print: printTime}
}

// Wound returns the facts of the wound with that name, made at the first call. They lie over those of the case.
func (f *Facts) Wound(name string) *Facts { return f.one(ScopeWound, name) }

// Pump returns the facts of a pump, made at the first call. They lie over those of the case. The name is empty where the
// patient has one pump.
func (f *Facts) Pump(name string) *Facts { return f.one(ScopePump, name) }

// Canister returns the facts of the canister of a pump, made at the first call. They lie over those of the pump and of the
// case.
func (f *Facts) Canister(pump string) *Facts {
	on := f.Pump(pump)
	k := f.one(ScopeCanister, pump)
	k.pump = on
	return k
}

// over makes the facts of one thing of a scope.
func (f *Facts) over(scope Scope, name string) *Facts {
	switch scope {
	case ScopeCase:
		return f
	case ScopeCanister:
		return f.Canister(name)
	}
	return f.one(scope, name)
}

// layer is the layer that holds terms of a scope: this one or one under it; nil when they cannot be seen from here.
func (f *Facts) layer(scope Scope) *Facts {
	switch scope {
	case f.scope:
		return f
	case ScopeCase:
		return f.base
	case ScopePump:
		return f.pump
	}
	return nil
}

// sees tells whether rules of a scope may use terms of another.
func (s Scope) sees(term Scope) bool {
	return term == s || term == ScopeCase || s == ScopeCanister && term == ScopePump
}

func (f *Facts) one(scope Scope, name string) *Facts {
	if f.base != nil {
		panic("rule: facts of a " + string(scope) + " under those of a " + string(f.scope))
	}
	for _, w := range f.under {
		if w.scope == scope && w.of == name {
			return w
		}
	}
	w := &Facts{base: f, scope: scope, of: name, slots: make([]fact, counts[scope]), print: f.print}
	f.under = append(f.under, w)
	return w
}

// Set gives a term its value: bool, float64 or int, string, or time.Time, as its type in [Vocabulary] asks; entries
// are the IDs of the entries that it came from. Terms of a wound, a pump or a canister are set on the facts of that one only.
//
// A number that is not finite and the zero time leave the term unknown. An unknown term, a term of the other scope,
// or a value of another type is a bug in the caller: Set panics.
func (f *Facts) Set(term string, value any, entries ...string) {
	i, ok := index[term]
	if !ok {
		panic("rule: no such term: " + term)
	}
	t := &Vocabulary[i]
	if t.Scope != f.scope {
		panic("rule: " + term + " belongs to the facts of a " + string(t.Scope))
	}
	typ := Type("")
	switch v := value.(type) {
	case bool:
		typ = Bool
	case string:
		typ = Text
	case int:
		typ, value = Number, float64(v)
	case float64:
		typ = Number
		if math.IsNaN(v) || math.IsInf(v, 0) {
			value = nil
		}
	case time.Time:
		typ = Time
		if v.IsZero() {
			value = nil
		}
	}
	if typ != t.Type {
		panic(fmt.Sprintf("rule: %s is a %s, got %T", term, t.Type, value))
	}
	f.slots[slots[i]] = fact{value, entries}
}

// Known returns the value of a term, or nil when it is unknown. Wounds, pumps and canisters see the terms of their case too.
func (f *Facts) Known(term string) any {
	i, ok := index[term]
	if !ok {
		panic("rule: no such term: " + term)
	}
	return f.at(i).value
}

var nothing fact

// at returns the fact in a slot of the vocabulary; an unknown one has a nil value.
func (f *Facts) at(i int) *fact {
	if l := f.layer(Vocabulary[i].Scope); l != nil {
		return &l.slots[slots[i]]
	}
	return &nothing
}
