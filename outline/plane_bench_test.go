package outline_test

import (
	"testing"

	"lowtide/evidence/scene"
	"lowtide/outline"
)

// BenchmarkPhotoToPlane is the budget: a 12-megapixel JPEG to a measured area in under a second.
func BenchmarkPhotoToPlane(b *testing.B) {
	d := scene.Ordinary(4, 12, 30, 2, true)
	raw, loop := d.Paint(), d.Loop()
	b.ReportAllocs()
	for b.Loop() {
		p, err := outline.ReadPhoto(raw)
		if err != nil {
			b.Fatal(err)
		}
		plane, _, err := outline.FindStrips(p.Image, outline.FindOptions{})
		if err != nil {
			b.Fatal(err)
		}
		if _, err := outline.Measure(outline.Traced{Outer: loop}, plane, outline.MeasureOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkPhotoTurned is the same for a photo that was stored on its side and must be written anew.
func BenchmarkPhotoTurned(b *testing.B) {
	d := scene.Ordinary(4, 12, 30, 2, true)
	raw := outline.WithOrientation(d.Paint(), 6)
	b.ReportAllocs()
	for b.Loop() {
		p, err := outline.ReadPhoto(raw)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := p.Stored(); err != nil {
			b.Fatal(err)
		}
	}
}
