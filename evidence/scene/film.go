package scene

import (
	"math"
	"math/rand/v2"
)

// grain is smooth noise over the plane: skin is not of one colour.
type grain struct{ v [4096]float64 }

func newGrain(seed uint64) *grain {
	g := &grain{}
	r := rand.New(rand.NewPCG(seed, 3))
	for i := range g.v {
		g.v[i] = r.NormFloat64()
	}
	return g
}

// tile is a square of that noise, repeated over the skin.
func (g *grain) tile() []float32 {
	out := make([]float32, tileSide*tileSide)
	for i := range out {
		out[i] = float32(g.skin(i%tileSide, i/tileSide))
	}
	return out
}

const tileSide = 512

// skin is that noise at a pixel: three sizes of blotches, the corners of each joined by straight lines.
func (g *grain) skin(x, y int) float64 {
	sum, amp := 0.0, 0.6
	for k, size := range [3]int{97, 29, 7} {
		i, j := x/size, y/size
		a, b := float64(x%size)/float64(size), float64(y%size)/float64(size)
		top := g.v[(i*7919+j*104729+k*31)&4095]*(1-a) + g.v[((i+1)*7919+j*104729+k*31)&4095]*a
		low := g.v[(i*7919+(j+1)*104729+k*31)&4095]*(1-a) + g.v[((i+1)*7919+(j+1)*104729+k*31)&4095]*a
		sum += amp * (top*(1-b) + low*b)
		amp *= 0.6
	}
	return sum
}

// blur is a Gaussian over both directions.
func blur(p []float32, w, h int, sd float64) {
	n := int(math.Ceil(3 * sd))
	k := make([]float32, n+1)
	var sum float32
	for i := range k {
		k[i] = float32(math.Exp(-float64(i*i) / (2 * sd * sd)))
		sum += k[i]
		if i > 0 {
			sum += k[i]
		}
	}
	for i := range k {
		k[i] /= sum
	}
	line := make([]float32, max(w, h)+2*n)
	pass := func(at, step, length int) {
		for i := range length {
			line[n+i] = p[at+i*step]
		}
		for i := range n {
			line[i], line[n+length+i] = line[n], line[n+length-1]
		}
		for i := range length {
			s := k[0] * line[n+i]
			for j := 1; j <= n; j++ {
				s += k[j] * (line[n+i-j] + line[n+i+j])
			}
			p[at+i*step] = s
		}
	}
	for y := range h {
		pass(y*w, 1, w)
	}
	down(p, w, h, k)
}

// down blurs along columns, a whole row of sums at a time, which the memory likes better than single columns.
func down(p []float32, w, h int, k []float32) {
	src := append([]float32(nil), p...)
	for y := range h {
		row := p[y*w:][:w]
		for i, v := range src[y*w:][:w] {
			row[i] = k[0] * v
		}
		for j := 1; j < len(k); j++ {
			a, b := src[max(y-j, 0)*w:][:w], src[min(y+j, h-1)*w:][:w]
			for i := range row {
				row[i] += k[j] * (a[i] + b[i])
			}
		}
	}
}

// smear is what a moving hand does: the mean along a short line.
func smear(p []float32, w, h int, length, deg float64) []float32 {
	n := int(math.Ceil(length))
	out := make([]float32, len(p))
	for k := range n {
		t := length * (float64(k)/float64(max(n-1, 1)) - 0.5)
		dx, dy := int(math.Round(t*math.Cos(rad(deg)))), int(math.Round(t*math.Sin(rad(deg))))
		for y := range h {
			sy := min(max(y+dy, 0), h-1)
			for x := range w {
				out[y*w+x] += p[sy*w+min(max(x+dx, 0), w-1)] / float32(n)
			}
		}
	}
	return out
}
