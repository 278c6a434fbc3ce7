package main

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"lowtide/casebook"
	"lowtide/outline"
	"lowtide/state"
)

// TestPhotosAreWhatTheySay: the committed photos are no larger than 60 kB, and the program measures on them what
// outlines.json says, which is the painted wound's own area within three standard errors.
func TestPhotosAreWhatTheySay(t *testing.T) {
	text, err := os.ReadFile("../outlines.json")
	if err != nil {
		t.Fatal(err)
	}
	var kept map[string]struct {
		Photo   casebook.PhotoTaken
		Outline casebook.OutlineTraced
	}
	if err := json.Unmarshal(text, &kept); err != nil {
		t.Fatal(err)
	}
	for _, p := range plans {
		file, err := os.ReadFile("../" + p.name + ".jpg")
		if err != nil {
			t.Fatal(err)
		}
		_, edge, marks := p.paint()
		if len(file) > 60_000 {
			t.Errorf("%s is too large: %d bytes", p.name, len(file))
		}
		if !p.traced {
			continue
		}
		sizes := state.MeasureDrawn(file, kept[p.name].Photo, state.Drawn{Parts: []state.DrawnPart{{Wound: "A", Edge: edge}}, Marks: marks})
		if sizes.Refused != nil {
			t.Fatal(p.name, sizes.Refused)
		}
		got, want := sizes.Wounds[0].Entry, kept[p.name].Outline
		if math.Abs(got.AreaCm2-want.AreaCm2) > 0.01 || math.Abs(got.AreaSECm2-want.AreaSECm2) > 0.01 || got.Scale.By != "two strips" {
			t.Errorf("%s: %.3f ± %.3f cm² by %s, outlines.json says %.3f ± %.3f", p.name, got.AreaCm2, got.AreaSECm2, got.Scale.By, want.AreaCm2, want.AreaSECm2)
		}
		var truth []outline.Point
		for i := range 72 {
			a, r := 2*math.Pi*float64(i)/72, p.radius(float64(i)/6)
			truth = append(truth, outline.Point{X: r * math.Sin(a), Y: -r * math.Cos(a)})
		}
		if off := math.Abs(got.AreaCm2 - outline.Area(truth)); off > 3*got.AreaSECm2 {
			t.Errorf("%s: %.2f cm² where %.2f were painted", p.name, got.AreaCm2, outline.Area(truth))
		}
	}
}
