package outline

import (
	"image"
	"math"
)

// plot is the part of a photo around one loop at working scale: what the edge is looked for in.
//
// Working pixel (i, j) covers [i, i+1) x [j, j+1); photo = origin + working / scale.
type plot struct {
	w, h   int
	scale  float64 // working pixels per photo pixel
	origin Point   // photo pixels
	// lab holds CIELAB (D65, sRGB), L 0 to 100.
	lab [3][]float32
	// blank is true where there is no photo or only black padding; shine is 1 where a highlight hides the colour.
	blank []bool
	shine []float32
	// off is true beyond the photo's border, where blank is true too; nearest is the nearest pixel on it.
	off     []bool
	nearest []int32
	// loop is the mask of the loop, depth the distance from it in working pixels (positive inside).
	loop  []bool
	depth []float32
	// radius of the circle that has the loop's area, working pixels.
	radius float64
	// at and bounds read the photo at its own scale.
	at     func(x, y int) [3]float64
	bounds image.Rectangle
	// odds are the log odds by colour, once solved.
	odds []float32
}

const (
	workSide  = 84    // side of the square that has the loop's area, working pixels
	workMost  = 70000 // pixels of a plot at most
	magnified = 4     // no photo is magnified more than this
)

func (p *plot) toWork(q Point) Point {
	return Point{(q.X - p.origin.X) * p.scale, (q.Y - p.origin.Y) * p.scale}
}

func (p *plot) toPhoto(q Point) Point {
	return Point{p.origin.X + q.X/p.scale, p.origin.Y + q.Y/p.scale}
}

// newPlot cuts the surroundings of the loop out of the photo. The loop has passed checkLoop; its area must be at
// least 20 photo pixels.
func newPlot(img image.Image, loop []Point) (*plot, *Refusal) {
	b := img.Bounds()
	minX, minY, maxX, maxY := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, q := range loop {
		minX, maxX = math.Min(minX, q.X), math.Max(maxX, q.X)
		minY, maxY = math.Min(minY, q.Y), math.Max(maxY, q.Y)
	}
	// the loop's area by its own mask at a coarse scale: the line may cross itself
	coarse := math.Min(1, 300/math.Max(maxX-minX, maxY-minY))
	if maxX-minX < 100 && maxY-minY < 100 {
		coarse = 3
	}
	small := make([]Point, len(loop))
	for i, q := range loop {
		small[i] = Point{(q.X - minX) * coarse, (q.Y - minY) * coarse}
	}
	area := 0.0
	for _, in := range fillLoops(int((maxX-minX)*coarse)+1, int((maxY-minY)*coarse)+1, true, small) {
		if in {
			area += 1 / (coarse * coarse)
		}
	}
	if area < 20 {
		return nil, refuse(LoopPoor, "Take the photo from nearer, or draw around the whole wound.",
			"The line goes around %.0f pixels of the photo; it takes at least 20.", area)
	}
	p := &plot{scale: math.Min(magnified, workSide/math.Sqrt(area))}
	pad := 0.75 * math.Sqrt(area/math.Pi)
	boxW, boxH := maxX-minX+2*pad, maxY-minY+2*pad
	p.scale = math.Min(p.scale, math.Sqrt(workMost/(boxW*boxH)))
	p.origin = Point{minX - pad, minY - pad}
	p.w, p.h = max(8, int(math.Ceil(boxW*p.scale))), max(8, int(math.Ceil(boxH*p.scale)))
	if p.w*p.h > 2*workMost {
		return nil, refuse(LoopPoor, "Draw around one wound at a time.", "The line is far too long and thin.")
	}
	work := make([]Point, len(loop))
	for i, q := range loop {
		work[i] = p.toWork(q)
	}
	p.loop = fillLoops(p.w, p.h, true, work)
	n := 0
	for _, in := range p.loop {
		if in {
			n++
		}
	}
	if n < 60 {
		return nil, refuse(LoopPoor, "Draw once around the wound, a little outside its edge.", "The line encloses next to nothing.")
	}
	p.radius = math.Sqrt(float64(n) / math.Pi)
	p.depth = depthOf(p.loop, p.w, p.h)
	p.at, p.bounds = reader(img), b
	p.sample()
	if no := p.findNearest(); no != nil {
		return nil, no
	}
	for k := range p.lab {
		p.carry(p.lab[k])
	}
	p.findBlank()
	p.fillShine()
	return p, nil
}

// sample reads the photo: the mean of up to 4 x 4 bilinear samples to a working pixel.
func (p *plot) sample() {
	per := min(4, max(1, int(math.Ceil(1/p.scale))))
	for k := range p.lab {
		p.lab[k] = make([]float32, p.w*p.h)
	}
	p.blank, p.off, p.shine = make([]bool, p.w*p.h), make([]bool, p.w*p.h), make([]float32, p.w*p.h)
	w, h := float64(p.bounds.Dx()), float64(p.bounds.Dy())
	for y := range p.h {
		for x := range p.w {
			i := y*p.w + x
			var sum [3]float64
			n := 0
			for sy := range per {
				fy := p.origin.Y + (float64(y)+(float64(sy)+0.5)/float64(per))/p.scale
				for sx := range per {
					fx := p.origin.X + (float64(x)+(float64(sx)+0.5)/float64(per))/p.scale
					if fx < 0 || fy < 0 || fx >= w || fy >= h {
						continue
					}
					c := bilinear(p.at, p.bounds, fx, fy)
					sum[0], sum[1], sum[2], n = sum[0]+c[0], sum[1]+c[1], sum[2]+c[2], n+1
				}
			}
			if n == 0 {
				p.blank[i], p.off[i] = true, true
				continue
			}
			r, g, bl := sum[0]/float64(n), sum[1]/float64(n), sum[2]/float64(n)
			l, a, bb := cielab(r, g, bl)
			p.lab[0][i], p.lab[1][i], p.lab[2][i] = float32(l), float32(a), float32(bb)
			// a highlight: near white and nearly without colour, by display values 0 to 255
			low, high := math.Min(r, math.Min(g, bl)), math.Max(r, math.Max(g, bl))
			p.shine[i] = float32(math.Min(1, math.Max(0, (low-205)/25)) * math.Min(1, math.Max(0, (45-(high-low))/15)))
		}
	}
}

// findBlank marks black that hangs together with the plot's border as padding, with one pixel more, whose colour is
// mixed with it. Within the loop only the black of padding counts (L below 2.5): dead tissue is dark, but not so dark.
func (p *plot) findBlank() {
	dark := func(i int) bool { return p.lab[0][i] < 2.5 || p.lab[0][i] < 5 && !p.loop[i] }
	var stack []int
	push := func(i int) {
		if !p.blank[i] && dark(i) {
			p.blank[i] = true
			stack = append(stack, i)
		}
	}
	for i := range p.blank {
		if x, y := i%p.w, i/p.w; p.blank[i] {
			stack = append(stack, i)
		} else if x == 0 || y == 0 || x == p.w-1 || y == p.h-1 {
			push(i)
		}
	}
	for len(stack) > 0 {
		i := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		p.beside(i, push)
	}
	var rim []int
	for i, blank := range p.blank {
		if blank && !p.off[i] {
			p.beside(i, func(j int) {
				if !p.blank[j] {
					rim = append(rim, j)
				}
			})
		}
	}
	for _, i := range rim {
		p.blank[i] = true
	}
}

// beside calls f for the up to four neighbours of pixel i.
func (p *plot) beside(i int, f func(j int)) {
	x, y := i%p.w, i/p.w
	if x > 0 {
		f(i - 1)
	}
	if x < p.w-1 {
		f(i + 1)
	}
	if y > 0 {
		f(i - p.w)
	}
	if y < p.h-1 {
		f(i + p.w)
	}
}

// fillShine replaces the colour under highlights by that of the surroundings, so that a highlight is no edge.
func (p *plot) fillShine() {
	any := false
	weight := make([]float32, p.w*p.h)
	// a highlight is a spot: what is as light as everything around it is pale skin or paper
	around := blur(p.lab[0], p.w, p.h, 8)
	for i := range weight {
		p.shine[i] *= min(1, max(0, (p.lab[0][i]-around[i]-4)/8))
		weight[i] = 1 - p.shine[i]
		if p.blank[i] {
			weight[i] = 0
		}
		any = any || p.shine[i] > 0.1
	}
	if !any {
		return
	}
	for k := range p.lab {
		near := blurWeighted(p.lab[k], weight, p.w, p.h, 2)
		wide := blurWeighted(p.lab[k], weight, p.w, p.h, 6)
		mass := blur(weight, p.w, p.h, 2)
		for i, s := range p.shine {
			if s > 0 {
				fill := near[i]
				if mass[i] < 0.15 {
					fill = wide[i]
				}
				p.lab[k][i] += s * (fill - p.lab[k][i])
			}
		}
	}
}

// reader gives fast access to the pixels as display values 0 to 255; x and y count from the top left of the bounds.
func reader(img image.Image) func(x, y int) [3]float64 {
	b := img.Bounds()
	switch m := img.(type) {
	case *image.YCbCr:
		return func(x, y int) [3]float64 {
			x, y = x+b.Min.X, y+b.Min.Y
			yi, ci := m.YOffset(x, y), m.COffset(x, y)
			l, cb, cr := float64(m.Y[yi]), float64(m.Cb[ci])-128, float64(m.Cr[ci])-128
			return [3]float64{clamp255(l + 1.402*cr), clamp255(l - 0.344136*cb - 0.714136*cr), clamp255(l + 1.772*cb)}
		}
	case *image.RGBA:
		return func(x, y int) [3]float64 {
			i := m.PixOffset(x+b.Min.X, y+b.Min.Y)
			return [3]float64{float64(m.Pix[i]), float64(m.Pix[i+1]), float64(m.Pix[i+2])}
		}
	case *image.NRGBA:
		return func(x, y int) [3]float64 {
			i := m.PixOffset(x+b.Min.X, y+b.Min.Y)
			return [3]float64{float64(m.Pix[i]), float64(m.Pix[i+1]), float64(m.Pix[i+2])}
		}
	}
	return func(x, y int) [3]float64 {
		r, g, bl, _ := img.At(x+b.Min.X, y+b.Min.Y).RGBA()
		return [3]float64{float64(r) / 257, float64(g) / 257, float64(bl) / 257}
	}
}

func clamp255(v float64) float64 { return math.Min(255, math.Max(0, v)) }

// bilinear reads between pixel centres; beyond the outermost centres the outermost pixel holds.
func bilinear(at func(x, y int) [3]float64, b image.Rectangle, x, y float64) [3]float64 {
	x, y = x-0.5, y-0.5
	x0, y0 := math.Floor(x), math.Floor(y)
	fx, fy := x-x0, y-y0
	xa, ya := min(max(int(x0), 0), b.Dx()-1), min(max(int(y0), 0), b.Dy()-1)
	xb, yb := min(max(int(x0)+1, 0), b.Dx()-1), min(max(int(y0)+1, 0), b.Dy()-1)
	c00, c10, c01, c11 := at(xa, ya), at(xb, ya), at(xa, yb), at(xb, yb)
	var out [3]float64
	for k := range out {
		out[k] = (c00[k]*(1-fx)+c10[k]*fx)*(1-fy) + (c01[k]*(1-fx)+c11[k]*fx)*fy
	}
	return out
}

var linear = func() (t [256]float64) {
	for i := range t {
		v := float64(i) / 255
		if v <= 0.04045 {
			t[i] = v / 12.92
		} else {
			t[i] = math.Pow((v+0.055)/1.055, 2.4)
		}
	}
	return t
}()

func linearOf(v float64) float64 {
	i := min(254, max(0, int(v)))
	return linear[i] + (v-float64(i))*(linear[i+1]-linear[i])
}

// cielab turns display values 0 to 255 (sRGB, IEC 61966-2-1) into CIELAB for the white D65 (CIE 15).
func cielab(r, g, b float64) (l, a, bb float64) {
	r, g, b = linearOf(r), linearOf(g), linearOf(b)
	x := (0.4124564*r + 0.3575761*g + 0.1804375*b) / 0.95047
	y := 0.2126729*r + 0.7151522*g + 0.0721750*b
	z := (0.0193339*r + 0.1191920*g + 0.9503041*b) / 1.08883
	f := func(t float64) float64 {
		if t > 216.0/24389 {
			return math.Cbrt(t)
		}
		return (24389.0/27*t + 16) / 116
	}
	fx, fy, fz := f(x), f(y), f(z)
	return 116*fy - 16, 500 * (fx - fy), 200 * (fy - fz)
}
