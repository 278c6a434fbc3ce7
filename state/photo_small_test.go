package state_test

import (
	"bytes"
	"image"
	"image/jpeg"
	"testing"

	"lowtide/casebook"
	"lowtide/state"
)

// TestSmallPhoto: a photo that was made small is known as such, so that nobody measures on it.
func TestSmallPhoto(t *testing.T) {
	var raw bytes.Buffer
	if err := jpeg.Encode(&raw, image.NewGray(image.Rect(0, 0, 1600, 1200)), nil); err != nil {
		t.Fatal(err)
	}
	body := casebook.PhotoTaken{WidthPx: 1600, HeightPx: 1200}
	small, refused := state.SmallPhoto(raw.Bytes())
	if refused != nil {
		t.Fatal(refused.Words)
	}
	if c, err := jpeg.DecodeConfig(bytes.NewReader(small)); err != nil || c.Width != state.SmallPhotoPx || c.Height != 600 {
		t.Errorf("%d by %d px, %v", c.Width, c.Height, err)
	}
	if state.IsWhole(small, body) || !state.IsWhole(raw.Bytes(), body) {
		t.Error("a small photo passes as whole, or the whole one does not")
	}
	if again, _ := state.SmallPhoto(small); !bytes.Equal(again, small) {
		t.Error("a small photo was made smaller")
	}
}
