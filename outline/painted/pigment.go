package painted

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// paintPigment paints skin as light that melanin and blood absorb (per channel, from memory of their spectra: melanin
// takes blue most, blood takes green and blue), and wounds as tissue without melanin.
func paintPigment(seed uint64, side int) Scene {
	for try := uint64(0); ; try++ {
		if s, ok := pigmentOnce(rand.New(rand.NewPCG(seed, 101+try)), side); ok {
			return s
		}
	}
}

var (
	dermis  = rgb{0.78, 0.64, 0.54}
	melanin = [3]float64{0.28, 0.52, 0.80}
	blood   = [3]float64{0.10, 1.00, 0.78}
)

func pigmented(m, h float64) rgb {
	var c rgb
	for k := range c {
		c[k] = dermis[k] * math.Exp(-m*melanin[k]-h*blood[k])
	}
	return c
}

type starShape struct {
	cx, cy, r, stretch, turn float64
	amp, phase               [8]float64
	ragged                   field
	raggedAmp                float64
}

// depth is positive inside, in units of the mean radius.
func (s *starShape) depth(x, y float64) float64 {
	dx, dy := x-s.cx, y-s.cy
	c, sn := math.Cos(s.turn), math.Sin(s.turn)
	u, v := (dx*c+dy*sn)/s.stretch, (-dx*sn+dy*c)*s.stretch
	t := math.Atan2(v, u)
	r := 1.0
	for k := 2; k < 8; k++ {
		r += s.amp[k] * math.Cos(float64(k)*t+s.phase[k])
	}
	return r - math.Hypot(u, v)/s.r + s.raggedAmp*s.ragged.at(x, y)
}

func pigmentOnce(rng *rand.Rand, side int) (Scene, bool) {
	f := float64(side)
	share := math.Exp(uniform(rng, math.Log(0.004), math.Log(0.12)))
	sh := starShape{r: math.Sqrt(share/math.Pi) * f, stretch: math.Exp(uniform(rng, 0, 0.35)), turn: uniform(rng, 0, math.Pi)}
	sh.cx, sh.cy = uniform(rng, 0.2, 0.8)*f, uniform(rng, 0.2, 0.8)*f
	for k := 2; k < 8; k++ {
		sh.amp[k], sh.phase[k] = uniform(rng, 0, 0.32)/float64(k), uniform(rng, 0, 2*math.Pi)
	}
	sh.ragged, sh.raggedAmp = newField(rng, sh.r*0.45, 3), uniform(rng, 0, 0.07)
	if reach := sh.r * 1.9; sh.cx < reach || sh.cy < reach || sh.cx > f-reach || sh.cy > f-reach {
		return Scene{}, false
	}

	tone := 1 + rng.IntN(6)
	mel := []float64{0.1, 0.35, 0.8, 1.5, 2.5, 3.8}[tone-1] * uniform(rng, 0.8, 1.2)
	bloodSkin := uniform(rng, 0.2, 0.45)
	halo, haloWide := uniform(rng, 0, 0.6)*float64(rng.IntN(2)), uniform(rng, 0.15, 0.7)
	white, whiteWide := uniform(rng, 0.2, 0.6)*float64(min(1, max(0, rng.IntN(3)-1))), uniform(rng, 0.06, 0.18)
	texture := []string{"granulation", "slough", "eschar", "mixed", "mixed"}[rng.IntN(5)]
	bias := map[string][2]float64{"granulation": {-0.55, -0.8}, "slough": {0.35, -0.8}, "eschar": {-0.4, 0.4}, "mixed": {-0.05, -0.2}}[texture]
	glare := rng.IntN(2) == 0
	fuzzy := uniform(rng, 0.5, 2.2) + uniform(rng, 0, 0.06)*sh.r
	epi := uniform(rng, 0, 0.12) * float64(rng.IntN(2))

	mottle, lump := newField(rng, sh.r*0.5+6, 4), newField(rng, sh.r*0.22+3, 3)
	fSlough, fEschar := newField(rng, sh.r*0.6+4, 3), newField(rng, sh.r*0.7+4, 3)
	warp, wet := newField(rng, f*0.3, 2), newField(rng, sh.r*0.2+2.5, 2)
	bloodBed, darkBed := uniform(rng, 1.3, 2.6), uniform(rng, 0.45, 0.85)
	slough := rgb{0.58, 0.47, 0.22}.mix(rgb{0.50, 0.48, 0.36}, rng.Float64()).mix(rgb{0.5, 0.38, 0.15}, 0.5*rng.Float64()).times(uniform(rng, 0.7, 1.15))
	eschar := rgb{0.02, 0.016, 0.014}.mix(rgb{0.11, 0.06, 0.035}, rng.Float64())

	// a limb's edge with a drape behind it, or a second wound, or a paper ruler
	drape := []rgb{{0.05, 0.12, 0.3}, {0.06, 0.25, 0.2}, {0.7, 0.7, 0.72}, {0.03, 0.03, 0.03}, {0.45, 0.42, 0.36}}[rng.IntN(5)]
	edgeAt, edgeTurn := uniform(rng, 1.5, 5)*sh.r, uniform(rng, 0, 2*math.Pi)
	ruler, rulerTurn := rng.IntN(4) == 0, uniform(rng, 0, 2*math.Pi)
	second := rng.IntN(4) == 0
	sh2 := sh
	sh2.r *= uniform(rng, 0.4, 0.9)
	a2 := uniform(rng, 0, 2*math.Pi)
	far := sh.r*sh.stretch*1.5 + sh2.r*sh.stretch*1.6
	sh2.cx, sh2.cy = sh.cx+far*math.Cos(a2), sh.cy+far*math.Sin(a2)
	lightTurn, lightAmp := uniform(rng, 0, 2*math.Pi), uniform(rng, 0, 0.5)
	cast := rgb{uniform(rng, 0.9, 1.12), 1, uniform(rng, 0.8, 1.12)}
	expose := uniform(rng, 0.65, 1.15) * []float64{1, 1, 1.05, 1.2, 1.4, 1.6}[tone-1]
	relief := uniform(rng, 0, 0.35)

	s := Scene{Width: side, Height: side, Mask: make([]bool, side*side), Tissue: make([]Tissue, side*side),
		Painter: "pigment", Tone: tone, Texture: texture, Glare: glare}
	c := newCanvas(side)
	for i := range c.px {
		x, y := float64(i%side)+0.5, float64(i/side)+0.5
		d := sh.depth(x, y)
		mine := true
		if second {
			if e := sh2.depth(x, y); e > d {
				d, mine = e, false
			}
		}
		s.Mask[i] = d > 0 && mine
		n := mottle.at(x, y)
		out := math.Max(0, -d)
		skin := pigmented(mel*(1+0.12*n), math.Max(0, bloodSkin*(1+0.2*n)+halo*math.Exp(-out/haloWide)))
		skin = skin.mix(rgb{0.72, 0.66, 0.58}, white*math.Exp(-out/whiteWide)).times(1 + 0.04*lump.at(x, y))
		l := lump.at(x, y)
		bed := pigmented(0.3, bloodBed*(1+0.25*n)).times(darkBed * (1 + 0.3*l))
		tissue := Granulation
		if t := smoothstep(-0.12, 0.12, fSlough.at(x, y)+bias[0]); t > 0 {
			bed = bed.mix(slough.times(1+0.15*l), t)
			if t > 0.5 {
				tissue = Slough
			}
		}
		if t := smoothstep(-0.1, 0.1, fEschar.at(x, y)+bias[1]); t > 0 {
			bed = bed.mix(eschar.times(1+0.4*l), t)
			if t > 0.5 {
				tissue = Eschar
			}
		}
		if epi > 0 {
			if t := 1 - smoothstep(0.5*epi, 1.5*epi, d); t > 0 {
				bed = bed.mix(pigmented(mel*0.35+0.1, 0.85), t)
				if t > 0.5 {
					tissue = Epithelium
				}
			}
		}
		if s.Mask[i] {
			s.Tissue[i] = tissue
		}
		// one rim lies in shadow, the other catches light
		rim := math.Exp(-math.Abs(d)/0.08) * relief
		bed = bed.times(1 - rim*(0.5+0.5*math.Cos(math.Atan2(y-sh.cy, x-sh.cx)-lightTurn)))
		p := skin.mix(bed, smoothstep(-fuzzy/2, fuzzy/2, d*sh.r))
		if glare && d > 0.05 {
			if t := smoothstep(0.75, 0.9, wet.at(x, y)); t > 0 {
				p = p.mix(rgb{1, 1, 1}, 0.9*t)
			}
		}
		if e := (x-sh.cx)*math.Cos(edgeTurn) + (y-sh.cy)*math.Sin(edgeTurn) - edgeAt; e > 0 && edgeAt > sh.r*sh.stretch*1.45 {
			p = drape.times(1 + 0.15*mottle.at(x*1.7, y*1.7))
		} else if e > -sh.r && edgeAt > sh.r*sh.stretch*1.45 {
			p = p.times(1 - 0.45*smoothstep(-sh.r, 0, e))
		}
		if ruler {
			u, v := (x-sh.cx)*math.Cos(rulerTurn)+(y-sh.cy)*math.Sin(rulerTurn), -(x-sh.cx)*math.Sin(rulerTurn)+(y-sh.cy)*math.Cos(rulerTurn)
			if v > 1.6*sh.r*sh.stretch && v < 2.2*sh.r*sh.stretch && math.Abs(u) < 3*sh.r {
				p = rgb{0.8, 0.8, 0.78}
				if math.Mod(u+1000, 8) < 1.5 && v < 1.8*sh.r*sh.stretch {
					p = rgb{0.03, 0.03, 0.03}
				}
			}
		}
		light := expose * (1 + lightAmp*((x-f/2)*math.Cos(lightTurn)+(y-f/2)*math.Sin(lightTurn))/f + 0.1*warp.at(x, y))
		for k := range p {
			p[k] *= light * cast[k]
		}
		c.px[i] = p
	}
	if rng.IntN(3) == 0 {
		paintHair(rng, c, &sh)
		s.Troubles += " hair"
	}
	c.blur(uniform(rng, 0.4, 1.6))
	if rng.IntN(3) == 0 {
		m := sh.r * 1.9
		c.pad(int(uniform(rng, 0, math.Max(1, sh.cx-m))), int(uniform(rng, 0, math.Max(1, sh.cy-m))), side, int(uniform(rng, math.Min(f, sh.cy+m), f+1)))
		s.Troubles += " padding"
	}
	s.Image = c.develop(rng, uniform(rng, 0.005, 0.03), 60+rng.IntN(36))
	s.Troubles += fmt.Sprintf(" halo %.2f white %.2f epi %.2f second %v ruler %v", halo, white, epi, second, ruler)
	loop, ok := roughLoop(rng, s.Mask, side)
	s.Loop, s.Share = loop, float64(count(s.Mask))/(f*f)
	return s, ok
}

func paintHair(rng *rand.Rand, c *canvas, sh *starShape) {
	for n := 10 + rng.IntN(25); n > 0; n-- {
		x, y := sh.cx+uniform(rng, -3, 3)*sh.r, sh.cy+uniform(rng, -3, 3)*sh.r
		t, bend := uniform(rng, 0, 2*math.Pi), uniform(rng, -0.03, 0.03)
		for l := int(uniform(rng, 0.5, 1.5) * sh.r); l > 0; l-- {
			x, y, t = x+math.Cos(t), y+math.Sin(t), t+bend
			i, j := int(x), int(y)
			if i < 0 || j < 0 || i >= c.side || j >= c.side || sh.depth(x, y) > 0 {
				continue
			}
			c.px[j*c.side+i] = c.px[j*c.side+i].mix(rgb{0.02, 0.015, 0.01}, 0.7)
		}
	}
}
