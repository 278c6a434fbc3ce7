package outline

import (
	"image"
	"math"
	"sort"
)

// checkLoop returns the loop in order, without points that repeat the one before, or says what is wrong with it. A loop
// that leaves the picture is kept beyond the border as far as it can be believed: see offPicture.
func checkLoop(bounds image.Rectangle, loop []Point) ([]Point, *Refusal) {
	const remedy = "Draw once around the wound, a little outside its edge."
	if bounds.Dx() < 8 || bounds.Dy() < 8 {
		return nil, refuse(TooTiny, "Use a photo of at least 8 x 8 pixels.", "The photo has %d x %d pixels.", bounds.Dx(), bounds.Dy())
	}
	if len(loop) > 20000 {
		return nil, refuse(LoopPoor, remedy, "The line around the wound has %d points; 20000 is the most.", len(loop))
	}
	w, h := float64(bounds.Dx()), float64(bounds.Dy())
	var kept []Point
	for i, p := range loop {
		if math.IsNaN(p.X) || math.IsNaN(p.Y) || math.IsInf(p.X, 0) || math.IsInf(p.Y, 0) {
			return nil, refuse(LoopPoor, remedy, "Point %d of the line is not a number.", i+1)
		}
		p.X, p.Y = math.Min(math.Max(p.X, -w), 2*w), math.Min(math.Max(p.Y, -h), 2*h)
		if n := len(kept); n == 0 || kept[n-1] != p {
			kept = append(kept, p)
		}
	}
	if n := len(kept); n > 1 && kept[0] == kept[n-1] {
		kept = kept[:n-1]
	}
	if len(kept) < 3 {
		return nil, refuse(LoopPoor, remedy, "The line around the wound has %d different points inside the photo; it takes at least 3.", len(kept))
	}
	return offPicture(kept, w, h), nil
}

// fillLoops marks the pixels of a width x height grid whose centres the loops enclose. Pixel (i, j) has its centre at
// (i+0.5, j+0.5). With winding the nonzero rule is used, so that a line that crosses itself keeps what it went around;
// without it the even-odd rule, for an outline with islands.
func fillLoops(width, height int, winding bool, loops ...[]Point) []bool {
	in := make([]bool, width*height)
	type crossing struct {
		x    float64
		turn int
	}
	rows := make([][]crossing, height)
	for _, loop := range loops {
		for i := range loop {
			a, b, turn := loop[i], loop[(i+1)%len(loop)], 1
			if a.Y > b.Y {
				a, b, turn = b, a, -1
			}
			for y := max(0, int(math.Ceil(a.Y-0.5))); y < height && float64(y)+0.5 < b.Y; y++ {
				rows[y] = append(rows[y], crossing{a.X + (float64(y)+0.5-a.Y)/(b.Y-a.Y)*(b.X-a.X), turn})
			}
		}
	}
	for y, row := range rows {
		sort.Slice(row, func(i, j int) bool { return row[i].x < row[j].x })
		turns := 0
		for k := 0; k+1 < len(row); k++ {
			if winding {
				turns += row[k].turn
			} else {
				turns ^= 1
			}
			if turns == 0 {
				continue
			}
			for x := max(0, int(math.Ceil(row[k].x-0.5))); x < width && float64(x)+0.5 < row[k+1].x; x++ {
				in[y*width+x] = true
			}
		}
	}
	return in
}

// depthOf is the distance in pixels of every pixel centre from the edge of the mask: positive inside, negative
// outside (Felzenszwalb and Huttenlocher's exact transform, once for either side, less half a pixel).
func depthOf(mask []bool, w, h int) []float32 {
	in, out := squaredDistance(mask, w, h, false), squaredDistance(mask, w, h, true)
	d := make([]float32, w*h)
	for i := range d {
		if mask[i] {
			d[i] = float32(math.Sqrt(in[i]) - 0.5)
		} else {
			d[i] = float32(0.5 - math.Sqrt(out[i]))
		}
	}
	return d
}

// squaredDistance is the squared distance to the nearest pixel whose mask has the given value.
func squaredDistance(mask []bool, w, h int, to bool) []float64 {
	const far = 1e12
	d := make([]float64, w*h)
	for i := range d {
		if mask[i] != to {
			d[i] = far
		}
	}
	n := max(w, h)
	f, v, z := make([]float64, n), make([]int, n), make([]float64, n+1)
	line := func(start, step, n int) {
		for q := range n {
			f[q] = d[start+q*step]
		}
		k := 0
		v[0], z[0], z[1] = 0, math.Inf(-1), math.Inf(1)
		for q := 1; q < n; q++ {
			s := 0.0
			for {
				s = (f[q] + float64(q*q) - f[v[k]] - float64(v[k]*v[k])) / float64(2*q-2*v[k])
				if s > z[k] {
					break
				}
				k--
			}
			k++
			v[k], z[k], z[k+1] = q, s, math.Inf(1)
		}
		k = 0
		for q := range n {
			for z[k+1] < float64(q) {
				k++
			}
			d[start+q*step] = float64((q-v[k])*(q-v[k])) + f[v[k]]
		}
	}
	for x := range w {
		line(x, w, h)
	}
	for y := range h {
		line(y*w, 1, w)
	}
	return d
}
