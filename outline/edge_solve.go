package outline

import (
	"math"
	"sort"
)

// tuning are the constants of the assisted edge, chosen on the painters pigment, palette and hard, seeds 1 to 80
// (docs/model/edges.md gives each its reason).
type tuning struct {
	unitLow, unitShare      float64 // width of a colour bin: least, and as a share of the colours' spread
	strangeBed, strangeSkin float64 // share of bed and skin whose colour was not seen
	local                   float64 // share of the skin's colours taken from the same direction
	rim                     float64 // weight of what lies inside the loop when the skin's colours are learned
	priorSlope, priorMid    float64 // equation 1
	shape, shapeSlope       float64 // equation 2: its share, and its slope per loop radius
	areaMid, areaSD         float64 // likely share of the loop that is wound, and the spread of its logarithm
	colour                  float64 // weight of colour against place
	rounds                  int     // of learning
	smoothLab               float64 // working pixels
	edgePrice, edgeSharp    float64 // equation 4
	contrast                float64 // worth of a clear edge against a likely size, equation 7
}

var tune = tuning{
	unitLow: 1.5, unitShare: 0.35,
	strangeBed: 0.25, strangeSkin: 0.10,
	local: 0.5, rim: 0.5,
	priorSlope: 8.2, priorMid: 0.59,
	shape: 0.65, shapeSlope: 9,
	areaMid: 0.6, areaSD: 0.18,
	colour: 0.8, rounds: 4, smoothLab: 1,
	edgePrice: 3, edgeSharp: 1,
	contrast: 6,
}

// leans are the readings of the sweep: added to every pixel's log odds, from grudging to generous.
var leans = []float64{-1.5, -0.75, 0, 0.75, 1.5}

// reading is what was found in a plot, with its steps.
type reading struct {
	prior  []float32 // log odds by place
	belief []float32 // 0 to 1, averaged over the sweep, one piece
	loop   float64   // pixels in the loop
	spread float64   // standard deviation of ln area over the sweep and along the edge
	gap    float64   // mean log odds by colour inside the found edge less that beside it
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
		out[i] = float32(math.Min(5, math.Max(-7, tune.priorSlope*(tune.priorMid-rank))))
		if p.blank[i] && !p.off[i] {
			out[i] = -7
		}
	}
	return out
}

func logistic(v float32) float32 { return float32(1 / (1 + math.Exp(-float64(v)))) }

// evidence joins place and colour in a few rounds: colours learned from the present belief, belief from the colours
// (equation 3).
func (p *plot) evidence(prior []float32) (odds, belief []float32) {
	base := append([]float32(nil), prior...)
	var lab [3][]float32
	for k := range lab {
		lab[k] = blur(p.lab[k], p.w, p.h, tune.smoothLab)
	}
	pal := newPalette(p, lab)
	belief = make([]float32, len(prior))
	for i, v := range prior {
		belief[i] = logistic(v)
	}
	for round := range tune.rounds {
		odds = p.colourOdds(&pal, &lab, belief)
		p.carry(odds)
		if round == tune.rounds-1 {
			break
		}
		soft := blur(odds, p.w, p.h, 1.5)
		for i := range belief {
			belief[i] = logistic(prior[i] + float32(tune.colour)*soft[i])
		}
		p.placed(prior, base, belief)
	}
	return odds, belief
}

// placed sharpens the prior once it is known where in the loop the wound lies (equation 2): people draw about the
// shape that they see, so the loop itself, drawn in to its likely size and moved to the centre of what was found,
// says more than the place in the loop alone.
func (p *plot) placed(prior, base, belief []float32) {
	var cx, cy, n, lx, ly, ln float64
	for i, in := range p.loop {
		x, y := float64(i%p.w)+0.5, float64(i/p.w)+0.5
		if in {
			lx, ly, ln = lx+x, ly+y, ln+1
		}
		if b := float64(belief[i]); b > 0.5 {
			cx, cy, n = cx+x, cy+y, n+1
		}
	}
	if n < 30 {
		return
	}
	cx, cy, lx, ly = cx/n, cy/n, lx/ln, ly/ln
	dx, dy := cx-lx, cy-ly
	if far, most := math.Hypot(dx, dy), 0.3*p.radius; far > most {
		dx, dy = dx*most/far, dy*most/far
	}
	k := math.Sqrt(tune.areaMid)
	in := make([]bool, len(prior))
	for i := range in {
		// the pixel of the loop that lands here when the loop is drawn in and moved
		x, y := lx+(float64(i%p.w)+0.5-lx-dx)/k, ly+(float64(i/p.w)+0.5-ly-dy)/k
		if x >= 0 && y >= 0 && int(x) < p.w && int(y) < p.h {
			in[i] = p.loop[int(y)*p.w+int(x)]
		}
	}
	d := depthOf(in, p.w, p.h)
	for i := range prior {
		v := tune.shapeSlope * float64(d[i]) / p.radius
		v = math.Min(5, math.Max(-7, v))
		prior[i] = float32((1-tune.shape)*float64(base[i]) + tune.shape*v)
		if p.blank[i] && !p.off[i] {
			prior[i] = -7
		}
	}
}

// edgePrices is low where the picture changes from bed to skin (equation 4).
func (p *plot) edgePrices(odds []float32) []float32 {
	s := blur(odds, p.w, p.h, 1.2)
	grad := make([]float32, len(odds))
	var near []float64
	for y := 1; y < p.h-1; y++ {
		for x := 1; x < p.w-1; x++ {
			i := y*p.w + x
			gx, gy := (s[i+1]-s[i-1])/2, (s[i+p.w]-s[i-p.w])/2
			grad[i] = float32(math.Sqrt(float64(gx*gx + gy*gy)))
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

// solve reads the plot: evidence, a sweep of cuts from grudging to generous, and their mean weighed by how clear an
// edge each found and how likely its size is (equations 5 to 7).
func (p *plot) solve() reading {
	r := reading{prior: p.prior()}
	odds, start := p.evidence(r.prior)
	p.odds = blur(odds, p.w, p.h, 1)
	for _, in := range p.loop {
		if in {
			r.loop++
		}
	}
	g := p.edgePrices(odds)
	win := p.window()
	c := newCutter(win.w, win.h, win.take(g), win.take(start))
	cost := make([]float32, len(odds))
	var masks [][]float32
	var scores, areas []float64
	steps := 120
	for _, lean := range leans {
		for i := range cost {
			cost[i] = -0.35 * (r.prior[i] + float32(tune.colour)*odds[i] + float32(lean))
			if p.blank[i] && !p.off[i] {
				cost[i] = 3
			}
		}
		c.run(win.take(cost), steps)
		steps = 60
		area, clear := edgeClear(c.u, c.g, win.w, win.h)
		if area < 30 {
			continue
		}
		z := math.Log(area/r.loop/tune.areaMid) / tune.areaSD
		scores = append(scores, tune.contrast*clear-z*z/2)
		areas = append(areas, area)
		masks = append(masks, append([]float32(nil), c.u...))
	}
	r.belief = make([]float32, len(odds))
	if len(masks) == 0 {
		return r
	}
	best := scores[0]
	for _, s := range scores {
		best = math.Max(best, s)
	}
	mean, sum, lnA, lnA2 := make([]float32, win.w*win.h), 0.0, 0.0, 0.0
	for k, m := range masks {
		wt, a := math.Exp(scores[k]-best), math.Log(areas[k])
		sum, lnA, lnA2 = sum+wt, lnA+wt*a, lnA2+wt*a*a
		for i, v := range m {
			mean[i] += float32(wt) * v
		}
	}
	for i := range mean {
		mean[i] /= float32(sum)
	}
	onePiece(mean, mean, win.w, win.h, 0.5)
	win.put(r.belief, mean)
	p.judge(&r, math.Sqrt(math.Max(0, lnA2/sum-lnA/sum*lnA/sum)))
	return r
}

// edgeClear is a cut's area and the mean clearness of its edge: 0 where nothing changes, near 1 at a sharp edge.
func edgeClear(u, g []float32, w, h int) (area, clear float64) {
	edge := 0.0
	for y := 1; y < h-1; y++ {
		for x := 1; x < w-1; x++ {
			i := y*w + x
			if u[i] < 0.5 {
				continue
			}
			area++
			if u[i-1] < 0.5 || u[i+1] < 0.5 || u[i-w] < 0.5 || u[i+w] < 0.5 {
				edge++
				clear += 1 - float64(g[i])/tune.edgePrice
			}
		}
	}
	return area, clear / math.Max(edge, 1)
}

// judge says how far the picture backs the edge that was found.
func (p *plot) judge(r *reading, sweep float64) {
	mask := make([]bool, len(r.belief))
	for i, v := range r.belief {
		mask[i] = v >= 0.5
	}
	d := depthOf(mask, p.w, p.h)
	var in, out, nIn, nOut float64
	for i, v := range d {
		if p.blank[i] || p.shine[i] > 0.5 {
			continue
		}
		switch {
		case v > 1 && v < 6:
			in, nIn = in+float64(p.odds[i]), nIn+1
		case v < -1 && v > -6:
			out, nOut = out+float64(p.odds[i]), nOut+1
		}
	}
	r.gap = in/math.Max(nIn, 1) - out/math.Max(nOut, 1)
	r.spread = math.Hypot(1.2*sweep, 0.03)
}

// plausible: a wound of this many working pixels can belong to the loop.
func (r *reading) plausible(area float64) bool {
	return area > 0.2*r.loop && area < 1.15*r.loop
}

// Found is the status of an outline whose edge is clear.
const Found = "edge found"

// words is the status for the nurse.
func (r *reading) words() string {
	switch {
	case r.gap < faintGap:
		return "the edge is faint: look at every part of the line and move what is wrong"
	case r.spread > 0.12:
		return "the colours allow another edge: look at every part of the line and move what is wrong"
	}
	return Found
}

// faintGap is the difference of log odds by colour across the edge below which colour says next to nothing.
const faintGap = 0.8

// window is the part of a plot where an edge is looked for: the loop and a little around it.
type window struct{ x, y, w, h, stride int }

func (p *plot) window() window {
	reach := float32(-0.25*p.radius - 3)
	x0, y0, x1, y1 := p.w, p.h, 0, 0
	for i, d := range p.depth {
		if d > reach {
			x, y := i%p.w, i/p.w
			x0, x1, y0, y1 = min(x0, x), max(x1, x+1), min(y0, y), max(y1, y+1)
		}
	}
	return window{x0, y0, x1 - x0, y1 - y0, p.w}
}

func (v window) take(f []float32) []float32 {
	out := make([]float32, 0, v.w*v.h)
	for y := range v.h {
		at := (v.y+y)*v.stride + v.x
		out = append(out, f[at:at+v.w]...)
	}
	return out
}

func (v window) put(f, from []float32) {
	for y := range v.h {
		copy(f[(v.y+y)*v.stride+v.x:], from[y*v.w:(y+1)*v.w])
	}
}
