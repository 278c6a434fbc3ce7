package route

import (
	"math"
	"math/bits"
)

// rng is splitmix64 (Steele, Lea and Flood 2014): small, quick, the same everywhere.
type rng uint64

func (r *rng) next() uint64 {
	*r += 0x9e3779b97f4a7c15
	z := uint64(*r)
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// below returns a number in 0..n-1.
func (r *rng) below(n int) int {
	hi, _ := bits.Mul64(r.next(), uint64(n))
	return int(hi)
}

// unit returns a number in [0, 1).
func (r *rng) unit() float64 { return float64(r.next()>>11) / (1 << 53) }

// chill returns -ln of a number in (0, 1].
func (r *rng) chill() float64 { return -math.Log(1 - r.unit()) }
