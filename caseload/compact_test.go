package caseload

import (
	"reflect"
	"testing"
	"time"
	"unsafe"

	"lowtide/state"
)

// TestCompact: a copy says the same, shares its texts with other rows and nothing with what it was made from.
func TestCompact(t *testing.T) {
	due := time.Date(2026, 3, 4, 8, 0, 0, 0, time.UTC)
	text := func() string { return string([]byte("Change the canister")) }
	made := func() *kept {
		return &kept{Row: Row{Case: "c", Person: state.Person{Name: "x"}, Findings: append(make([]RowFinding, 0, 9), RowFinding{Headline: text(), Due: &due})},
			Needs: &state.Needs{Spare: []string{text()}}, head: "h", key: 7}
	}
	var w words
	k, from := w.compact(made(), 0), made()
	other := w.compact(from, 1)
	if !reflect.DeepEqual(other, from) || !reflect.DeepEqual(k, other) {
		t.Fatalf("%+v is not %+v", other, from)
	}
	same := func(a, b string) bool { return unsafe.StringData(a) == unsafe.StringData(b) }
	if !same(k.Row.Findings[0].Headline, other.Row.Findings[0].Headline) || !same(k.Needs.Spare[0], other.Row.Findings[0].Headline) || same(from.Row.Findings[0].Headline, other.Row.Findings[0].Headline) {
		t.Error("texts are not shared")
	}
	if cap(other.Row.Findings) != 1 || other.Needs == from.Needs || other.Row.Findings[0].Due == &due {
		t.Error("something is shared with what it was made from")
	}
	// The texts are forgotten when there are many more than the rows need.
	for i := range mostWords*100 + 2 {
		w.of(time.Duration(i).String())
	}
	if w.compact(from, 0); len(w) > 100 {
		t.Errorf("%d texts", len(w))
	}
}
