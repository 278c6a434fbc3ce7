package state

import (
	"math"
	"testing"
	"time"

	"lowtide/casebook"
)

// TestErrorOverSeveralPhotos: a wound on two photos, 30 and 20 cm². The printed size is the same on both and adds as it is
// (0.3 + 0.2), the tilt is each photo's own (0.4 and 0.3): √(0.5² + 0.4² + 0.3²) = 0.707. An outline that states the whole
// only is taken as independent of the others.
func TestErrorOverSeveralPhotos(t *testing.T) {
	at := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	entry := func(id string, b casebook.Body, blobs ...string) casebook.Entry {
		at = at.Add(time.Minute)
		return casebook.Entry{ID: id, Case: "c", Kind: b.Kind(), Version: 1, At: at, Recorded: at, Body: b, Blobs: blobs}
	}
	drawn := func(photo, addsTo string, area, size, tilt float64) casebook.OutlineTraced {
		return casebook.OutlineTraced{Wound: "A", Photo: photo, AddsTo: addsTo, AreaCm2: area, AreaSECm2: math.Hypot(size, tilt),
			Errors: []casebook.Share{{Name: "print size", SECm2: size}, {Name: "marks and lens", SECm2: tilt}}}
	}
	one, two := drawn("p1", "", 30, 0.3, 0.4), drawn("p2", "o1", 20, 0.2, 0.3)
	untold := two
	untold.Errors = nil
	for name, c := range map[string]struct {
		entries []casebook.Entry
		want    float64
	}{
		"one photo":        {[]casebook.Entry{entry("o1", one)}, 0.5},
		"two photos":       {[]casebook.Entry{entry("o1", one), entry("o2", two)}, math.Sqrt(0.5)},
		"the whole stated": {[]casebook.Entry{entry("o1", one), entry("o2", untold)}, math.Sqrt(0.25 + 0.04 + 0.09)},
	} {
		w := casebook.Fold("c", append(c.entries, entry("p1", casebook.PhotoTaken{Wound: "A", WidthPx: 9, HeightPx: 9}, "b1"), entry("p2", casebook.PhotoTaken{Wound: "A", WidthPx: 9, HeightPx: 9}, "b2"))).Wound("A")
		if got := outlineSE(w, w.Outline("o1")); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%s: %g, want %g", name, got, c.want)
		}
	}
}
