package weekgen

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
)

// A class of instances in the manner of Solomon (1987): customers in clusters, at random or half of each; a short day with
// small loads or a long one with large loads. The numbers are of the order of the published ones, from memory.
type class struct {
	day, capacity, service float64
	clustered              float64 // share of the customers
}

// Classes are the classes of [Instance], by name.
var classes = map[string]class{
	"c1": {1236, 200, 90, 1}, "c2": {3390, 700, 90, 1},
	"r1": {230, 200, 10, 0}, "r2": {1000, 1000, 10, 0},
	"rc1": {240, 200, 10, 0.5}, "rc2": {960, 1000, 10, 0.5},
}

// Instance draws an instance of 100 customers in the text form of Solomon. windows is the share of the customers who have
// one, width half its mean length as a share of the day. Every customer can be served alone. It panics on an unknown class.
func Instance(name string, seed uint64, windows, width float64) string {
	c, ok := classes[name]
	if !ok {
		panic("weekgen: no class " + name)
	}
	rnd := rand.New(rand.NewPCG(seed, 56))
	var b strings.Builder
	fmt.Fprintf(&b, "%s-%d\n\nVEHICLE\nNUMBER CAPACITY\n 25 %.0f\n\nCUSTOMER\nCUST NO. XCOORD. YCOORD. DEMAND READY DUE SERVICE\n\n 0 35 35 0 0 %.0f 0\n", name, seed, c.capacity, c.day)
	var centre [8][2]float64
	for i := range centre {
		centre[i] = [2]float64{10 + 60*rnd.Float64(), 10 + 60*rnd.Float64()}
	}
	for i := 1; i <= 100; i++ {
		x, y := math.Round(70*rnd.Float64()), math.Round(70*rnd.Float64())
		if rnd.Float64() < c.clustered {
			m := centre[rnd.IntN(len(centre))]
			x, y = math.Round(m[0]+3*rnd.NormFloat64()), math.Round(m[1]+3*rnd.NormFloat64())
		}
		way := math.Ceil(math.Hypot(x-35, y-35))
		ready, due := 0.0, c.day-way-c.service
		if rnd.Float64() < windows {
			half := max(5, c.day*width*(1+0.3*rnd.NormFloat64()))
			at := way + rnd.Float64()*(due-way)
			ready, due = math.Floor(max(0, at-half)), math.Floor(min(due, max(at+half, way)))
		}
		fmt.Fprintf(&b, " %d %.0f %.0f %d %.0f %.0f %.0f\n", i, x, y, 1+int(29*rnd.Float64()), ready, due, c.service)
	}
	return b.String()
}
