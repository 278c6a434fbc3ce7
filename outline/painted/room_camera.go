package painted

import "math"

// things lays on the picture what lies about: a paper ruler, a gloved finger, hairs, a dressing's border, marks of a pen.
func (p *room) things(c *canvas) {
	if p.maybe(0.3, "ruler") {
		p.bar(c, p.uni(1.3, 1.9), p.uni(0.3, 0.6), display(240, 240, 235), true)
	}
	if p.maybe(0.2, "glove") {
		gloves := []rgb{display(70, 90, 190), display(120, 80, 170), display(235, 232, 225), display(40, 40, 44)}
		p.bar(c, p.uni(1.25, 1.7), p.uni(0.5, 0.9), gloves[p.rng.IntN(len(gloves))], false)
	}
	if p.maybe(0.2, "film border") {
		p.bar(c, p.uni(1.5, 2.2), p.uni(1, 3), display(246, 244, 240), false)
	}
	if p.maybe(0.3, "hair") {
		n, wide := 15+p.rng.IntN(80), p.uni(0.5, 1.1)
		col := display(40, 30, 26)
		if p.often(0.3) {
			col = display(190, 180, 170)
		}
		for range n {
			p.hair(c, col, wide)
		}
	}
}

// bar lays a strip of something beside the wound, its near edge at so many radii from the middle and square to that
// direction. What would lie over the wound is left out.
func (p *room) bar(c *canvas, near, wide float64, col rgb, ticks bool) {
	t := p.uni(0, 2*math.Pi)
	cs, sn := math.Cos(t), math.Sin(t)
	from := math.Max(near*p.r, p.reach(t)*1.08)
	half := p.uni(0.8, 4) * p.r
	for i := range c.px {
		x, y := float64(i%c.side)+0.5-p.cx, float64(i/c.side)+0.5-p.cy
		d, l := x*cs+y*sn-from, -x*sn+y*cs
		if d < 0 || d > wide*p.r || math.Abs(l) > half || p.s.Mask[i] {
			continue
		}
		shade := 0.85 + 0.15*math.Cos(d/(wide*p.r)*math.Pi)
		v := col.times(shade)
		if ticks && d < 0.35*wide*p.r && math.Mod(math.Abs(l), 0.1*p.r+3) < 1 {
			v = display(20, 20, 20)
		}
		c.px[i] = v
	}
}

// hair draws one bent line anywhere, over the wound too.
func (p *room) hair(c *canvas, col rgb, wide float64) {
	x, y, t, bend := p.uni(0, p.side), p.uni(0, p.side), p.limbTurn+p.uni(-0.5, 0.5), p.uni(-0.02, 0.02)
	for range int(p.uni(0.05, 0.18) * p.side) {
		i, j := int(x), int(y)
		if i >= 0 && j >= 0 && i < c.side && j < c.side {
			k := j*c.side + i
			c.px[k] = c.px[k].mix(col, 0.75*math.Min(1, wide))
		}
		x, y, t = x+math.Cos(t), y+math.Sin(t), t+bend
	}
}

// camera does what lens, light and phone do: fall-off, a hot spot, a cast, blur, sharpening, a smaller size, JPEG.
func (p *room) camera(c *canvas) {
	f := p.side
	cast := rgb{p.uni(0.85, 1.2), 1, p.uni(0.65, 1.15)}.times(math.Exp(p.uni(-0.5, 0.35)))
	vignette := p.uni(0, 0.3)
	if p.maybe(0.25, "dark corners") {
		vignette = p.uni(0.5, 0.85)
	}
	hot, hx, hy := 0.0, p.cx+p.uni(-2, 2)*p.r, p.cy+p.uni(-2, 2)*p.r
	if p.maybe(0.25, "flash") {
		hot = p.uni(0.3, 1)
	}
	shade, st, sd := 0.0, p.uni(0, 2*math.Pi), p.uni(-1.2, 1.2)*p.r
	if p.maybe(0.25, "shadow") {
		shade = p.uni(0.3, 0.65)
	}
	for i := range c.px {
		x, y := float64(i%c.side)+0.5, float64(i/c.side)+0.5
		q := (math.Pow(x-f/2, 2) + math.Pow(y-f/2, 2)) / (f * f / 2)
		light := 1 - vignette*q + hot*math.Exp(-(math.Pow(x-hx, 2)+math.Pow(y-hy, 2))/(f*f*0.06))
		light *= 1 - shade*smoothstep(-0.12*p.r-4, 0.12*p.r+4, (x-p.cx)*math.Cos(st)+(y-p.cy)*math.Sin(st)-sd)
		for k := range c.px[i] {
			v := c.px[i][k] * cast[k] * light
			if v > 0.7 { // film and sensor round off before they clip
				v = 0.7 + 0.3*(1-math.Exp(-(v-0.7)/0.3))
			}
			c.px[i][k] = v
		}
	}
	c.blur(p.uni(0.4, 1.6))
	if p.maybe(0.3, "sharpened") {
		soft := &canvas{c.side, append([]rgb(nil), c.px...)}
		soft.blur(1.5)
		for i := range c.px {
			for k := range c.px[i] {
				c.px[i][k] = math.Max(0, c.px[i][k]+0.9*(c.px[i][k]-soft.px[i][k]))
			}
		}
	}
	if p.maybe(0.25, "padding") {
		lo, hi := int(p.uni(0, 0.2)*f), int(p.uni(0.8, 1)*f)
		if y0, y1 := p.span(); lo < y0 && hi > y1 {
			c.pad(0, lo, c.side, hi)
		}
	}
	quality := 35 + p.rng.IntN(60)
	if quality < 55 {
		p.trouble("coarse JPEG")
	}
	p.s.Image = c.develop(p.rng, p.uni(0.004, 0.03), quality)
}

// span is the first row of the wound and the one after its last.
func (p *room) span() (int, int) {
	lo, hi := int(p.side), 0
	for i, m := range p.s.Mask {
		if m {
			lo, hi = min(lo, i/int(p.side)), max(hi, i/int(p.side)+1)
		}
	}
	return lo, hi
}

// loop goes around the whole wound, 1.4 to 2 times as large and off centre, in one of four habits; it may leave the
// picture. Its area is that of the line itself, also where it is off the picture.
func (p *room) loop() ([]Point, bool) {
	const fine = 180
	edge := make([]Point, fine)
	for i := range edge {
		t := 2 * math.Pi * float64(i) / fine
		edge[i] = Point{p.cx + p.reach(t)*math.Cos(t), p.cy + p.reach(t)*math.Sin(t)}
	}
	area := math.Abs(signedArea(edge))
	for range 80 {
		want, way := p.uni(1.42, 1.98)*area, p.rng.IntN(4)
		corners := []int{60, 24, 8, 16}[way] + p.rng.IntN(8)
		off, dir := p.uni(0, 0.3)*p.r, p.uni(0, 2*math.Pi)
		a2, p2 := p.uni(0, 0.07), p.uni(0, 7)
		draw := func(k float64) []Point {
			out := make([]Point, corners)
			for i := range out {
				t := 2 * math.Pi * float64(i) / float64(corners)
				var r float64
				switch way {
				case 0: // at a distance from the widest within a sixth of a turn: a generous finger
					for j := -15; j <= 15; j++ {
						r = math.Max(r, p.reach(t+float64(j)*math.Pi/90)*math.Cos(float64(j)*math.Pi/90))
					}
					r += (k - 1) * p.r
				case 1, 2: // the shape blown up, or a few straight lines
					r = p.reach(t) * k
				default: // a circle
					r = k * p.r
				}
				r *= 1 + a2*math.Cos(3*t+p2)
				out[i] = Point{p.cx + off*math.Cos(dir) + r*math.Cos(t), p.cy + off*math.Sin(dir) + r*math.Sin(t)}
			}
			return out
		}
		lo, hi := 0.3, 5.0
		for range 40 {
			if k := (lo + hi) / 2; math.Abs(signedArea(draw(k))) < want {
				lo = k
			} else {
				hi = k
			}
		}
		loop := draw(lo)
		in := Fill(loop, int(p.side), int(p.side))
		missed := 0
		for i, m := range p.s.Mask {
			if m && !in[i] {
				missed++
			}
		}
		if missed*100 <= 2*count(p.s.Mask) {
			return loop, true
		}
	}
	return nil, false
}
