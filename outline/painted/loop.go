package painted

import (
	"math"
	"math/rand/v2"
)

// roughLoop draws a loop around the mask as a finger would: its area is 1.4 to 2.0 times the mask's, it is off
// centre, wobbly and has few corners; the loop's own Dice against the mask is 0.66 to 0.84. Three ways of drawing are
// mixed: the outline blown up about its centre, the outline kept at a distance, and a plain oval.
func roughLoop(rng *rand.Rand, mask []bool, side int) ([]Point, bool) {
	for try := 0; try < 60; try++ {
		want := uniform(rng, 1.42, 1.98)
		loop := tryLoop(rng, mask, side, want, rng.IntN(3))
		if loop == nil {
			continue
		}
		in := Fill(loop, side, side)
		if d := Dice(in, mask); d >= 0.665 && d <= 0.835 && count(in) > count(mask)*14/10 && count(in) <= count(mask)*2 {
			return loop, true
		}
	}
	return nil, false
}

func tryLoop(rng *rand.Rand, mask []bool, side int, want float64, way int) []Point {
	cx, cy, n := 0.0, 0.0, 0.0
	for i, m := range mask {
		if m {
			cx, cy, n = cx+float64(i%side)+0.5, cy+float64(i/side)+0.5, n+1
		}
	}
	if n < 30 {
		return nil
	}
	cx, cy = cx/n, cy/n
	req := math.Sqrt(n / math.Pi)
	const rays = 72
	// how far the mask reaches in each direction, and its second moments for the oval
	reach := make([]float64, rays)
	var sxx, sxy, syy float64
	for i, m := range mask {
		if !m {
			continue
		}
		dx, dy := float64(i%side)+0.5-cx, float64(i/side)+0.5-cy
		sxx, sxy, syy = sxx+dx*dx, sxy+dx*dy, syy+dy*dy
		k := int((math.Atan2(dy, dx)/(2*math.Pi)+1)*rays+0.5) % rays
		reach[k] = math.Max(reach[k], math.Hypot(dx, dy))
	}
	for k := range reach {
		if reach[k] == 0 {
			reach[k] = (reach[(k+1)%rays] + reach[(k+rays-1)%rays]) / 2
		}
	}
	smooth := make([]float64, rays)
	for k := range smooth {
		w, s := 0.0, 0.0
		for d := -3; d <= 3; d++ {
			g := math.Exp(-float64(d*d) / 4)
			s, w = s+g*reach[(k+d+rays)%rays], w+g
		}
		smooth[k] = s / w
	}
	wobble := func() func(float64) float64 {
		a2, a3, a5 := uniform(rng, 0, 0.06), uniform(rng, 0, 0.05), uniform(rng, 0, 0.03)
		p2, p3, p5 := uniform(rng, 0, 7), uniform(rng, 0, 7), uniform(rng, 0, 7)
		return func(t float64) float64 {
			return 1 + a2*math.Cos(2*t+p2) + a3*math.Cos(3*t+p3) + a5*math.Cos(5*t+p5)
		}
	}()
	corners := 10 + rng.IntN(26)
	off, dir := uniform(rng, 0.0, 0.9)*(math.Sqrt(want)-1)*req, uniform(rng, 0, 2*math.Pi)
	ox, oy := cx+off*math.Cos(dir), cy+off*math.Sin(dir)
	tilt := 0.5 * math.Atan2(2*sxy, sxx-syy)
	root := math.Sqrt((sxx-syy)*(sxx-syy)/4 + sxy*sxy)
	la, lb := math.Sqrt(((sxx+syy)/2+root)/n), math.Sqrt(math.Max(((sxx+syy)/2-root)/n, 1))
	draw := func(k float64) []Point {
		loop := make([]Point, corners)
		for i := range loop {
			t := 2 * math.Pi * float64(i) / float64(corners)
			at := t / (2 * math.Pi) * rays
			r0 := smooth[int(at)%rays]*(1-at+math.Floor(at)) + smooth[(int(at)+1)%rays]*(at-math.Floor(at))
			var r float64
			switch way {
			case 0:
				r = r0 * k
			case 1:
				r = r0 + (k-1)*req
			default:
				u := t - tilt
				r = k * 2 * la * lb / math.Hypot(lb*math.Cos(u), la*math.Sin(u))
			}
			r *= wobble(t)
			loop[i] = Point{ox + r*math.Cos(t), oy + r*math.Sin(t)}
		}
		return loop
	}
	lo, hi := 0.5, 4.0
	for it := 0; it < 30; it++ {
		k := (lo + hi) / 2
		if math.Abs(signedArea(draw(k))) < want*n {
			lo = k
		} else {
			hi = k
		}
	}
	return draw((lo + hi) / 2)
}

func signedArea(p []Point) float64 {
	s := 0.0
	for i := range p {
		j := (i + 1) % len(p)
		s += p[i].X*p[j].Y - p[j].X*p[i].Y
	}
	return s / 2
}

// Fill marks the pixels whose centres lie inside the polygons by the even-odd rule: an outline and its holes.
func Fill(loop []Point, width, height int, holes ...[]Point) []bool {
	in := make([]bool, width*height)
	for _, ring := range append([][]Point{loop}, holes...) {
		for i := range ring {
			a, b := ring[i], ring[(i+1)%len(ring)]
			if a.Y > b.Y {
				a, b = b, a
			}
			for y := max(0, int(math.Ceil(a.Y-0.5))); y < height && float64(y)+0.5 < b.Y; y++ {
				at := a.X + (float64(y)+0.5-a.Y)/(b.Y-a.Y)*(b.X-a.X)
				for x := max(0, int(math.Ceil(at-0.5))); x < width; x++ {
					in[y*width+x] = !in[y*width+x]
				}
			}
		}
	}
	return in
}

// Dice is twice the common pixels over the pixels of both masks; 1 when both are empty.
func Dice(a, b []bool) float64 {
	both, sum := 0, 0
	for i := range a {
		if a[i] && b[i] {
			both++
		}
		if a[i] {
			sum++
		}
		if b[i] {
			sum++
		}
	}
	if sum == 0 {
		return 1
	}
	return 2 * float64(both) / float64(sum)
}

func count(a []bool) int {
	n := 0
	for _, v := range a {
		if v {
			n++
		}
	}
	return n
}
