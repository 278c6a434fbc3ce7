package chart

// box is a part of a drawing that is taken.
type box struct{ left, top, right, bottom float64 }

func (b box) meets(o box) bool {
	return b.left < o.right && o.left < b.right && b.top < o.bottom && o.top < b.bottom
}

// labels places words beside points within a strip so that they cover neither each other nor what is drawn.
type labels struct {
	p       *plot
	y0, y1  float64
	taken   []box
	nowLine box
}

func (p *plot) labels(y0, y1 float64) *labels {
	s := &labels{p: p, y0: y0, y1: y1}
	if p.a.Holds(p.now) {
		x := p.a.x(p.now)
		s.nowLine = box{x - 1, y0, x + 1, y1}
	}
	return s
}

// keep keeps words away from a point.
func (s *labels) keep(at Point, halfWidth, halfHeight float64) {
	s.taken = append(s.taken, box{at.X - halfWidth, at.Y - halfHeight, at.X + halfWidth, at.Y + halfHeight})
}

// beside writes words gap pixels beside a point: right or left of it, at its height or as few lines off as it takes. The
// line at now is crossed only where there is no other room; with no room at all they stand right of the point.
func (s *labels) beside(at Point, gap float64, words string) {
	const line = axisPx + 1
	w := wide(words, axisPx)
	first := box{}
	for _, crossNow := range []bool{false, true} {
		for _, lines := range []float64{0, 1, -1, 2, -2, 3, -3, 4, -4} {
			for _, left := range []float64{at.X + gap, at.X - gap - w} {
				b := box{left, at.Y + lines*line - line/2, left + w, at.Y + lines*line + line/2}
				if b.left < s.p.a.x0 || b.right > s.p.a.x1 || b.top < s.y0-line/2 || b.bottom > s.y1+line/2 {
					continue
				}
				if first == (box{}) {
					first = b
				}
				if !s.free(b, crossNow) {
					continue
				}
				s.write(b, words)
				return
			}
		}
	}
	if first == (box{}) {
		first = box{at.X + gap, at.Y - line/2, at.X + gap + w, at.Y + line/2}
	}
	s.write(first, words)
}

func (s *labels) free(b box, crossNow bool) bool {
	if !crossNow && b.meets(s.nowLine) {
		return false
	}
	for _, o := range s.taken {
		if b.meets(o) {
			return false
		}
	}
	return true
}

func (s *labels) write(b box, words string) {
	s.taken = append(s.taken, b)
	s.p.text(b.left, b.bottom-3, words, Start, InkText)
}
