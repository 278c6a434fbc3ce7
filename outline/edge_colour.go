package outline

import "math"

// sectors is into how many directions the skin around a wound is divided: each has colours of its own.
const sectors = 8

// borrowed is how many pixels' worth of the colours of all directions is added to each.
const borrowed = 40

// palette counts colours in a coarse smoothed CIELAB histogram fitted to one plot.
type palette struct {
	low  [3]float64
	unit [3]float64 // width of a bin
	n    [3]int
}

// newPalette chooses bins from the spread of the colours near the loop.
func newPalette(p *plot, lab [3][]float32) palette {
	var pal palette
	for k := range lab {
		var sum, sq, n float64
		lo, hi := math.Inf(1), math.Inf(-1)
		for i, v := range lab[k] {
			if p.blank[i] {
				continue
			}
			f := float64(v)
			lo, hi = math.Min(lo, f), math.Max(hi, f)
			if float64(p.depth[i]) > -0.3*p.radius {
				sum, sq, n = sum+f, sq+f*f, n+1
			}
		}
		if n == 0 {
			lo, hi, n = 0, 1, 1
		}
		sd := math.Sqrt(math.Max(0, sq/n-sum/n*sum/n))
		unit := math.Min(5, math.Max(tune.unitLow, tune.unitShare*sd))
		unit = math.Max(unit, (hi-lo)/26)
		pal.unit[k], pal.low[k] = unit, lo-2*unit
		pal.n[k] = int((hi-lo)/unit) + 6
	}
	return pal
}

func (pal *palette) size() int { return pal.n[0] * pal.n[1] * pal.n[2] }

// place finds the eight bins around a colour and their shares.
func (pal *palette) place(lab *[3][]float32, i int) (base int, f [3]float32) {
	var j [3]int
	for k := range j {
		t := (float64(lab[k][i]) - pal.low[k]) / pal.unit[k]
		j[k] = min(max(int(t), 0), pal.n[k]-2)
		f[k] = float32(math.Min(1, math.Max(0, t-float64(j[k]))))
	}
	return (j[0]*pal.n[1]+j[1])*pal.n[2] + j[2], f
}

func (pal *palette) add(hist []float32, base int, f [3]float32, weight float32) {
	s0, s1 := pal.n[1]*pal.n[2], pal.n[2]
	for c := range 8 {
		i, wt := base, weight
		if c&1 != 0 {
			i, wt = i+s0, wt*f[0]
		} else {
			wt *= 1 - f[0]
		}
		if c&2 != 0 {
			i, wt = i+s1, wt*f[1]
		} else {
			wt *= 1 - f[1]
		}
		if c&4 != 0 {
			i, wt = i+1, wt*f[2]
		} else {
			wt *= 1 - f[2]
		}
		hist[i] += wt
	}
}

func (pal *palette) read(hist []float32, base int, f [3]float32) float32 {
	s0, s1 := pal.n[1]*pal.n[2], pal.n[2]
	lerp := func(i int) float32 { return hist[i] + f[2]*(hist[i+1]-hist[i]) }
	plane := func(i int) float32 { a := lerp(i); return a + f[1]*(lerp(i+s1)-a) }
	a := plane(base)
	return a + f[0]*(plane(base+s0)-a)
}

// smooth runs 1-2-1 along each axis, twice: about one bin of standard deviation. The outermost bins are empty.
func (pal *palette) smooth(hist []float32) {
	tmp := make([]float32, len(hist))
	for range 2 {
		for _, st := range [3]int{pal.n[1] * pal.n[2], pal.n[2], 1} {
			copy(tmp, hist)
			for i := st; i < len(hist)-st; i++ {
				hist[i] = (tmp[i-st] + 2*tmp[i] + tmp[i+st]) / 4
			}
		}
	}
}

// direction gives the two sectors between which a pixel lies and the share of the second.
func (p *plot) direction(i int, cx, cy float64) (int, int, float32) {
	t := (math.Atan2(float64(i/p.w)+0.5-cy, float64(i%p.w)+0.5-cx)/(2*math.Pi) + 1) * sectors
	s := math.Floor(t)
	return int(s) % sectors, (int(s) + 1) % sectors, float32(t - s)
}

// colourOdds is the logarithm of how much better a pixel's colour suits the wound than the skin beside it
// (equation 3 in docs/model/edges.md). wound is the present belief, 0 to 1, that a pixel is wound.
func (p *plot) colourOdds(pal *palette, lab *[3][]float32, wound []float32) []float32 {
	size := pal.size()
	bed, all := make([]float32, size), make([]float32, size)
	var around [sectors][]float32
	for s := range around {
		around[s] = make([]float32, size)
	}
	cx, cy := p.centre(wound)
	type spot struct {
		base   int
		f      [3]float32
		s0, s1 int
		t      float32
	}
	spots := make([]spot, p.w*p.h)
	var bedSum, allSum float32
	var sectorSum [sectors]float32
	reach := float32(0.6 * p.radius)
	for i := range spots {
		if p.blank[i] {
			continue
		}
		sp := &spots[i]
		sp.base, sp.f = pal.place(lab, i)
		sp.s0, sp.s1, sp.t = p.direction(i, cx, cy)
		known := 1 - p.shine[i]
		if wt := wound[i] * known; wt > 0.02 && p.loop[i] {
			pal.add(bed, sp.base, sp.f, wt)
			bedSum += wt
		}
		if d := p.depth[i]; d > -reach {
			wt := (1 - wound[i]) * known
			if d > 0 {
				wt *= float32(tune.rim)
			} else {
				wt *= 1 + d/reach*0.7
			}
			if wt > 0.02 {
				pal.add(all, sp.base, sp.f, wt)
				pal.add(around[sp.s0], sp.base, sp.f, wt*(1-sp.t))
				pal.add(around[sp.s1], sp.base, sp.f, wt*sp.t)
				allSum += wt
				sectorSum[sp.s0] += wt * (1 - sp.t)
				sectorSum[sp.s1] += wt * sp.t
			}
		}
	}
	pal.smooth(bed)
	pal.smooth(all)
	for s := range around {
		pal.smooth(around[s])
	}
	// what any wound may look like, spread evenly over the bins in use, keeps a colour that neither side has shown
	// from being judged; it leans to the wound a little, because the skin has been seen all around
	used := float32(0)
	for i := range all {
		if all[i]+bed[i] > 0 {
			used++
		}
	}
	flat := 1 / max(used, 1)
	odds := make([]float32, p.w*p.h)
	lean, strange := float32(tune.strangeBed), float32(tune.strangeSkin)
	for i := range odds {
		if p.blank[i] {
			continue
		}
		sp := &spots[i]
		in := pal.read(bed, sp.base, sp.f)/max(bedSum, 1)*(1-lean) + lean*flat
		global := pal.read(all, sp.base, sp.f) / max(allSum, 1)
		// a direction that shows little skin (the photo ends there) borrows from all of them
		seen := sectorSum[sp.s0]*(1-sp.t) + sectorSum[sp.s1]*sp.t
		local := (pal.read(around[sp.s0], sp.base, sp.f)*(1-sp.t) + pal.read(around[sp.s1], sp.base, sp.f)*sp.t + borrowed*global) / (seen + borrowed)
		out := (1-strange)*((1-float32(tune.local))*global+float32(tune.local)*local) + strange*flat
		v := float32(math.Log(float64(in / out)))
		odds[i] = min(max(v, -4), 4) * (1 - p.shine[i])
	}
	return odds
}

// centre is the belief-weighted middle of the loop's inside.
func (p *plot) centre(wound []float32) (x, y float64) {
	var sx, sy, s float64
	for i, in := range p.loop {
		if in {
			wt := float64(wound[i]) + 1e-3
			sx, sy, s = sx+wt*(float64(i%p.w)+0.5), sy+wt*(float64(i/p.w)+0.5), s+wt
		}
	}
	return sx / s, sy / s
}
