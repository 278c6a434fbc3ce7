package outline

import "math"

// cutter finds the smooth region of least cost (equation 5 in docs/model/edges.md):
//
//	min over 0 <= u <= 1 of  sum g |grad u| + sum f u
//
// by Chambolle and Pock's primal-dual steps; a level of u between 0 and 1 is then a region of least weighted edge
// plus cost (Chan, Esedoglu and Nikolova). Its state is kept, so that a sweep starts from its neighbour.
type cutter struct {
	w, h   int
	g      []float32 // price of edge at each pixel
	u, bar []float32
	px, py []float32
}

func newCutter(w, h int, g, start []float32) *cutter {
	c := &cutter{w: w, h: h, g: g, u: make([]float32, w*h), bar: make([]float32, w*h), px: make([]float32, w*h), py: make([]float32, w*h)}
	copy(c.u, start)
	copy(c.bar, start)
	return c
}

// run makes n steps with the cost f.
func (c *cutter) run(f []float32, n int) {
	const step = 0.35355 // 1/sqrt(8): the largest that converges
	w, h := c.w, c.h
	for range n {
		for y := range h {
			at := y * w
			for x := range w {
				i := at + x
				var dx, dy float32
				if x < w-1 {
					dx = c.bar[i+1] - c.bar[i]
				}
				if y < h-1 {
					dy = c.bar[i+w] - c.bar[i]
				}
				a, b := c.px[i]+step*dx, c.py[i]+step*dy
				if m, g := a*a+b*b, c.g[i]; m > g*g {
					k := g / float32(math.Sqrt(float64(m)))
					a, b = a*k, b*k
				}
				c.px[i], c.py[i] = a, b
			}
		}
		for y := range h {
			at := y * w
			for x := range w {
				i := at + x
				div := c.px[i] + c.py[i]
				if x > 0 {
					div -= c.px[i-1]
				}
				if y > 0 {
					div -= c.py[i-w]
				}
				if x == w-1 {
					div -= c.px[i]
				}
				if y == h-1 {
					div -= c.py[i]
				}
				old := c.u[i]
				v := min(max(old+step*(div-f[i]), 0), 1)
				c.u[i], c.bar[i] = v, 2*v-old
			}
		}
	}
}
