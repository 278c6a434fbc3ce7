package painted

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// paintHard paints what makes a wound's edge hard to tell: skin as blotchy as the bed, redness nearly as red as the
// bed, slough the colour of pale skin, crusts and scales outside, a rim in shadow, a margin that fades, and a truth
// drawn by a hand that is a few percent off.
func paintHard(seed uint64, side int) Scene {
	for try := uint64(0); ; try++ {
		if s, ok := hardOnce(rand.New(rand.NewPCG(seed, 90210+try)), side); ok {
			return s
		}
	}
}

func hardOnce(rng *rand.Rand, side int) (Scene, bool) {
	f := float64(side)
	r := math.Sqrt(math.Exp(uniform(rng, math.Log(0.003), math.Log(0.08)))/math.Pi) * f
	cx, cy := uniform(rng, 0.2, 0.8)*f, uniform(rng, 0.2, 0.8)*f
	if m := 2.4 * r; cx < m || cy < m || cx > f-m || cy > f-m {
		return Scene{}, false
	}
	sh := newOvals(rng, cx, cy, r)
	tone := 1 + rng.IntN(6)
	skin := [3]float64{[]float64{78, 70, 61, 50, 38, 27}[tone-1] + uniform(rng, -4, 4), uniform(rng, 8, 18), []float64{14, 18, 22, 23, 19, 12}[tone-1] + uniform(rng, -4, 4)}
	texture := []string{"granulation", "slough", "eschar", "mixed", "mixed"}[rng.IntN(5)]
	push := map[string][2]float64{"granulation": {-0.55, -0.9}, "slough": {0.35, -0.8}, "eschar": {-0.4, 0.35}, "mixed": {0, -0.2}}[texture]
	gran := [3]float64{uniform(rng, 30, 50), uniform(rng, 26, 42), uniform(rng, 12, 26)}
	slough := [3]float64{uniform(rng, 54, 78), uniform(rng, 2, 14), uniform(rng, 16, 34)}
	eschar := [3]float64{uniform(rng, 10, 30), uniform(rng, 2, 10), uniform(rng, 1, 12)}
	// redness is a share of the way from skin to granulation
	red, redWide := uniform(rng, 0.1, 0.55), uniform(rng, 0.2, 0.9)
	pale, paleWide := uniform(rng, 0, 0.6)*float64(rng.IntN(2)), uniform(rng, 0.06, 0.25)
	crust := uniform(rng, 0, 0.6) * float64(rng.IntN(2))
	patchy := uniform(rng, 0.5, 1)
	fuzzy := uniform(rng, 0.05, 0.22)
	hand, handAmp := newField(rng, r*0.8, 1), uniform(rng, 0.01, 0.05)
	f1, f2, f3, f4, f5, f6 := newField(rng, r*0.5+4, 4), newField(rng, r*0.5+4, 4), newField(rng, r*0.18+3, 4), newField(rng, r*0.9, 3), newField(rng, 4, 3), newField(rng, r*0.3, 3)
	glare := rng.IntN(2) == 0
	shadowTurn, shadowAmt := uniform(rng, 0, 2*math.Pi), uniform(rng, 0, 0.6)
	gap, gapTurn, gapAt := rng.IntN(3) == 0, uniform(rng, 0, 2*math.Pi), uniform(rng, 1.5, 2.2)*r
	limb, limbTurn := uniform(rng, 0, 0.7), uniform(rng, 0, 2*math.Pi)
	cast, bright := rgb{uniform(rng, 0.88, 1.15), 1, uniform(rng, 0.72, 1.1)}, uniform(rng, 0.65, 1.2)

	s := Scene{Width: side, Height: side, Mask: make([]bool, side*side), Tissue: make([]Tissue, side*side), Painter: "hard", Tone: tone, Texture: texture, Glare: glare}
	c := newCanvas(side)
	for i := range c.px {
		x, y := float64(i%side)+0.5, float64(i/side)+0.5
		d := sh.depth(x, y)
		s.Mask[i] = d+handAmp*hand.at(x, y) > 0
		out := math.Max(0, -d)
		col := [3]float64{skin[0] + patchy*(6*f4.at(x, y)+3*f5.at(x, y)), skin[1] + patchy*4*f4.at(y, x), skin[2] + patchy*2.5*f1.at(y, x)}
		redness := red * math.Exp(-out/redWide) * (0.7 + 0.5*f6.at(x, y))
		white := pale * math.Exp(-out/paleWide) * (0.7 + 0.5*f6.at(y, x))
		flake := crust * smoothstep(0.35, 0.5, f6.at(x+77, y)) * math.Exp(-out/0.4)
		for k, to := range [3]float64{gran[0] + 10, gran[1], gran[2]} {
			col[k] += redness * (to - col[k])
			col[k] += white * ([3]float64{84, 5, 12}[k] - col[k])
			col[k] += flake * ([3]float64{46, 12, 22}[k] - col[k])
		}
		bed, tissue := gran, Granulation
		tS, tE := smoothstep(-0.25, 0.25, f1.at(x, y)+push[0]), smoothstep(-0.15, 0.15, f2.at(x, y)+push[1])
		for k := range bed {
			bed[k] += tS * (slough[k] - bed[k])
			bed[k] += tE * (eschar[k] - bed[k])
		}
		if tS > 0.5 {
			tissue = Slough
		}
		if tE > 0.5 {
			tissue = Eschar
		}
		if s.Mask[i] {
			s.Tissue[i] = tissue
		}
		t := smoothstep(-fuzzy/2, fuzzy/2, d)
		p := lab(math.Max(2, col[0]+t*(bed[0]+11*f3.at(x, y)-col[0])), col[1]+t*(bed[1]+4*f3.at(x, y)-col[1]), col[2]+t*(bed[2]+3*f4.at(x, y)-col[2]))
		if glare && d > 0 {
			p = p.mix(rgb{1, 1, 1}, 0.9*smoothstep(0.65, 0.9, f3.at(y+31, x)))
		}
		if e := (x-cx)*math.Cos(gapTurn) + (y-cy)*math.Sin(gapTurn) - gapAt; gap && d < -0.2 {
			p = p.times(1 - 0.93*smoothstep(-0.15*r, 0.1*r, e))
		}
		across := ((x-cx)*math.Cos(limbTurn) + (y-cy)*math.Sin(limbTurn)) / (4 * r)
		light := bright * math.Max(0.05, 1-limb*across*across-0.5*limb*across)
		light *= 1 - shadowAmt*math.Exp(-(d-0.05)*(d-0.05)/0.01)*(0.5+0.5*math.Cos(math.Atan2(y-cy, x-cx)-shadowTurn))
		for k := range p {
			p[k] *= light * cast[k]
		}
		c.px[i] = p
	}
	c.blur(uniform(rng, 0.5, 2.2))
	if rng.IntN(3) == 0 {
		c.pad(0, int(uniform(rng, 0, cy-2*r)), side, int(uniform(rng, cy+2*r, f)))
		s.Troubles += " padding"
	}
	s.Image = c.develop(rng, uniform(rng, 0.005, 0.035), 55+rng.IntN(40))
	s.Troubles += fmt.Sprintf(" red %.2f pale %.2f crust %.2f fuzzy %.2f gap %v limb %.2f", red, pale, crust, fuzzy, gap, limb)
	loop, ok := roughLoop(rng, s.Mask, side)
	s.Loop, s.Share = loop, float64(count(s.Mask))/(f*f)
	return s, ok
}
