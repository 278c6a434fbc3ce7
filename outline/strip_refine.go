package outline

import (
	"math"
	"sort"
)

// spokes is how many directions a mark's edge is looked for in.
const spokes = 72

// refine finds a mark's outer edge along spokes, each at the place where brightness is midway between its own ink
// and its own paper (light may fall off across a mark), and fits an ellipse. It reports false when what is there
// is no mark.
func (s *spot) refine(g *grey) bool {
	for range 4 {
		var theta, rho, slope, white, black []float64
		step := 0.4 / s.radius() // in radii: under half a pixel
		if step > 0.1 {
			step = 0.1
		}
		for k := range spokes {
			t := 2 * math.Pi * float64(k) / spokes
			r, m, w, b, ok := s.edge(g, math.Cos(t), math.Sin(t), step)
			if !ok {
				continue
			}
			theta, rho, slope = append(theta, t), append(rho, r), append(slope, m)
			white, black = append(white, w), append(black, b)
		}
		if len(rho) < spokes*2/3 {
			return false
		}
		fit, rough, ok := wave(theta, rho)
		if !ok {
			return false
		}
		s.white, s.black = median(white), median(black)
		s.roughPx = rough * s.radius()
		if m := median(slope); m > 0 {
			s.blurPx = s.radius() / (m * math.Sqrt(2*math.Pi))
		}
		// Move and reshape: r(t) = f₀ + f₁ cos t + f₂ sin t + f₃ cos 2t + f₄ sin 2t.
		s.at.X += s.a*fit[1] + s.b*fit[2]
		s.at.Y += s.c*fit[1] + s.d*fit[2]
		e := [4]float64{fit[0] + fit[3], fit[4], fit[4], fit[0] - fit[3]}
		s.a, s.b, s.c, s.d = s.a*e[0]+s.b*e[2], s.a*e[1]+s.b*e[3], s.c*e[0]+s.d*e[2], s.c*e[1]+s.d*e[3]
		if !(s.radius() > 1) || s.radius() > float64(g.w+g.h) {
			return false
		}
		if math.Hypot(fit[1], fit[2])*s.radius() < 0.005 {
			break
		}
	}
	return s.roughPx < 0.12*s.radius()+0.3
}

// edge looks along one spoke from 0.6 to 1.5 radii. Nothing else is printed there: the eye ends at 0.4, words and
// code begin at 1.6. slope is the steepest change, as a share of the contrast, in 1/radius.
func (s *spot) edge(g *grey, cos, sin, step float64) (r, slope, white, black float64, ok bool) {
	const from, to = 0.6, 1.5
	dx, dy := s.a*cos+s.b*sin, s.c*cos+s.d*sin
	if x, y := s.at.X+to*dx, s.at.Y+to*dy; x < 0 || y < 0 || x > float64(g.w) || y > float64(g.h) {
		return
	}
	var buf [512]float64
	n := min(int((to-from)/step)+1, len(buf))
	v := buf[:n]
	black = 255
	for i := range v {
		t := from + step*float64(i)
		v[i] = g.at(s.at.X+t*dx, s.at.Y+t*dy)
		if t < 0.9 {
			black = math.Min(black, v[i])
		}
	}
	// Paper: the mean of the outer part; one bright grain does not set it.
	k := 0.0
	for i := range v {
		if t := from + step*float64(i); t > 1.22 {
			white += v[i]
			k++
		}
	}
	white /= k
	if white-black < 20 {
		return
	}
	mid := (white + black) / 2
	best := math.Inf(1)
	for i := 1; i < n; i++ {
		if v[i-1] < mid && v[i] >= mid {
			t := from + step*(float64(i-1)+(mid-v[i-1])/(v[i]-v[i-1]))
			if math.Abs(t-1) < best { // the crossing nearest to where the edge should be
				best, r, ok = math.Abs(t-1), t, true
			}
		}
	}
	// The slope over two steps on each side of the crossing: grain counts less than in one.
	if ok {
		at := int((r - from) / step)
		lo, hi := max(at-1, 0), min(at+2, n-1)
		slope = (v[hi] - v[lo]) / (float64(hi-lo) * step) / (white - black)
	}
	return
}

// wave fits f₀ + f₁ cos + f₂ sin + f₃ cos 2 + f₄ sin 2 by least squares, without the directions that stand out.
func wave(theta, rho []float64) (f [5]float64, rough float64, ok bool) {
	use := make([]bool, len(rho))
	for i := range use {
		use[i] = true
	}
	for range 3 {
		a := square(5)
		var b [5]float64
		for i, t := range theta {
			if !use[i] {
				continue
			}
			row := [5]float64{1, math.Cos(t), math.Sin(t), math.Cos(2 * t), math.Sin(2 * t)}
			for j := range row {
				for k := range row {
					a[j][k] += row[j] * row[k]
				}
				b[j] += row[j] * rho[i]
			}
		}
		inv, good := cholesky(a)
		if !good {
			return f, 0, false
		}
		f = [5]float64{}
		for j := range f {
			for k := range b {
				f[j] += inv[j][k] * b[k]
			}
		}
		off := make([]float64, len(rho))
		for i, t := range theta {
			off[i] = math.Abs(rho[i] - f[0] - f[1]*math.Cos(t) - f[2]*math.Sin(t) - f[3]*math.Cos(2*t) - f[4]*math.Sin(2*t))
		}
		rough = median(off) * 1.4826
		kept := 0
		for i := range off {
			if use[i] = off[i] <= 3.5*rough+1e-6; use[i] {
				kept++
			}
		}
		if kept < len(rho)/2 {
			return f, rough, false
		}
	}
	return f, rough, f[0] > 0.5 && f[0] < 1.5
}

func median(v []float64) float64 {
	s := append([]float64(nil), v...)
	sort.Float64s(s)
	if len(s) == 0 {
		return 0
	}
	return s[len(s)/2]
}
