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
			row, down := c.bar[y*w:(y+1)*w], c.bar[min(y+1, h-1)*w:]
			px, py, g := c.px[y*w:(y+1)*w], c.py[y*w:(y+1)*w], c.g[y*w:(y+1)*w]
			for x, v := range row {
				right := v // nothing flows over the border
				if x < w-1 {
					right = row[x+1]
				}
				a, b := px[x]+step*(right-v), py[x]+step*(down[x]-v)
				if m, most := a*a+b*b, g[x]*g[x]; m > most {
					k := float32(math.Sqrt(float64(most / m)))
					a, b = a*k, b*k
				}
				px[x], py[x] = a, b
			}
		}
		for y := range h {
			px, py, u, bar, cost := c.px[y*w:(y+1)*w], c.py[y*w:(y+1)*w], c.u[y*w:(y+1)*w], c.bar[y*w:(y+1)*w], f[y*w:(y+1)*w]
			var above []float32
			if y > 0 {
				above = c.py[(y-1)*w : y*w]
			}
			left := float32(0)
			for x, old := range u {
				div := px[x] - left + py[x]
				left = px[x]
				if above != nil {
					div -= above[x]
				}
				v := old + step*(div-cost[x])
				if v < 0 {
					v = 0
				} else if v > 1 {
					v = 1
				}
				u[x], bar[x] = v, 2*v-old
			}
		}
	}
}
