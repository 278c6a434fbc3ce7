package outline

import (
	"fmt"
	"math"
	"sort"
)

// Depth is a depth typed at a clicked place of the photo.
type Depth struct {
	Px Point   `json:"px"`
	Cm float64 `json:"cm"`
}

// Shape is one model that makes a volume of an area and one depth: V = Share · A · D. BoxShare is the same model's
// share of length × width × depth for an ellipse, as tables print it.
type Shape struct {
	Name     string  `json:"name"`
	Share    float64 `json:"share"`
	BoxShare float64 `json:"box_share"`
	Cm3      float64 `json:"cm3"`
}

// Volume is an estimate with its model's name and what the other models say.
type Volume struct {
	Model string  `json:"model"`
	Cm3   float64 `json:"cm3"`
	// LowCm3 and HighCm3 are the least and the greatest of the models at the greatest depth.
	LowCm3  float64 `json:"low_cm3"`
	HighCm3 float64 `json:"high_cm3"`
	// MaxDepthCm is the greatest depth typed, MeanDepthCm volume over area.
	MaxDepthCm  float64  `json:"max_depth_cm"`
	MeanDepthCm float64  `json:"mean_depth_cm"`
	Shapes      []Shape  `json:"shapes"`
	Notes       []string `json:"notes,omitempty"`
}

// Names of the models of one depth.
const (
	Box           = "box of length x width x depth"
	StraightWalls = "straight walls"
	HalfEllipsoid = "half ellipsoid"
	Factor0327    = "length x width x depth x 0.327"
	Cone          = "cone"
	// Surface is the model of several depths.
	Surface = "surface through the typed depths"
)

// Shapes gives what every model makes of an area and one depth. For an ellipse of axes L and W, whose area is
// π/4·L·W, the shares of L·W·D are 1 (the box around it), π/4, π/6, 0.327 and π/12: almost four times apart.
//
// Source: geometry; 0.327 by Kundin 1989 (Am J Nurs 89:206), from memory of the published factor. Checked:
// testdata/ref/solid-shapes.
func Shapes(areaCm2, depthCm float64) []Shape {
	var out []Shape
	for _, m := range []struct {
		name string
		box  float64
	}{{Box, 1}, {StraightWalls, math.Pi / 4}, {HalfEllipsoid, math.Pi / 6}, {Factor0327, 0.327}, {Cone, math.Pi / 12}} {
		share := m.box / (math.Pi / 4)
		out = append(out, Shape{m.name, share, m.box, share * areaCm2 * depthCm})
	}
	return out
}

const mostDepthCm = 30

func (v *Volume) shapes(area float64) {
	v.Shapes = Shapes(area, v.MaxDepthCm)
	v.LowCm3, v.HighCm3 = math.Inf(1), 0
	for _, s := range v.Shapes {
		v.LowCm3, v.HighCm3 = math.Min(v.LowCm3, s.Cm3), math.Max(v.HighCm3, s.Cm3)
	}
}

// VolumeFromDepths is the volume under the smoothest surface that is zero on the wound's edge and has the typed
// depths at the clicked places.
//
//	z(x) = a₀ + a₁x + a₂y + Σ wᵢ φ(|x − xᵢ|), φ(r) = r² ln r;  z = 0 on the edge, z = dᵢ at the clicks;  V = ∫ max(z, 0)
//
// The surface is the thin plate of least bending (eq. 12 in docs/model/outline.md; J. Duchon 1977). Islands are at
// skin level and are left out. Undermining and tunnels do not show in it. Checked: testdata/ref/scipy-thin-plate.
func VolumeFromDepths(m Measures, p Plane, depths []Depth) (Volume, error) {
	if len(depths) == 0 {
		return Volume{}, refuse(LoopPoor, "Click a place in the wound and type its depth.", "No depth is given.")
	}
	if len(depths) > 100 {
		return Volume{}, refuse(LoopPoor, "Keep to the telling ones.", "There are %d depths; at most 100 are taken.", len(depths))
	}
	v := Volume{Model: Surface}
	known, z := walk(m.EdgeCm, 72), make([]float64, 72)
	for i, d := range depths {
		at := p.ToCm(d.Px)
		if p.mirrored() {
			at.Y = -at.Y
		}
		if !(d.Cm >= 0 && d.Cm <= mostDepthCm) {
			return Volume{}, refuse(LoopPoor, "Type the depth in cm.", "Depth %d, %g cm, cannot be.", i+1, d.Cm)
		}
		if !inside(m.EdgeCm, at) {
			return Volume{}, refuse(LoopPoor, "Click within the wound.", "Depth %d lies outside the wound's edge.", i+1)
		}
		known, z = append(known, at), append(z, d.Cm)
		v.MaxDepthCm = math.Max(v.MaxDepthCm, d.Cm)
	}
	plate, ok := bend(known, z)
	if !ok {
		return Volume{}, refuse(LoopPoor, "Give each place one depth.", "Two depths lie on the same place.")
	}
	v.Cm3 = plate.integrate(append([][]Point{m.EdgeCm}, m.HolesCm...), 160)
	v.MeanDepthCm = v.Cm3 / m.AreaCm2
	v.shapes(m.AreaCm2)
	if len(depths) < 4 {
		v.Notes = append(v.Notes, fmt.Sprintf("From %d depths only. With a depth in each quarter of the wound the volume is surer.", len(depths)))
	}
	v.Notes = append(v.Notes, "Undermining and tunnels are not in the volume.")
	return v, nil
}

// walk takes n points at equal steps along a closed loop.
func walk(loop []Point, n int) []Point {
	total := Perimeter(loop)
	out := make([]Point, 0, n)
	done := 0.0
	for i, p := range loop {
		q := loop[(i+1)%len(loop)]
		d := math.Hypot(q.X-p.X, q.Y-p.Y)
		for len(out) < n && float64(len(out))*total/float64(n) <= done+d && d > 0 {
			f := (float64(len(out))*total/float64(n) - done) / d
			out = append(out, Point{p.X + f*(q.X-p.X), p.Y + f*(q.Y-p.Y)})
		}
		done += d
	}
	for len(out) < n { // rounding at the very end
		out = append(out, loop[0])
	}
	return out
}

// plate is a thin plate through known places.
type plate struct {
	at    []Point
	w     []float64
	a     [3]float64
	o     Point
	scale float64
}

func phi(q float64) float64 { // r² ln r from q = r²
	if q == 0 {
		return 0
	}
	return q * math.Log(q) / 2
}

// bend solves for the plate through the places.
func bend(at []Point, z []float64) (*plate, bool) {
	n := len(at)
	t := &plate{o: at[0], scale: math.Sqrt(Area(at)) + 1e-9}
	for _, p := range at {
		t.at = append(t.at, Point{(p.X - t.o.X) / t.scale, (p.Y - t.o.Y) / t.scale})
	}
	m, b := square(n+3), make([]float64, n+3)
	for i, p := range t.at {
		for j, q := range t.at {
			m[i][j] = phi((p.X-q.X)*(p.X-q.X) + (p.Y-q.Y)*(p.Y-q.Y))
		}
		for k, v := range [3]float64{1, p.X, p.Y} {
			m[i][n+k], m[n+k][i] = v, v
		}
		b[i] = z[i]
	}
	x, ok := gauss(m, b)
	if !ok {
		return nil, false
	}
	t.w = x[:n]
	copy(t.a[:], x[n:])
	return t, true
}

// at is the plate's depth at a place.
func (t *plate) depth(p Point) float64 {
	x, y := (p.X-t.o.X)/t.scale, (p.Y-t.o.Y)/t.scale
	z := t.a[0] + t.a[1]*x + t.a[2]*y
	for i, q := range t.at {
		z += t.w[i] * phi((x-q.X)*(x-q.X)+(y-q.Y)*(y-q.Y))
	}
	return z
}

// integrate sums the depth over what lies within an odd number of the loops, on a grid of n rows; each row's
// stretches inside are cut exactly, and depths above the skin count as none.
func (t *plate) integrate(loops [][]Point, n int) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range loops[0] {
		lo, hi = math.Min(lo, p.Y), math.Max(hi, p.Y)
	}
	step := (hi - lo) / float64(n)
	sum := 0.0
	for k := range n {
		y := lo + (float64(k)+0.5)*step
		var cut []float64
		for _, loop := range loops {
			for i, a := range loop {
				b := loop[(i+1)%len(loop)]
				if (a.Y > y) != (b.Y > y) {
					cut = append(cut, a.X+(y-a.Y)/(b.Y-a.Y)*(b.X-a.X))
				}
			}
		}
		sort.Float64s(cut)
		for i := 0; i+1 < len(cut); i += 2 {
			parts := max(1, int(math.Ceil((cut[i+1]-cut[i])/step)))
			dx := (cut[i+1] - cut[i]) / float64(parts)
			for j := range parts {
				sum += math.Max(0, t.depth(Point{cut[i] + (float64(j)+0.5)*dx, y})) * dx * step
			}
		}
	}
	return sum
}
