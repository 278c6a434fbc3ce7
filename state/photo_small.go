package state

import (
	"bytes"
	"image"
	"image/jpeg"

	"golang.org/x/image/draw"

	"lowtide/casebook"
	"lowtide/outline"
)

const (
	// SmallPhotoPx is the longer side of a small photo: as wide as a telephone shows it.
	SmallPhotoPx = 800
	smallQuality = 75
)

// SmallPhoto makes a photo small, to be looked at where there is no network; nothing can be measured on it. One that is small
// already comes back as it is.
func SmallPhoto(raw []byte) ([]byte, *Refusal) {
	p, err := outline.ReadPhoto(raw)
	if err != nil {
		return nil, refusalOf(err)
	}
	long := max(p.WidthPx, p.HeightPx)
	if long <= SmallPhotoPx {
		return raw, nil
	}
	small := image.NewRGBA(image.Rect(0, 0, max(1, p.WidthPx*SmallPhotoPx/long), max(1, p.HeightPx*SmallPhotoPx/long)))
	draw.ApproxBiLinear.Scale(small, small.Bounds(), p.Image, p.Image.Bounds(), draw.Src, nil)
	var out bytes.Buffer
	if err := jpeg.Encode(&out, small, &jpeg.Options{Quality: smallQuality}); err != nil {
		return nil, refusalOf(err)
	}
	return out.Bytes(), nil
}

// IsWhole tells whether the bytes are a photo of the size that its entry gives: not one that was made small.
func IsWhole(raw []byte, body casebook.PhotoTaken) bool {
	c, _, err := image.DecodeConfig(bytes.NewReader(raw))
	return err != nil || max(c.Width, c.Height) >= max(body.WidthPx, body.HeightPx) // what cannot be read is told as such
}
