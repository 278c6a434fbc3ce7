package scene

import (
	"math"
	"math/rand/v2"

	"lowtide/outline"
)

// Skins are invented tones from very light to very dark.
var Skins = [][3]float64{{241, 216, 197}, {224, 180, 148}, {194, 142, 106}, {146, 96, 70}, {94, 61, 46}, {58, 39, 32}}

// Drawn is a scene with what its nurse knows and what is wrong with it.
type Drawn struct {
	Scene
	// RulerMm is what the nurse typed for the check ruler; 0 for nothing.
	RulerMm float64
	// Fault names what was done to a photo of the second kind.
	Fault string
}

// Ordinary draws a photo as the handbook asks for it: two strips on opposite sides, tilt up to most degrees, and the
// errors that the standard error claims to hold, drawn as large as it claims them: the printed size, the height of
// the strips over the wound, and slopes of the skin under them.
// With flat, the strips are of exact size and lie in the wound's plane: what is left is camera, light and noise.
func Ordinary(seed uint64, megapixels, mostTilt float64, strips int, flat bool) Drawn {
	r := rand.New(rand.NewPCG(seed, 1))
	uni := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	d := Drawn{}
	d.Seed = seed
	skin := Skins[r.IntN(len(Skins))]
	d.Skin = skin
	d.Flesh = [3]float64{skin[0]*0.5 + 60, skin[1] * 0.4, skin[2] * 0.4}
	d.Paper, d.Ink = uni(205, 240), uni(18, 55)
	d.Grain = uni(0.02, 0.08)
	d.Light = uni(0.6, 1.02)
	d.FallX, d.FallY = uni(-0.6, 0.6), uni(-0.5, 0.5)
	if r.Float64() < 0.6 {
		d.FallX, d.FallY = d.FallX/3, d.FallY/3
	}
	d.NoiseSD = uni(1, 6)
	d.JPEG = 70 + r.IntN(26)
	d.wound(r)

	c := &d.Camera
	c.HeightPx = int(math.Sqrt(megapixels * 1e6 * 3 / 4))
	c.WidthPx = c.HeightPx * 4 / 3
	if r.Float64() < 0.5 {
		c.WidthPx, c.HeightPx = c.HeightPx, c.WidthPx
	}
	long := float64(max(c.WidthPx, c.HeightPx))
	c.FocalPx = long * uni(0.66, 0.8)
	c.TiltDeg, c.ToDeg, c.RollDeg = mostTilt*math.Sqrt(r.Float64()), uni(-180, 180), uni(-180, 180)
	c.K1, c.K2 = 0.02*r.NormFloat64(), 0.003*r.NormFloat64()
	c.OffX, c.OffY = 0.01*long*r.NormFloat64(), 0.01*long*r.NormFloat64()
	c.AimX, c.AimY = uni(-1, 1), uni(-1, 1)

	d.RulerMm = 0
	print := 1 + 0.005*r.NormFloat64()
	if r.Float64() < 0.5 {
		print = uni(0.94, 1.06)
		d.RulerMm = math.Round(150*print*(1+0.002*r.NormFloat64())*2) / 2
	}
	height, slope := 0.1*r.NormFloat64(), 1.5
	if strips == 1 {
		slope = 3
	}
	if flat {
		print, height, slope, d.RulerMm = 1, 0, 0, 0
	}
	turn := uni(-180, 180)
	for k, side := range []float64{-1, 1}[:strips] {
		dir := rad(turn)
		gap := d.reach(math.Cos(dir)*side, math.Sin(dir)*side) + 1.05 + uni(0.3, 1.5)
		along := uni(-1, 1)
		s := Strip{Which: string(rune('A' + k)), Print: print, HeightCm: height, SlopeDeg: slope * r.NormFloat64(),
			X: gap*math.Cos(dir)*side - along*math.Sin(dir), Y: gap*math.Sin(dir)*side + along*math.Cos(dir),
			TurnDeg: turn + 90 + 8*r.NormFloat64()}
		if r.Float64() < 0.5 {
			s.TurnDeg += 180
		}
		d.Strips = append(d.Strips, s)
	}
	d.step(uni(1.03, 1.5))
	perMm := c.FocalPx / c.DistanceCm / 10
	d.BlurPx = math.Max(0.5, uni(0.02, 0.15)*perMm)
	return d
}

// levelDeg is the slope against the wound up to which a strip is taken for level by somebody who looks at it: 3.7 mm
// over its width of 21 mm. An assumption of ours, no published source.
const levelDeg = 10

// OneLaid tells whether a nurse who looks says that only one strip was laid, level with the wound: there is no other,
// and it does not slope visibly.
func (d *Drawn) OneLaid() bool {
	return len(d.Strips) == 1 && math.Abs(d.Strips[0].SlopeDeg) <= levelDeg
}

// wound draws a wavy edge of 1 to 12 cm across around the origin.
func (d *Drawn) wound(r *rand.Rand) {
	size := 0.5 * math.Exp(r.Float64()*math.Log(12))
	flat, turn := 0.45+0.55*r.Float64(), r.Float64()*math.Pi
	var amp, phase [4]float64
	for i := range amp {
		amp[i], phase[i] = 0.12*r.NormFloat64()/float64(i+1), r.Float64()*2*math.Pi
	}
	const n = 90
	for i := range n {
		t := 2 * math.Pi * float64(i) / n
		f := size
		for k := range amp {
			f *= 1 + amp[k]*math.Cos(float64(k+2)*t+phase[k])
		}
		x, y := f*math.Cos(t), f*flat*math.Sin(t)
		d.Wound = append(d.Wound, outline.Point{X: x*math.Cos(turn) - y*math.Sin(turn), Y: x*math.Sin(turn) + y*math.Cos(turn)})
	}
}

// reach is how far the wound goes in a direction.
func (d *Drawn) reach(x, y float64) float64 {
	most := 0.0
	for _, p := range d.Wound {
		most = math.Max(most, p.X*x+p.Y*y)
	}
	return most
}

// step moves the camera back until strips and wound are in the photo with some room, then by a factor more.
func (d *Drawn) step(more float64) {
	c := &d.Camera
	for c.DistanceCm = 15; c.DistanceCm < 300; c.DistanceCm *= 1.03 {
		c.Set()
		if d.whole() {
			break
		}
	}
	c.DistanceCm *= more
	c.Set()
}

// whole tells whether everything is in the photo.
func (d *Drawn) whole() bool {
	c := &d.Camera
	room := 0.02 * float64(min(c.WidthPx, c.HeightPx))
	ok := func(p outline.Point) bool {
		return p.X > room && p.Y > room && p.X < float64(c.WidthPx)-room && p.Y < float64(c.HeightPx)-room
	}
	for i := range d.Strips {
		for _, q := range [4][2]float64{{-47, -10.5}, {47, -10.5}, {47, 10.5}, {-47, 10.5}} {
			if !ok(c.See(d.Strips[i].Place(q[0], q[1]))) {
				return false
			}
		}
	}
	for _, p := range d.Wound {
		if !ok(c.See(p.X, p.Y, 0)) {
			return false
		}
	}
	return true
}

// Faults are what can be wrong with a photo; each makes it harder to measure or wrong.
var Faults = []string{"tilt", "blur", "smear", "bent", "cut off", "covered", "glare", "far", "raised", "sloped", "dark", "third strip", "one strip", "lens", "two faults"}

// Hard draws a photo with a fault, from slight to hopeless.
func Hard(seed uint64, megapixels float64) Drawn {
	r := rand.New(rand.NewPCG(seed, 11))
	d := Ordinary(seed, megapixels, 30, 2, false)
	d.Fault = Faults[r.IntN(len(Faults))]
	if d.Fault == "two faults" {
		for range 2 {
			d.fault(Faults[r.IntN(len(Faults)-1)], r)
		}
	} else {
		d.fault(d.Fault, r)
	}
	d.Camera.Set()
	return d
}

func (d *Drawn) fault(name string, r *rand.Rand) {
	uni := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	c := &d.Camera
	perMm := c.FocalPx / c.DistanceCm / 10
	strip := func() *Strip { return &d.Strips[r.IntN(len(d.Strips))] }
	switch name {
	case "tilt":
		c.TiltDeg = uni(30, 70)
		d.step(uni(1.03, 1.3))
	case "blur":
		d.BlurPx = uni(0.2, 1.2) * perMm
	case "smear":
		d.SmearPx, d.SmearDeg = uni(0.3, 3)*perMm, uni(0, 180)
	case "bent":
		for i := range d.Strips {
			if i == 0 || r.Float64() < 0.7 {
				d.Strips[i].BendCm = math.Exp(uni(math.Log(5), math.Log(60)))
			}
		}
	case "cut off":
		a := uni(-180, 180)
		c.AimX, c.AimY = c.AimX+uni(0.1, 0.6)*c.DistanceCm*math.Cos(rad(a)), c.AimY+uni(0.1, 0.6)*c.DistanceCm*math.Sin(rad(a))
	case "covered":
		s := strip()
		s.CoverFrom = uni(-50, 40)
		s.CoverTo = s.CoverFrom + uni(3, 40)
	case "glare":
		for range 1 + r.IntN(6) {
			s := strip()
			p := c.See(s.Place(uni(-47, 47), uni(-10, 10)))
			d.Glare = append(d.Glare, Spot{p.X, p.Y, uni(2, 25) * perMm, uni(60, 400)})
		}
	case "far":
		c.DistanceCm *= uni(1.5, 5)
	case "raised":
		strip().HeightCm += uni(-0.5, 0.8)
	case "sloped":
		most := 45.0
		if len(d.Strips) == 1 {
			most = 5 // no photo can show that skin slopes under a lone strip; what is claimed for it is 3 degrees
		}
		for i := range d.Strips {
			d.Strips[i].SlopeDeg = uni(-most, most)
		}
	case "dark":
		d.Light *= uni(0.08, 0.5)
		d.NoiseSD *= 2
	case "third strip":
		s := d.Strips[0]
		s.X, s.Y = s.X*uni(1.4, 2), s.Y*uni(1.4, 2)
		d.Strips = append(d.Strips, s)
		d.step(uni(1.03, 1.3))
	case "one strip":
		d.Strips = d.Strips[:1]
	case "lens":
		c.K1, c.K2 = uni(-0.15, 0.05), 0.01*r.NormFloat64()
	}
}
