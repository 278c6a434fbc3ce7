package scene

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"math/rand/v2"

	"lowtide/outline"
)

// Textured is a photo of a flat picture of a wound with strips beside it: what the assisted edge needs, which the flat
// colours of a Scene do not give. The camera, its lens, and the strips with their errors of paper are the drawn one's.
type Textured struct {
	Drawn
	Picture image.Image
	// PerCm is the picture's pixels in a centimetre; its pixel (MidX, MidY) lies at the plane's origin.
	PerCm, MidX, MidY float64
}

// Lay fits a picture's wound, given by its mask row by row, into the room that the drawn wound has between its strips.
func Lay(d Drawn, picture image.Image, mask []bool) Textured {
	t := Textured{Drawn: d, Picture: picture}
	w := picture.Bounds().Dx()
	n := 0.0
	for i, in := range mask {
		if in {
			t.MidX, t.MidY, n = t.MidX+float64(i%w)+0.5, t.MidY+float64(i/w)+0.5, n+1
		}
	}
	t.MidX, t.MidY = t.MidX/n, t.MidY/n
	far := 0.0
	for i, in := range mask {
		if in {
			far = math.Max(far, math.Hypot(float64(i%w)+0.5-t.MidX, float64(i/w)+0.5-t.MidY))
		}
	}
	t.PerCm = far / (0.8 * d.Room())
	return t
}

// Room is the radius of the circle around the origin that lies within the drawn wound, cm.
func (d *Drawn) Room() float64 {
	room := math.Inf(1)
	for _, p := range d.Wound {
		room = math.Min(room, math.Hypot(p.X, p.Y))
	}
	return room
}

// See is where the photo shows a point of the picture.
func (t *Textured) See(x, y float64) outline.Point {
	return t.Camera.See((x-t.MidX)/t.PerCm, (y-t.MidY)/t.PerCm, 0)
}

// Paint makes the photo's JPEG. Beyond its border the picture is mirrored.
func (t *Textured) Paint() []byte {
	t.Camera.Set()
	c := &t.Camera
	b := t.Picture.Bounds()
	boxes := make([][4]int, len(t.Strips))
	for i := range t.Strips {
		boxes[i] = t.box(&t.Strips[i])
	}
	fold := func(v float64, n int) int {
		m := int(math.Floor(v)) % (2 * n)
		if m < 0 {
			m += 2 * n
		}
		return min(m, 2*n-1-m)
	}
	r := rand.New(rand.NewPCG(t.Seed, 17))
	img := image.NewRGBA(image.Rect(0, 0, c.WidthPx, c.HeightPx))
	for y := range c.HeightPx {
		for x := range c.WidthPx {
			var sum [3]float64
			for k := range 4 {
				px, py := float64(x)+0.25+0.5*float64(k%2), float64(y)+0.25+0.5*float64(k/2)
				ray := c.ray(px, py)
				v, ok := t.ink(boxes, x, y, ray)
				if !ok {
					f := -c.at.z / ray.z
					u, w := (c.at.x+f*ray.x)*t.PerCm+t.MidX, (c.at.y+f*ray.y)*t.PerCm+t.MidY
					cr, cg, cb, _ := t.Picture.At(b.Min.X+fold(u, b.Dx()), b.Min.Y+fold(w, b.Dy())).RGBA()
					v = [3]float64{float64(cr) / 257, float64(cg) / 257, float64(cb) / 257}
				}
				for j := range sum {
					sum[j] += v[j] / 4
				}
			}
			noise := r.NormFloat64() * t.NoiseSD / 2
			light := 1 + t.FallX/3*(float64(x)/float64(c.WidthPx)-0.5)
			var out [3]uint8
			for j := range out {
				out[j] = uint8(math.Min(255, math.Max(0, sum[j]*light+noise+0.5)))
			}
			img.SetRGBA(x, y, color.RGBA{out[0], out[1], out[2], 255})
		}
	}
	var buf bytes.Buffer
	if err := jpeg.Encode(&buf, img, &jpeg.Options{Quality: t.JPEG}); err != nil {
		panic(err) // a picture in memory: only a bug fails
	}
	return buf.Bytes()
}

// ink is the colour of the strip that a ray meets.
func (t *Textured) ink(boxes [][4]int, x, y int, ray vec) (v [3]float64, ok bool) {
	for i := range t.Strips {
		if b := boxes[i]; x < b[0] || x > b[2] || y < b[1] || y > b[3] {
			continue
		}
		p := &t.Strips[i]
		if mx, my, hit := p.hit(t.Camera.at, ray); hit {
			if black, on := outline.StripInk(p.Which, mx, my); on {
				l := t.Paper
				if black {
					l = t.Ink
				}
				return [3]float64{l, l, l * 0.97}, true
			}
		}
	}
	return v, false
}
