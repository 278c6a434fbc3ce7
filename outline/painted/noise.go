package painted

import (
	"math"
	"math/rand/v2"
)

// field is smooth noise with several octaves, values about -1 to 1.
type field struct {
	seed    uint64
	period  float64
	octaves int
}

func newField(rng *rand.Rand, periodPx float64, octaves int) field {
	return field{rng.Uint64(), periodPx, octaves}
}

func lattice(seed uint64, x, y int) float64 {
	h := seed ^ uint64(int64(x))*0x9E3779B97F4A7C15 ^ uint64(int64(y))*0xC2B2AE3D27D4EB4F
	h ^= h >> 29
	h *= 0xBF58476D1CE4E5B9
	h ^= h >> 32
	h *= 0x94D049BB133111EB
	h ^= h >> 31
	return float64(h>>11)/(1<<52) - 1
}

func (f field) at(x, y float64) float64 {
	sum, amp, norm := 0.0, 1.0, 0.0
	x, y = x/f.period, y/f.period
	for o := 0; o < f.octaves; o++ {
		x0, y0 := math.Floor(x), math.Floor(y)
		fx, fy := x-x0, y-y0
		fx, fy = fx*fx*(3-2*fx), fy*fy*(3-2*fy)
		s := f.seed + uint64(o)*7919
		i, j := int(x0), int(y0)
		a := lattice(s, i, j)*(1-fx) + lattice(s, i+1, j)*fx
		b := lattice(s, i, j+1)*(1-fx) + lattice(s, i+1, j+1)*fx
		sum += amp * (a*(1-fy) + b*fy)
		norm += amp
		amp *= 0.5
		x, y = x*2+17.3, y*2+5.1
	}
	return sum / norm * 1.6
}

// cells is a Voronoi partition of the plane: at tells the id of the nearest of jittered grid points.
type cells struct {
	seed   uint64
	period float64
}

func (c cells) at(x, y float64) uint64 {
	x, y = x/c.period, y/c.period
	bx, by := int(math.Floor(x)), int(math.Floor(y))
	best, id := math.Inf(1), uint64(0)
	for j := by - 1; j <= by+1; j++ {
		for i := bx - 1; i <= bx+1; i++ {
			px := float64(i) + 0.5 + 0.45*lattice(c.seed, i, j)
			py := float64(j) + 0.5 + 0.45*lattice(c.seed+1, i, j)
			if d := (px-x)*(px-x) + (py-y)*(py-y); d < best {
				best, id = d, uint64(int64(i))*0x9E3779B97F4A7C15^uint64(int64(j))*0xC2B2AE3D27D4EB4F
			}
		}
	}
	return id
}

func uniform(rng *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }

func smoothstep(lo, hi, x float64) float64 {
	t := math.Min(1, math.Max(0, (x-lo)/(hi-lo)))
	return t * t * (3 - 2*t)
}
