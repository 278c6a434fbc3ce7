package painted

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// paintHeld is the painter kept back: shapes are level sets of noise, colours are drawn in CIELAB, contrast may be low,
// the camera may move. Written in one go before the method was tuned; not adjusted afterwards.
func paintHeld(seed uint64, side int) Scene {
	for try := uint64(0); ; try++ {
		if s, ok := heldOnce(rand.New(rand.NewPCG(seed, 424242+try)), side); ok {
			return s
		}
	}
}

// lab turns CIELAB (D65) into linear light.
func lab(l, a, b float64) rgb {
	g := func(t float64) float64 {
		if t > 6.0/29 {
			return t * t * t
		}
		return 3 * 36.0 / 841 * (t - 4.0/29)
	}
	fy := (l + 16) / 116
	x, y, z := 0.95047*g(fy+a/500), g(fy), 1.08883*g(fy-b/200)
	return rgb{math.Max(0, 3.2406*x-1.5372*y-0.4986*z), math.Max(0, -0.9689*x+1.8758*y+0.0415*z), math.Max(0, 0.0557*x-0.2040*y+1.0570*z)}
}

func heldOnce(rng *rand.Rand, side int) (Scene, bool) {
	f := float64(side)
	r := math.Sqrt(math.Exp(uniform(rng, math.Log(0.003), math.Log(0.09)))/math.Pi) * f
	cx, cy := uniform(rng, 0.2, 0.8)*f, uniform(rng, 0.2, 0.8)*f
	if m := 2.4 * r; cx < m || cy < m || cx > f-m || cy > f-m {
		return Scene{}, false
	}
	tone := 1 + rng.IntN(6)
	lSkin := []float64{80, 71, 62, 50, 38, 26}[tone-1] + uniform(rng, -4, 4)
	aSkin, bSkin := uniform(rng, 8, 15), []float64{14, 18, 22, 23, 19, 12}[tone-1]+uniform(rng, -3, 3)
	texture := []string{"granulation", "slough", "eschar", "mixed"}[rng.IntN(4)]
	push := map[string][2]float64{"granulation": {-0.6, -0.9}, "slough": {0.3, -0.9}, "eschar": {-0.5, 0.35}, "mixed": {0, -0.25}}[texture]
	glare := rng.IntN(2) == 0
	grow, turn, str := newField(rng, r*1.1, 4), uniform(rng, 0, math.Pi), math.Exp(uniform(rng, 0, 0.4))
	wild := uniform(rng, 0.08, 0.4)
	depth := func(x, y float64) float64 {
		u, v := ((x-cx)*math.Cos(turn)+(y-cy)*math.Sin(turn))/str, (-(x-cx)*math.Sin(turn)+(y-cy)*math.Cos(turn))*str
		return 1 - math.Hypot(u, v)/r + wild*grow.at(x, y)
	}
	// only the piece that hangs together with the centre is the wound
	mask := make([]bool, side*side)
	start := int(cy)*side + int(cx)
	if depth(cx, cy) <= 0 {
		return Scene{}, false
	}
	mask[start] = true
	for stack := []int{start}; len(stack) > 0; {
		i := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for _, j := range []int{i - 1, i + 1, i - side, i + side} {
			if j >= 0 && j < len(mask) && !mask[j] && depth(float64(j%side)+0.5, float64(j/side)+0.5) > 0 {
				mask[j] = true
				stack = append(stack, j)
			}
		}
	}
	gran := [3]float64{uniform(rng, 28, 46), uniform(rng, 28, 44), uniform(rng, 12, 24)}
	sl := [3]float64{uniform(rng, 52, 76), uniform(rng, 2, 12), uniform(rng, 16, 34)}
	es := [3]float64{uniform(rng, 8, 26), uniform(rng, 2, 9), uniform(rng, 1, 10)}
	// how far the bed is from the skin, at its weakest two thirds
	strength := uniform(rng, 0.65, 1)
	rimRed, rimWide := uniform(rng, 0, 14)*float64(rng.IntN(2)), uniform(rng, 0.15, 0.9)
	rimPale, paleWide := uniform(rng, 4, 14)*float64(max(0, rng.IntN(3)-1)), uniform(rng, 0.05, 0.25)
	f1, f2, f3, f4, f5 := newField(rng, r*0.5+4, 4), newField(rng, r*0.5+4, 4), newField(rng, r*0.2+3, 4), newField(rng, f*0.4, 3), newField(rng, 5, 3)
	fuzzy := uniform(rng, 0.02, 0.16)
	dressing, dressTurn, dressAt := rng.IntN(3) == 0, uniform(rng, 0, 2*math.Pi), uniform(rng, 1.6, 2.4)*r*str
	shadowTurn, shadowAmt := uniform(rng, 0, 2*math.Pi), uniform(rng, 0, 0.5)*float64(rng.IntN(2))
	cast, bright := rgb{uniform(rng, 0.9, 1.15), 1, uniform(rng, 0.75, 1.1)}, uniform(rng, 0.7, 1.25)

	s := Scene{Width: side, Height: side, Mask: mask, Tissue: make([]Tissue, side*side), Painter: "held", Tone: tone, Texture: texture, Glare: glare}
	c := newCanvas(side)
	for i := range c.px {
		x, y := float64(i%side)+0.5, float64(i/side)+0.5
		d := depth(x, y)
		if d > 0 && !mask[i] {
			d = -0.05
		}
		out := math.Max(0, -d)
		l := lSkin + 5*f4.at(x, y) + 2.5*f5.at(x, y) - 0.6*rimRed*math.Exp(-out/rimWide) + rimPale*math.Exp(-out/paleWide)
		a := aSkin + 2*f1.at(x, y) + rimRed*math.Exp(-out/rimWide) - 0.4*rimPale*math.Exp(-out/paleWide)
		b := bSkin + 2*f2.at(x, y) - 0.3*rimRed*math.Exp(-out/rimWide)
		wound, tissue := gran, Granulation
		tS, tE := smoothstep(-0.15, 0.15, f1.at(x, y)+push[0]), smoothstep(-0.1, 0.1, f2.at(x, y)+push[1])
		for k := range wound {
			wound[k] += tS * (sl[k] - wound[k])
			wound[k] += tE * (es[k] - wound[k])
		}
		if tS > 0.5 {
			tissue = Slough
		}
		if tE > 0.5 {
			tissue = Eschar
		}
		t := strength * smoothstep(-fuzzy/2, fuzzy/2, d)
		p := lab(l+t*(wound[0]+9*f3.at(x, y)-l), a+t*(wound[1]+4*f3.at(x, y)-a), b+t*(wound[2]-b))
		if mask[i] {
			s.Tissue[i] = tissue
		}
		if glare && d > 0.02 {
			p = p.mix(rgb{1, 1, 1}, 0.9*smoothstep(0.7, 0.9, f3.at(y+31, x)))
		}
		if e := (x-cx)*math.Cos(dressTurn) + (y-cy)*math.Sin(dressTurn) - dressAt; dressing && e > 0 {
			p = lab(86+4*f5.at(x, y), 1, 8)
		}
		light := bright
		if e := (x-cx)*math.Cos(shadowTurn) + (y-cy)*math.Sin(shadowTurn); shadowAmt > 0 {
			light *= 1 - shadowAmt*smoothstep(-0.25*r, 0.25*r, e-0.4*r+0.3*r*f4.at(y, x))
		}
		for k := range p {
			p[k] *= light * cast[k]
		}
		c.px[i] = p
	}
	c.blur(uniform(rng, 0.4, 2.2))
	if rng.IntN(3) == 0 {
		c.pad(0, int(uniform(rng, 0, cy-2*r)), side, int(uniform(rng, cy+2*r, f)))
		s.Troubles += " padding"
	}
	s.Image = c.develop(rng, uniform(rng, 0.005, 0.035), 55+rng.IntN(40))
	s.Troubles += fmt.Sprintf(" rim %.0f pale %.0f strength %.2f wild %.2f dressing %v shadow %.2f", rimRed, rimPale, strength, wild, dressing, shadowAmt)
	loop, ok := roughLoop(rng, s.Mask, side)
	s.Loop, s.Share = loop, float64(count(s.Mask))/(f*f)
	return s, ok
}
