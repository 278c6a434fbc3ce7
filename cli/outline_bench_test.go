package cli

import (
	"encoding/json"
	"testing"

	"lowtide/evidence/scene"
	"lowtide/outline"
)

// BenchmarkOutlineTwelveMegapixels is `lowtide outline` on a photo of 12 megapixels with two strips, from the file's bytes
// to sizes. What it allocates in all (B/op) bounds what it can hold at once; the budget is 300 MB.
func BenchmarkOutlineTwelveMegapixels(b *testing.B) {
	d := scene.Ordinary(31, 12, 15, 2, true)
	raw := d.Paint()
	loop := d.Loop()
	mid := outline.Centroid(loop)
	for i, p := range loop { // as a finger draws: 1.3 times as wide
		loop[i] = outline.Point{X: mid.X + 1.3*(p.X-mid.X), Y: mid.Y + 1.3*(p.Y-mid.Y)}
	}
	b.ReportAllocs()
	for b.Loop() {
		a, err := measurePhoto(raw, loop, nil, outline.FindOptions{}, outline.MeasureOptions{})
		if err != nil || a.Measures == nil {
			b.Fatal(err, a.NoScale)
		}
		if _, err := json.Marshal(a); err != nil {
			b.Fatal(err)
		}
	}
}
