package state

import (
	"sort"
	"strings"

	"lowtide/casebook"
)

// Sink takes the values of terms of rule.Vocabulary, with the entries that they came from. A term that is
// never set stays unknown.
type Sink func(term string, value any, entries ...string)

// setNum sets a term when the number is known.
func (set Sink) setNum(term string, v *float64, entries ...string) {
	if v != nil {
		set(term, *v, entries...)
	}
}

// setBool sets a term when the answer is known.
func (set Sink) setBool(term string, v *bool, entries ...string) {
	if v != nil {
		set(term, *v, entries...)
	}
}

// setText sets a term when the text is not empty.
func (set Sink) setText(term, v string, entries ...string) {
	if v != "" {
		set(term, v, entries...)
	}
}

// recordFacts tell what of the record itself cannot be used.
func recordFacts(c *casebook.Case, set Sink) {
	set("case.unknown_entries", float64(c.UnknownEntries))
}

// Newest returns the last body of the list in which the field is known.
func Newest[T, V any](list []casebook.Dated[T], field func(T) *V) (casebook.Dated[T], *V) {
	for i := len(list) - 1; i >= 0; i-- {
		if v := field(list[i].Body); v != nil {
			return list[i], v
		}
	}
	return casebook.Dated[T]{}, nil
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

func indexOf(list []string, s string) int {
	for i, x := range list {
		if x == s {
			return i
		}
	}
	return -1
}

func sortStrings(list []string) { sort.Strings(list) }

// Lower starts a phrase with a small letter, unless it starts with an abbreviation.
func Lower(s string) string {
	if len(s) > 1 && s[1] >= 'A' && s[1] <= 'Z' {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
