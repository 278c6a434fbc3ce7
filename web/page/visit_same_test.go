package page

import (
	"net/url"
	"slices"
	"strings"
	"testing"

	"lowtide/casebook"
)

// TestWithSame: the tick writes how the wound looked and how the seal was at the visit that it names, only where nothing was
// typed, and never a count, a sign or pain.
func TestWithSame(t *testing.T) {
	pain := 4.0
	visit := func(id string, bed ...string) casebook.Dated[casebook.DressingChanged] {
		return casebook.Dated[casebook.DressingChanged]{ID: id, Body: casebook.DressingChanged{Seal: "holds", Seen: casebook.Seen{Pain: &pain},
			Wounds: []casebook.WoundChange{{Wound: "A", Bed: bed, Periwound: []string{"red"}, Exudate: "little", Out: []casebook.Pieces{{Filler: "foam", Count: 3}}, In: []casebook.Pieces{{Filler: "foam", Count: 3}}}}}}
	}
	c := &casebook.Case{Changes: []casebook.Dated[casebook.DressingChanged]{visit("v1", "slough"), visit("v2", "granulation")}}
	form := url.Values{"wounds/0/wound?": {"A"}, "-same/0": {"true"}, "-same-of/0": {"v1"}, "wounds/0/exudate": {"much"}}
	got := WithSame(form, c)
	for name, want := range map[string][]string{"wounds/0/bed": {"slough"}, "wounds/0/periwound": {"red"}, "wounds/0/exudate": {"much"}, "seal": {"holds"}} {
		if !slices.Equal(got[name], want) {
			t.Errorf("%s: %v, want %v", name, got[name], want)
		}
	}
	for name := range got {
		if strings.Contains(name, "count") || strings.Contains(name, "sign") || name == "pain" || strings.Contains(name, "/out") || strings.Contains(name, "/in/") {
			t.Errorf("the tick wrote %s", name)
		}
	}
	if len(form) != 4 {
		t.Error("the form was changed")
	}
	form.Del("-same/0")
	if len(WithSame(form, c)) != len(form) {
		t.Error("without the tick something was written")
	}
}
