package painted

import (
	"math"
	"math/rand/v2"
)

// room is a photo as one takes it beside a bed: a limb on a sheet, a wound with what surrounds wounds, and things that
// lie about. Each picture draws its troubles on its own; Troubles names them.
type room struct {
	rng  *rand.Rand
	side float64
	s    Scene

	// The wound is a star: reach tells how far it goes in each direction from its middle.
	cx, cy, r float64
	amp, at   [7]float64
	notch     float64
	notchAt   float64

	// The limb is a band through the wound's middle, limbHalf wide to either side; beyond it lies the sheet.
	limbTurn, limbHalf, limbOff float64
	sheet                       rgb
	folds                       field

	skin                      rgb
	blotch, fine, creases     field
	creaseAmt, creaseTurn     float64
	red, redWide              float64
	pale, paleWide, paleSide  float64
	callus, callusWide        float64
	gran, slough, dead, young rgb
	strings, lumps, patches   field
	sloughPush, deadPush      float64
	youngWide, pit, pitWide   float64
	wet                       float64
	fuzzy                     float64
	tear                      field
}

// paintRoom shares only noise and linear light with the other painters: shapes, colours, surroundings, camera and loop
// are its own. It was written after the method and its constants were fixed on the others.
func paintRoom(seed uint64, side int) Scene {
	for try := uint64(0); ; try++ {
		p := &room{rng: rand.New(rand.NewPCG(seed, 5150+try)), side: float64(side)}
		if p.once() {
			return p.s
		}
	}
}

func (p *room) uni(lo, hi float64) float64 { return uniform(p.rng, lo, hi) }
func (p *room) often(share float64) bool   { return p.rng.Float64() < share }
func (p *room) trouble(name string)        { p.s.Troubles += " " + name }
func (p *room) maybe(share float64, name string) bool {
	if !p.often(share) {
		return false
	}
	p.trouble(name)
	return true
}

func (p *room) once() bool {
	f := p.side
	p.s = Scene{Width: int(f), Height: int(f), Mask: make([]bool, int(f*f)), Tissue: make([]Tissue, int(f*f)), Painter: "room"}
	share := math.Exp(p.uni(math.Log(0.006), math.Log(0.12)))
	switch {
	case p.maybe(0.1, "tiny"):
		share = math.Pow(p.uni(30, 50)/2, 2) * math.Pi / (f * f)
	case p.maybe(0.12, "huge"):
		share = p.uni(0.35, 0.75)
	}
	p.r = math.Sqrt(share/math.Pi) * f
	p.cx, p.cy = p.uni(0.25, 0.75)*f, p.uni(0.25, 0.75)*f
	if share > 0.3 {
		p.cx, p.cy = p.uni(0.46, 0.54)*f, p.uni(0.46, 0.54)*f
	} else if p.maybe(0.12, "at the border") {
		p.cx = p.r * p.uni(1.02, 1.25)
	}
	for k := range p.amp {
		p.amp[k], p.at[k] = p.uni(0, 0.28)/float64(k+1), p.uni(0, 2*math.Pi)
	}
	p.notch, p.notchAt = p.uni(0, 0.35)*float64(p.rng.IntN(2)), p.uni(0, 2*math.Pi)
	p.tear = newField(p.rng, p.r*0.25+2, 3)
	p.surroundings()
	p.bed()
	c := p.canvas()
	if n := count(p.s.Mask); n < 300 {
		return false
	}
	p.things(c)
	p.camera(c)
	var ok bool
	p.s.Loop, ok = p.loop()
	p.s.Share = float64(count(p.s.Mask)) / (f * f)
	return ok
}

// reach is the wound's radius in a direction.
func (p *room) reach(t float64) float64 {
	v := 1.0
	for k := range p.amp {
		v += p.amp[k] * math.Cos(float64(k+2)*t+p.at[k])
	}
	d := math.Cos(t - p.notchAt)
	v -= p.notch * math.Exp(-(1-d)*12)
	return p.r * math.Max(0.35, v)
}

// depth is about the share of the radius that a place lies inside (positive) or outside of the edge.
func (p *room) depth(x, y float64) float64 {
	d := math.Hypot(x-p.cx, y-p.cy)
	return (p.reach(math.Atan2(y-p.cy, x-p.cx))-d)/p.r + 0.025*p.tear.at(x, y)
}

func (p *room) surroundings() {
	f := p.side
	tone := 1 + p.rng.IntN(6)
	p.s.Tone = tone
	base := [6][3]float64{{232, 198, 180}, {214, 170, 146}, {190, 140, 110}, {152, 104, 76}, {110, 74, 54}, {72, 50, 40}}[tone-1]
	p.skin = display(base[0], base[1], base[2]).times(p.uni(0.85, 1.15))
	p.blotch, p.fine = newField(p.rng, f*0.15, 3), newField(p.rng, 3.5, 2)
	p.creases, p.creaseAmt, p.creaseTurn = newField(p.rng, f*0.035, 3), p.uni(0, 0.22), p.uni(0, math.Pi)
	if p.maybe(0.55, "red around") {
		p.red, p.redWide = p.uni(0.2, 0.75), p.uni(0.2, 1.1)
	}
	if p.maybe(0.4, "macerated") {
		p.pale, p.paleWide, p.paleSide = p.uni(0.3, 0.9), p.uni(0.08, 0.3), p.uni(0, 2*math.Pi)
	}
	if p.maybe(0.25, "callus") {
		p.callus, p.callusWide = p.uni(0.4, 0.9), p.uni(0.15, 0.4)
	}
	p.limbTurn, p.limbHalf = p.uni(0, math.Pi), p.r*p.uni(1.25, 4)
	p.limbOff = p.uni(-0.5, 0.5) * (p.limbHalf - p.r)
	if p.s.Share = 0; p.often(0.35) {
		p.limbHalf = 10 * f // no background in sight
	} else {
		p.trouble("sheet")
	}
	sheets := []rgb{display(60, 110, 170), display(40, 120, 100), display(225, 228, 232), display(240, 240, 236), display(30, 30, 34), display(6, 6, 7),
		display(120, 96, 70), display(200, 186, 160), display(150, 60, 60), display(96, 110, 128)}
	p.sheet, p.folds = sheets[p.rng.IntN(len(sheets))], newField(p.rng, f*0.2, 4)
}

func (p *room) bed() {
	p.gran = display(p.uni(120, 200), p.uni(28, 80), p.uni(30, 75))
	p.slough = display(p.uni(165, 225), p.uni(145, 200), p.uni(80, 150))
	p.dead = display(p.uni(14, 60), p.uni(10, 44), p.uni(10, 40))
	p.young = display(p.uni(205, 235), p.uni(130, 165), p.uni(125, 155))
	p.strings, p.lumps, p.patches = newField(p.rng, p.r*0.35+3, 4), newField(p.rng, p.r*0.14+2.5, 3), newField(p.rng, p.r*0.8+4, 3)
	kinds := []string{"granulation", "slough", "eschar", "mixed", "mixed", "mixed"}
	p.s.Texture = kinds[p.rng.IntN(len(kinds))]
	push := map[string][2]float64{"granulation": {-0.7, -1.2}, "slough": {0.5, -1}, "eschar": {-0.3, 0.6}, "mixed": {p.uni(-0.3, 0.3), p.uni(-0.5, 0.1)}}[p.s.Texture]
	p.sloughPush, p.deadPush = push[0], push[1]
	if p.maybe(0.3, "young rim") {
		p.youngWide = p.uni(0.05, 0.18)
	}
	if p.maybe(0.25, "pit") {
		p.pit, p.pitWide = p.uni(0.5, 0.92), p.uni(0.25, 0.6)
	}
	if p.maybe(0.15, "pale middle") {
		p.pit, p.pitWide = -p.uni(0.5, 0.9), p.uni(0.25, 0.6)
	}
	p.wet = p.uni(0, 1)
	p.s.Glare = p.wet > 0.5
	p.fuzzy = math.Exp(p.uni(math.Log(0.015), math.Log(0.2)))
}

// tissueAt is the colour of the bed and its kind.
func (p *room) tissueAt(x, y, d float64) (rgb, Tissue) {
	l := 1 + 0.35*p.lumps.at(x, y)
	col, kind := p.gran.times(l), Granulation
	// slough hangs in strings: ridges of the noise
	s := smoothstep(-0.12, 0.2, p.patches.at(x, y)*0.7+0.5*(0.5-math.Abs(p.strings.at(x, y)))+p.sloughPush)
	col = col.mix(p.slough.times(1+0.15*p.lumps.at(y, x)), s)
	if s > 0.5 {
		kind = Slough
	}
	e := smoothstep(-0.08, 0.08, p.patches.at(y+91, x)+0.3*p.strings.at(y, x)+p.deadPush)
	col = col.mix(p.dead.times(1+0.3*p.lumps.at(x+9, y)), e)
	if e > 0.5 {
		kind = Eschar
	}
	if p.youngWide > 0 && d < p.youngWide {
		col, kind = col.mix(p.young, 0.8), Epithelium
	}
	if t := smoothstep(1-p.pitWide-0.2, 1-p.pitWide+0.2, d); p.pit > 0 {
		col = col.times(1 - p.pit*t)
	} else if p.pit < 0 {
		col = col.mix(display(232, 214, 190), -p.pit*t)
		if -p.pit*t > 0.5 {
			kind = Slough
		}
	}
	return col, kind
}

// canvas paints everything that is skin, wound and sheet.
func (p *room) canvas() *canvas {
	side := int(p.side)
	c := newCanvas(side)
	cs, sn := math.Cos(p.limbTurn), math.Sin(p.limbTurn)
	cc, cn := math.Cos(p.creaseTurn), math.Sin(p.creaseTurn)
	for i := range c.px {
		x, y := float64(i%side)+0.5, float64(i/side)+0.5
		d := p.depth(x, y)
		out := math.Max(0, -d)
		// across the limb, -1 to 1 from border to border
		a := (-(x-p.cx)*sn + (y-p.cy)*cs + p.limbOff) / p.limbHalf
		wave := 0.05 * p.folds.at(x*0.5, y*0.5)
		if math.Abs(a)+wave > 1 && d < -0.05 {
			c.px[i] = p.sheet.times(math.Max(0.1, 0.85+0.5*p.folds.at(x, y)) * (0.4 + 0.6*smoothstep(0, 0.25, math.Abs(a)+wave-1)))
			continue
		}
		col := p.skin.times(1 + 0.14*p.blotch.at(x, y) + 0.05*p.fine.at(x, y))
		u, v := x*cc+y*cn, (-x*sn+y*cc)*3
		ridge := 1 - math.Abs(p.creases.at(u, v))*2.2
		col = col.times(1 - p.creaseAmt*math.Max(0, ridge-0.5)*1.6)
		if p.red > 0 {
			m := p.red * math.Exp(-out/p.redWide) * (0.75 + 0.4*p.patches.at(x+31, y))
			col = rgb{col[0] * (1 - 0.1*m), col[1] * (1 - 0.62*m), col[2] * (1 - 0.55*m)}
		}
		if p.callus > 0 {
			m := p.callus * (1 - smoothstep(p.callusWide*0.6, p.callusWide*1.3, out+0.08*p.lumps.at(x, y)))
			col = col.mix(p.skin.mix(display(214, 188, 140), 0.6), m)
		}
		if p.pale > 0 {
			lop := 0.65 + 0.35*math.Cos(math.Atan2(y-p.cy, x-p.cx)-p.paleSide)
			col = col.mix(p.skin.mix(display(236, 226, 214), 0.8), p.pale*lop*(1-smoothstep(p.paleWide*0.5, p.paleWide*1.4, out+0.05*p.lumps.at(y, x))))
		}
		bed, kind := p.tissueAt(x, y, d)
		if d > 0 {
			p.s.Mask[i], p.s.Tissue[i] = true, kind
		}
		col = col.mix(bed, smoothstep(-p.fuzzy/2, p.fuzzy/2, d))
		// the rim of a hollow throws a shadow on one side
		col = col.times(1 - 0.3*math.Max(0, p.notchDir(x, y))*math.Exp(-(d-0.06)*(d-0.06)/0.006))
		if p.limbHalf < p.side*5 {
			col = col.times(math.Sqrt(math.Max(0.06, 1-0.92*a*a)))
		}
		if p.wet > 0.3 && d > 0.03 {
			col = col.mix(rgb{1.1, 1.1, 1.1}, p.wet*smoothstep(0.75, 0.95, p.lumps.at(x*1.4+57, y*1.4)))
		}
		c.px[i] = col
	}
	return c
}

func (p *room) notchDir(x, y float64) float64 {
	return math.Cos(math.Atan2(y-p.cy, x-p.cx) - p.at[0])
}
