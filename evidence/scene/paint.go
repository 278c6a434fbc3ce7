package scene

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"math/rand/v2"
	"sort"

	"lowtide/outline"
)

// Strip is one piece of paper: its middle, its turn, and what keeps it from lying flat.
type Strip struct {
	Which              string
	X, Y, TurnDeg      float64
	HeightCm           float64
	SlopeDeg           float64 // about its long side
	BendCm             float64 // radius of the limb along it; 0 is flat
	Print              float64 // printed size as a share of the true one
	CoverFrom, CoverTo float64 // mm along it that something lies on; equal when nothing does
}

// Spot is a patch of glare: place, radius, strength.
type Spot struct{ X, Y, R, Add float64 }

// Scene is one photo.
type Scene struct {
	Camera Camera
	Strips []Strip
	// Wound is its edge in the plane, cm.
	Wound               []outline.Point
	Skin, Flesh         [3]float64
	Light, FallX, FallY float64 // brightness at the centre, and its change to the border
	Glare               []Spot
	NoiseSD, BlurPx     float64
	SmearPx, SmearDeg   float64
	JPEG                int
	Seed                uint64
	Paper, Ink          float64
	Grain               float64
}

// Loop is the wound's edge as the camera sees it.
func (s *Scene) Loop() []outline.Point {
	out := make([]outline.Point, len(s.Wound))
	for i, p := range s.Wound {
		out[i] = s.Camera.See(p.X, p.Y, 0)
	}
	return out
}

// Place is where a point of a strip (mm from its middle) lies in space.
func (p *Strip) Place(x, y float64) (float64, float64, float64) {
	x, y = x*p.Print/10, y*p.Print/10
	z := p.HeightCm - y*math.Sin(rad(p.SlopeDeg))
	y *= math.Cos(rad(p.SlopeDeg))
	if p.BendCm > 0 {
		a := x / p.BendCm
		x, z = p.BendCm*math.Sin(a), z-p.BendCm*(1-math.Cos(a))
	}
	c, s := math.Cos(rad(p.TurnDeg)), math.Sin(rad(p.TurnDeg))
	return p.X + c*x - s*y, p.Y + s*x + c*y, z
}

// hit is where on the strip (mm) a ray meets it; found by a few steps, since paper is nearly level.
func (p *Strip) hit(from, dir vec) (x, y float64, ok bool) {
	c, s := math.Cos(rad(p.TurnDeg)), math.Sin(rad(p.TurnDeg))
	cs, sn := math.Cos(rad(p.SlopeDeg)), math.Sin(rad(p.SlopeDeg))
	z := p.HeightCm
	for range 8 {
		t := (z - from.z) / dir.z
		dx, dy := from.x+t*dir.x-p.X, from.y+t*dir.y-p.Y
		x, y = c*dx+s*dy, (-s*dx+c*dy)/cs
		if math.Abs(x) > 8 || math.Abs(y) > 3 {
			return 0, 0, false
		}
		next := p.HeightCm - y*sn
		if p.BendCm > 0 {
			if math.Abs(x) >= p.BendCm {
				return 0, 0, false
			}
			a := math.Asin(x / p.BendCm)
			x = a * p.BendCm
			next -= p.BendCm * (1 - math.Cos(a))
		}
		if math.Abs(next-z) < 1e-7 {
			break
		}
		z = next
	}
	return x * 10 / p.Print, y * 10 / p.Print, true
}

// Kinds of surface, for their colour; brightness is painted apart.
const (
	skin = iota
	flesh
	paper
)

// Paint makes the photo as the JPEG file that a phone would hand over. Brightness is painted, blurred and made
// noisy on its own plane; colour follows the surface.
func (s *Scene) Paint() []byte {
	s.Camera.Set()
	w, h := s.Camera.WidthPx, s.Camera.HeightPx
	y8 := make([]float32, w*h)
	kind := make([]uint8, w*h)
	g := newGrain(s.Seed)
	level := [3]float64{luma(s.Skin), luma(s.Flesh), s.Paper}
	s.fillWound(kind)
	tile := g.tile()
	for y := range h {
		for x := range w {
			i := y*w + x
			y8[i] = float32(level[kind[i]]) * (1 + float32(s.Grain)*tile[y%tileSide*tileSide+x%tileSide])
		}
	}
	for i := range s.Strips {
		s.lay(&s.Strips[i], y8, kind)
	}
	s.light(y8)
	if s.BlurPx > 0.2 {
		blur(y8, w, h, s.BlurPx)
	}
	if s.SmearPx > 1 {
		y8 = smear(y8, w, h, s.SmearPx, s.SmearDeg)
	}
	img := image.NewYCbCr(image.Rect(0, 0, w, h), image.YCbCrSubsampleRatio420)
	r := rand.New(rand.NewPCG(s.Seed, 7))
	for i, v := range y8 {
		img.Y[i/w*img.YStride+i%w] = uint8(min(max(float64(v)+r.NormFloat64()*s.NoiseSD+0.5, 0), 255))
	}
	tint := [3][3]float64{s.Skin, s.Flesh, {255, 255, 247}}
	for y := 0; y < h; y += 2 {
		for x := 0; x < w; x += 2 {
			k := kind[y*w+x]
			t := tint[k]
			f := float64(img.Y[y*img.YStride+x]) / luma(t)
			_, cb, cr := color.RGBToYCbCr(uint8(min(t[0]*f, 255)), uint8(min(t[1]*f, 255)), uint8(min(t[2]*f, 255)))
			at := y/2*img.CStride + x/2
			img.Cb[at], img.Cr[at] = cb, cr
		}
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, img, &jpeg.Options{Quality: s.JPEG}); err != nil {
		panic(err) // a picture in memory: only a bug fails
	}
	return out.Bytes()
}

func luma(c [3]float64) float64 { return 0.299*c[0] + 0.587*c[1] + 0.114*c[2] }

// light multiplies by the light's fall-off and adds glare.
func (s *Scene) light(v []float32) {
	w, h := s.Camera.WidthPx, s.Camera.HeightPx
	for y := range h {
		row := 1 + s.FallY*(float64(y)/float64(h)-0.5)
		for x := range w {
			v[y*w+x] *= float32(s.Light * (row + s.FallX*(float64(x)/float64(w)-0.5)))
		}
	}
	for _, g := range s.Glare {
		for y := max(0, int(g.Y-3*g.R)); y < min(h, int(g.Y+3*g.R)); y++ {
			for x := max(0, int(g.X-3*g.R)); x < min(w, int(g.X+3*g.R)); x++ {
				d := (math.Pow(float64(x)-g.X, 2) + math.Pow(float64(y)-g.Y, 2)) / (g.R * g.R)
				v[y*w+x] += float32(g.Add * math.Exp(-d))
			}
		}
	}
}

// fillWound marks the wound's pixels, row by row between the crossings of its edge.
func (s *Scene) fillWound(kind []uint8) {
	w, h := s.Camera.WidthPx, s.Camera.HeightPx
	loop := s.Loop()
	for y := range h {
		var cross []float64
		at := float64(y) + 0.5
		for i, a := range loop {
			b := loop[(i+1)%len(loop)]
			if (a.Y > at) != (b.Y > at) {
				cross = append(cross, a.X+(at-a.Y)/(b.Y-a.Y)*(b.X-a.X))
			}
		}
		sort.Float64s(cross)
		for i := 0; i+1 < len(cross); i += 2 {
			for x := max(0, int(math.Ceil(cross[i]-0.5))); x < w && float64(x)+0.5 < cross[i+1]; x++ {
				kind[y*w+x] = flesh
			}
		}
	}
}

// lay paints a strip: a ray for each pixel of its surroundings, nine samples of ink between neighbouring rays.
func (s *Scene) lay(p *Strip, v []float32, kind []uint8) {
	w, h := s.Camera.WidthPx, s.Camera.HeightPx
	b := s.box(p)
	x0, y0, x1, y1 := max(0, b[0]), max(0, b[1]), min(w-1, b[2]), min(h-1, b[3])
	if x1 <= x0 || y1 <= y0 {
		return
	}
	n := x1 - x0 + 2
	row := func(y int) []outline.Point {
		out := make([]outline.Point, n)
		for i := range out {
			hx, hy, ok := p.hit(s.Camera.at, s.Camera.ray(float64(x0+i)+0.5, float64(y)+0.5))
			if !ok {
				hx, hy = math.NaN(), math.NaN()
			}
			out[i] = outline.Point{X: hx, Y: hy}
		}
		return out
	}
	this := row(y0)
	for y := y0; y <= y1; y++ {
		next := row(y + 1)
		for i := range n - 1 {
			c, r, d := this[i], this[i+1], next[i]
			if math.IsNaN(c.X+r.X+d.X) || c.X > p.CoverFrom && c.X < p.CoverTo {
				continue
			}
			ink, on := 0.0, 0.0
			for j := range 9 {
				fx, fy := float64(j%3-1)/3, float64(j/3-1)/3
				black, ok := outline.StripInk(p.Which, c.X+fx*(r.X-c.X)+fy*(d.X-c.X), c.Y+fx*(r.Y-c.Y)+fy*(d.Y-c.Y))
				if ok {
					on++
				}
				if black {
					ink++
				}
			}
			if on == 0 {
				continue
			}
			at := y*w + x0 + i
			v[at] = float32((float64(v[at])*(9-on) + s.Ink*ink + s.Paper*(on-ink)) / 9)
			kind[at] = paper
		}
		this = next
	}
}

// box is the part of the photo that a strip may cover.
func (s *Scene) box(p *Strip) [4]int {
	b := [4]int{1 << 30, 1 << 30, -1 << 30, -1 << 30}
	for x := -48.0; x <= 48; x += 4 {
		for _, y := range []float64{-11, 11} {
			q := s.Camera.See(p.Place(x, y))
			b = [4]int{min(b[0], int(q.X)-3), min(b[1], int(q.Y)-3), max(b[2], int(q.X)+3), max(b[3], int(q.Y)+3)}
		}
	}
	return b
}
