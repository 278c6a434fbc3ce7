package painted

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"math/rand/v2"
)

type rgb [3]float64

func (c rgb) mix(d rgb, t float64) rgb {
	return rgb{c[0] + t*(d[0]-c[0]), c[1] + t*(d[1]-c[1]), c[2] + t*(d[2]-c[2])}
}

func (c rgb) times(k float64) rgb { return rgb{c[0] * k, c[1] * k, c[2] * k} }

// canvas holds linear light, row by row.
type canvas struct {
	side int
	px   []rgb
}

func newCanvas(side int) *canvas { return &canvas{side, make([]rgb, side*side)} }

// blur is three box blurs, near to a Gaussian of the given standard deviation in pixels.
func (c *canvas) blur(sigma float64) {
	if sigma < 0.3 {
		return
	}
	// a Gaussian kernel is short enough here
	r := int(math.Ceil(2.5 * sigma))
	k := make([]float64, 2*r+1)
	sum := 0.0
	for i := range k {
		k[i] = math.Exp(-float64((i-r)*(i-r)) / (2 * sigma * sigma))
		sum += k[i]
	}
	tmp := make([]rgb, len(c.px))
	for pass, src, dst := 0, c.px, tmp; pass < 2; pass, src, dst = pass+1, tmp, c.px {
		for y := 0; y < c.side; y++ {
			for x := 0; x < c.side; x++ {
				var acc rgb
				for i, w := range k {
					xx, yy := x, y
					if pass == 0 {
						xx = min(max(x+i-r, 0), c.side-1)
					} else {
						yy = min(max(y+i-r, 0), c.side-1)
					}
					p := src[yy*c.side+xx]
					acc[0] += w * p[0]
					acc[1] += w * p[1]
					acc[2] += w * p[2]
				}
				dst[y*c.side+x] = acc.times(1 / sum)
			}
		}
	}
}

// develop turns linear light into a JPEG as a phone would and reads it back.
func (c *canvas) develop(rng *rand.Rand, noise float64, quality int) image.Image {
	img := image.NewRGBA(image.Rect(0, 0, c.side, c.side))
	for i, p := range c.px {
		var v [3]uint8
		for k := range p {
			s := p[k] + noise*math.Sqrt(math.Max(p[k], 0.002))*rng.NormFloat64()
			s = math.Min(1, math.Max(0, s))
			if s <= 0.0031308 {
				s *= 12.92
			} else {
				s = 1.055*math.Pow(s, 1/2.4) - 0.055
			}
			v[k] = uint8(s*255 + 0.5)
		}
		img.SetRGBA(i%c.side, i/c.side, color.RGBA{v[0], v[1], v[2], 255})
	}
	var buf bytes.Buffer
	if err := jpeg.Encode(&buf, img, &jpeg.Options{Quality: quality}); err != nil {
		panic("painted: " + err.Error()) // a buffer takes everything
	}
	out, err := jpeg.Decode(&buf)
	if err != nil {
		panic("painted: " + err.Error())
	}
	return out
}

// pad blackens everything outside of a random window that keeps the wound, as many public pictures are padded.
func (c *canvas) pad(x0, y0, x1, y1 int) {
	for i := range c.px {
		if x, y := i%c.side, i/c.side; x < x0 || x >= x1 || y < y0 || y >= y1 {
			c.px[i] = rgb{}
		}
	}
}
