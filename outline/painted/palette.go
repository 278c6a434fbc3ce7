package painted

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// paintPalette paints with colours picked from lists of display values, shapes of blended ovals, tissue in cells.
func paintPalette(seed uint64, side int) Scene {
	for try := uint64(0); ; try++ {
		if s, ok := paletteOnce(rand.New(rand.NewPCG(seed, 7001+try)), side); ok {
			return s
		}
	}
}

func display(r, g, b float64) rgb {
	lin := func(v float64) float64 {
		v /= 255
		if v <= 0.04045 {
			return v / 12.92
		}
		return math.Pow((v+0.055)/1.055, 2.4)
	}
	return rgb{lin(r), lin(g), lin(b)}
}

var skinPalette = [6][]rgb{
	{display(236, 206, 190), display(226, 190, 172), display(240, 200, 178)},
	{display(222, 180, 154), display(208, 166, 140), display(214, 160, 132)},
	{display(200, 152, 118), display(188, 144, 112), display(196, 140, 108)},
	{display(168, 118, 84), display(156, 108, 78), display(160, 104, 72)},
	{display(122, 82, 58), display(112, 76, 54), display(118, 74, 50)},
	{display(78, 54, 42), display(66, 46, 38), display(88, 58, 44)},
}

var (
	redPalette    = []rgb{display(168, 44, 40), display(150, 36, 38), display(186, 66, 58), display(132, 30, 34), display(196, 82, 76), display(160, 58, 62)}
	yellowPalette = []rgb{display(206, 182, 120), display(190, 160, 96), display(214, 200, 156), display(176, 150, 104), display(196, 186, 160), display(160, 140, 80)}
	blackPalette  = []rgb{display(34, 26, 24), display(58, 40, 32), display(80, 56, 44), display(24, 22, 24)}
	pinkPalette   = []rgb{display(226, 160, 150), display(214, 140, 132), display(206, 150, 146)}
)

func pick(rng *rand.Rand, from []rgb) rgb {
	return from[rng.IntN(len(from))].mix(from[rng.IntN(len(from))], rng.Float64()).times(uniform(rng, 0.88, 1.12))
}

type oval struct{ x, y, a, b, c, s float64 }

type ovals struct {
	parts  []oval
	r      float64
	ragged field
	amp    float64
}

// depth is positive inside; near the edge it is about the distance in units of r.
func (o *ovals) depth(x, y float64) float64 {
	sum := 0.0
	for _, p := range o.parts {
		u, v := ((x-p.x)*p.c+(y-p.y)*p.s)/p.a, (-(x-p.x)*p.s+(y-p.y)*p.c)/p.b
		sum += math.Exp(-4 * (math.Hypot(u, v) - 1))
	}
	return math.Log(math.Max(sum, 1e-12))/4 + o.amp*o.ragged.at(x, y)
}

func newOvals(rng *rand.Rand, cx, cy, r float64) *ovals {
	o := &ovals{r: r, ragged: newField(rng, r*0.35, 2), amp: uniform(rng, 0, 0.08)}
	n := 1 + rng.IntN(4)
	for i := 0; i < n; i++ {
		t, st := uniform(rng, 0, math.Pi), math.Exp(uniform(rng, -0.4, 0.4))
		p := oval{x: cx, y: cy, a: r * st, b: r / st, c: math.Cos(t), s: math.Sin(t)}
		if i > 0 {
			k, d := uniform(rng, 0.35, 0.8), uniform(rng, 0.5, 1.0)*r
			q := uniform(rng, 0, 2*math.Pi)
			p.x, p.y, p.a, p.b = cx+d*math.Cos(q), cy+d*math.Sin(q), p.a*k, p.b*k
		}
		o.parts = append(o.parts, p)
	}
	return o
}

func paletteOnce(rng *rand.Rand, side int) (Scene, bool) {
	f := float64(side)
	r := math.Sqrt(math.Exp(uniform(rng, math.Log(0.003), math.Log(0.1)))/math.Pi) * f
	cx, cy := uniform(rng, 0.15, 0.85)*f, uniform(rng, 0.15, 0.85)*f
	if m := 2.6 * r; cx < m || cy < m || cx > f-m || cy > f-m {
		return Scene{}, false
	}
	sh := newOvals(rng, cx, cy, r)
	tone := 1 + rng.IntN(6)
	skinA, skinB := pick(rng, skinPalette[tone-1]), pick(rng, skinPalette[tone-1])
	texture := []string{"granulation", "slough", "eschar", "mixed", "mixed"}[rng.IntN(5)]
	weights := map[string][3]float64{"granulation": {0.95, 0.05, 0}, "slough": {0.2, 0.75, 0.05}, "eschar": {0.15, 0.15, 0.7}, "mixed": {0.45, 0.35, 0.2}}[texture]
	cell := cells{rng.Uint64(), r * uniform(rng, 0.25, 0.7)}
	palette := [3][]rgb{{pick(rng, redPalette), pick(rng, redPalette)}, {pick(rng, yellowPalette), pick(rng, yellowPalette)}, {pick(rng, blackPalette), pick(rng, blackPalette)}}
	pink, pinkWide := pick(rng, pinkPalette).times([]float64{1, 0.95, 0.85, 0.7, 0.5, 0.4}[tone-1]), uniform(rng, 0, 0.15)*float64(rng.IntN(2))
	red, redWide, redAmt := pick(rng, redPalette).mix(skinA, 0.4), uniform(rng, 0.2, 1.0), uniform(rng, 0, 0.5)*float64(rng.IntN(2))
	callus, callusWide, callusAmt := display(222, 206, 170).mix(skinA, 0.3), uniform(rng, 0.1, 0.35), uniform(rng, 0.2, 0.7)*float64(max(0, rng.IntN(3)-1))
	dark, darkAmt := skinA.times(0.35), uniform(rng, 0, 0.5)*float64(max(0, rng.IntN(3)-1))
	warp, fine, broad, bump := newField(rng, r*0.25+3, 2), newField(rng, 3, 2), newField(rng, r*1.2, 3), newField(rng, r*0.15+2.5, 3)
	glare, wet := rng.IntN(2) == 0, newField(rng, r*0.3+2, 2)
	fuzzy := uniform(rng, 0.04, 0.14)
	cleft, cleftTurn, cleftAt := rng.IntN(3) == 0, uniform(rng, 0, 2*math.Pi), uniform(rng, 1.35, 2.6)*r
	glove, gloveTurn := rng.IntN(4) == 0, uniform(rng, 0, 2*math.Pi)
	gloveCol := []rgb{display(70, 90, 190), display(230, 230, 220), display(150, 190, 220)}[rng.IntN(3)]
	flash, vignette := uniform(rng, 0.75, 1.3), uniform(rng, 0, 0.6)
	shadeTurn, shadeAmt := uniform(rng, 0, 2*math.Pi), uniform(rng, 0, 0.6)
	cast := rgb{uniform(rng, 0.88, 1.12), 1, uniform(rng, 0.78, 1.12)}
	second := rng.IntN(4) == 0
	q := uniform(rng, 0, 2*math.Pi)
	sh2 := newOvals(rng, cx+3.4*r*math.Cos(q), cy+3.4*r*math.Sin(q), r*uniform(rng, 0.3, 0.6))

	s := Scene{Width: side, Height: side, Mask: make([]bool, side*side), Tissue: make([]Tissue, side*side),
		Painter: "palette", Tone: tone, Texture: texture, Glare: glare}
	c := newCanvas(side)
	for i := range c.px {
		x, y := float64(i%side)+0.5, float64(i/side)+0.5
		d := sh.depth(x, y)
		s.Mask[i] = d > 0
		if second {
			if e := sh2.depth(x, y); e > 0 && d < 0 {
				d = e
			}
		}
		out := math.Max(0, -d)
		skin := skinA.mix(skinB, 0.5+0.5*broad.at(x, y)).times(1 + 0.05*fine.at(x, y))
		skin = skin.mix(red, redAmt*math.Exp(-out/redWide)).mix(callus, callusAmt*smoothstep(callusWide*1.3, callusWide*0.7, out)).mix(dark, darkAmt*math.Exp(-out/0.5))
		id := cell.at(x+r*0.15*warp.at(x, y), y+r*0.15*warp.at(y+99, x))
		u := float64(id>>40) / (1 << 24)
		u = u - math.Floor(u)
		kind := 0
		if u > weights[0] {
			kind = 1
		}
		if u > weights[0]+weights[1] {
			kind = 2
		}
		tissue := []Tissue{Granulation, Slough, Eschar}[kind]
		bed := palette[kind][0].mix(palette[kind][1], 0.5+0.5*broad.at(y, x)).times(1 + 0.25*bump.at(x, y))
		if d < pinkWide && pinkWide > 0.02 {
			bed, tissue = pink.times(1+0.06*bump.at(x, y)), Epithelium
		}
		if s.Mask[i] {
			s.Tissue[i] = tissue
		}
		p := skin.mix(bed, smoothstep(-fuzzy/2, fuzzy/2, d))
		if glare && d > 0.03 {
			p = p.mix(rgb{0.98, 0.98, 1}, 0.85*smoothstep(0.6, 0.85, wet.at(x, y)))
		}
		if cleft {
			e := (x-cx)*math.Cos(cleftTurn) + (y-cy)*math.Sin(cleftTurn) - cleftAt - 0.1*r*broad.at(x, y)
			if d < -0.12 {
				p = p.times(1 - 0.85*math.Exp(-e*e/(0.03*r*r)))
			}
		}
		if glove {
			e := (x-cx)*math.Cos(gloveTurn) + (y-cy)*math.Sin(gloveTurn) - 2.3*r + 0.5*r*broad.at(x, y)
			if e > 0 && d < -0.2 {
				p = gloveCol.times(0.8 + 0.2*bump.at(x, y))
			}
		}
		h := math.Hypot(x-f/2, y-f/2) / f
		light := flash * (1 - vignette*h) * (1 + shadeAmt*((x-cx)*math.Cos(shadeTurn)+(y-cy)*math.Sin(shadeTurn))/f)
		for k := range p {
			p[k] *= light * cast[k]
		}
		c.px[i] = p
	}
	c.blur(uniform(rng, 0.4, 1.8))
	if rng.IntN(3) == 0 {
		c.pad(int(uniform(rng, 0, cx-2.2*r)), 0, int(uniform(rng, cx+2.2*r, f)), side)
		s.Troubles += " padding"
	}
	s.Image = c.develop(rng, uniform(rng, 0.005, 0.03), 55+rng.IntN(40))
	s.Troubles += fmt.Sprintf(" halo %.2f callus %.2f dark %.2f pink %.2f cleft %v glove %v second %v", redAmt, callusAmt, darkAmt, pinkWide, cleft, glove, second)
	loop, ok := roughLoop(rng, s.Mask, side)
	s.Loop, s.Share = loop, float64(count(s.Mask))/(f*f)
	return s, ok
}
