package outline

import (
	"image"
	"math"
	"sort"
)

// tuning are the constants of the assisted edge, chosen on painted wounds (docs/model/edges.md).
type tuning struct {
	unitLow, unitShare      float64
	strangeBed, strangeSkin float64
	local                   float64
	priorSlope, priorMid    float64
	colour                  float64
	edgePrice, edgeSharp    float64
	smoothLab               float64
	areaMid, areaSD         float64
	contrast                float64
	rounds                  int
}

var tune = tuning{
	unitLow: 1.5, unitShare: 0.35,
	strangeBed: 0.25, strangeSkin: 0.10,
	local:      0.5,
	priorSlope: 8.2, priorMid: 0.59,
	colour:    0.8,
	edgePrice: 3, edgeSharp: 1,
	smoothLab: 1.0,
	areaMid:   0.6, areaSD: 0.18,
	contrast: 2,
	rounds:   3,
}

// prior is the log odds that a pixel is wound by its place in the loop alone (equation 1): rank is the share of the
// loop that lies deeper than the pixel.
func (p *plot) prior() []float32 {
	var depths []float64
	for i, in := range p.loop {
		if in {
			depths = append(depths, float64(p.depth[i]))
		}
	}
	sort.Float64s(depths)
	n := float64(len(depths))
	out := make([]float32, len(p.depth))
	for i, d := range p.depth {
		var rank float64
		if p.loop[i] {
			rank = 1 - float64(sort.SearchFloat64s(depths, float64(d)))/n
		} else {
			rank = 1 - float64(d)/(0.5*p.radius)
		}
		v := tune.priorSlope * (tune.priorMid - rank)
		out[i] = float32(math.Min(5, math.Max(-7, v)))
		if p.blank[i] {
			out[i] = -7
		}
	}
	return out
}

func logistic(v float32) float32 { return float32(1 / (1 + math.Exp(-float64(v)))) }

// evidence joins place and colour in a few rounds: colours learned from the present belief, belief from the colours.
func (p *plot) evidence(lab *[3][]float32, prior []float32) (odds, belief []float32) {
	pal := newPalette(p, *lab)
	belief = make([]float32, len(prior))
	for i, v := range prior {
		belief[i] = logistic(v)
	}
	for round := range tune.rounds {
		odds = p.colourOdds(&pal, lab, belief)
		soft := blur(odds, p.w, p.h, 1.5)
		if round == tune.rounds-1 {
			break
		}
		for i := range belief {
			belief[i] = logistic(prior[i] + float32(tune.colour)*soft[i])
		}
	}
	return odds, belief
}

// edgePrices is low where the picture changes from bed to skin (equation 4).
func (p *plot) edgePrices(lab *[3][]float32, odds []float32) []float32 {
	s := blur(odds, p.w, p.h, 1.2)
	grad := make([]float32, len(odds))
	var near []float64
	for y := 1; y < p.h-1; y++ {
		for x := 1; x < p.w-1; x++ {
			i := y*p.w + x
			gx, gy := (s[i+1]-s[i-1])/2, (s[i+p.w]-s[i-p.w])/2
			m := gx*gx + gy*gy
			grad[i] = float32(math.Sqrt(float64(m)))
			if p.depth[i] > -3 {
				near = append(near, float64(grad[i]))
			}
		}
	}
	sort.Float64s(near)
	scale := 0.05
	if len(near) > 0 {
		scale = math.Max(scale, near[len(near)*7/10]*tune.edgeSharp)
	}
	g := make([]float32, len(odds))
	for i, m := range grad {
		r := float64(m) / scale
		g[i] = float32(tune.edgePrice * (0.12 + 0.88/(1+r*r)))
	}
	return g
}

// Refine pulls a rough loop to the edge of the wound that it goes around.
func Refine(img image.Image, loop []Point) (Traced, error) {
	kept, no := checkLoop(img.Bounds(), loop)
	if no != nil {
		return Traced{}, no
	}
	p, no := newPlot(img, kept)
	if no != nil {
		return Traced{}, no
	}
	u := p.solve()
	onePiece(u, u, p.w, p.h, 0.5)
	var outer []Point
	for _, c := range contours(u, p.w, p.h, 0.5) {
		if shoelace(c) > 0 && (outer == nil || shoelace(c) > shoelace(outer)) {
			outer = c
		}
	}
	if outer == nil {
		return Traced{Outer: kept, Status: "no edge found: the line as drawn"}, nil
	}
	for i, q := range outer {
		q = p.toPhoto(q)
		outer[i] = Point{math.Min(math.Max(q.X, 0), float64(img.Bounds().Dx())), math.Min(math.Max(q.Y, 0), float64(img.Bounds().Dy()))}
	}
	return Traced{Outer: outer, Status: "edge found"}, nil
}

// solve returns the belief that each working pixel is wound, averaged over a sweep of readings.
func (p *plot) solve() []float32 {
	var lab [3][]float32
	for k := range lab {
		lab[k] = blur(p.lab[k], p.w, p.h, tune.smoothLab)
	}
	prior := p.prior()
	odds, belief := p.evidence(&lab, prior)
	g := p.edgePrices(&lab, odds)
	cost := make([]float32, len(odds))
	c := newCutter(p.w, p.h, g, belief)
	var masks [][]float32
	var scores []float64
	n := 0
	for _, in := range p.loop {
		if in {
			n++
		}
	}
	steps := 120
	for _, lean := range []float64{-1.5, -0.75, 0, 0.75, 1.5} {
		for i := range cost {
			cost[i] = -(prior[i] + float32(tune.colour)*odds[i] + float32(lean)) * 0.35
			if p.blank[i] {
				cost[i] = 3
			}
		}
		c.run(cost, steps)
		steps = 60
		m := make([]float32, len(c.u))
		copy(m, c.u)
		area, contrast, edge := 0.0, 0.0, 0.0
		for y := 1; y < p.h-1; y++ {
			for x := 1; x < p.w-1; x++ {
				i := y*p.w + x
				if m[i] >= 0.5 {
					area++
					if m[i-1] < 0.5 || m[i+1] < 0.5 || m[i-p.w] < 0.5 || m[i+p.w] < 0.5 {
						edge++
						contrast += 1 - float64(g[i])/tune.edgePrice
					}
				}
			}
		}
		if area < 30 {
			continue
		}
		z := math.Log(area/float64(n)/tune.areaMid) / tune.areaSD
		scores = append(scores, tune.contrast*3*contrast/edge-z*z/2)
		masks = append(masks, m)
	}
	if len(masks) == 0 {
		return belief
	}
	best := scores[0]
	for _, s := range scores {
		best = math.Max(best, s)
	}
	u, sum := make([]float32, len(cost)), 0.0
	for k, m := range masks {
		wt := math.Exp(scores[k] - best)
		sum += wt
		for i, v := range m {
			u[i] += float32(wt) * v
		}
	}
	for i := range u {
		u[i] /= float32(sum)
	}
	return u
}
