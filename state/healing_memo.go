package state

import (
	"crypto/sha256"
	"encoding/binary"
	"hash"
	"math"
	"sync"

	"lowtide/healing"
)

// memoEntries bounds how many assessments are kept: about 8 kB each.
const memoEntries = 2048

// memo keeps assessments by the content of their input. An assessment is a pure function of it and is not modified,
// so keeping it changes nothing but the time a review takes.
var memo = struct {
	sync.Mutex
	by    map[[sha256.Size]byte]*healing.Assessment
	order [][sha256.Size]byte // oldest first
}{by: map[[sha256.Size]byte]*healing.Assessment{}}

// assess is [healing.Assess], remembered.
func assess(in healing.Input) healing.Assessment {
	key := contentOf(in)
	memo.Lock()
	known := memo.by[key]
	memo.Unlock()
	if known != nil {
		return *known
	}
	a := healing.Assess(in)
	memo.Lock()
	defer memo.Unlock()
	if memo.by[key] == nil {
		if len(memo.order) >= memoEntries {
			delete(memo.by, memo.order[0])
			memo.order = memo.order[1:]
		}
		memo.by[key], memo.order = &a, append(memo.order, key)
	}
	return a
}

// contentOf hashes everything that review puts into an input.
func contentOf(in healing.Input) (out [sha256.Size]byte) {
	h := sha256.New()
	text(h, in.WoundType)
	count(h, uint64(in.AsOf.UnixNano()))
	for _, d := range in.AheadDays {
		count(h, math.Float64bits(d))
	}
	count(h, uint64(len(in.Goals)))
	for _, g := range in.Goals {
		text(h, g.ID)
		text(h, string(g.Measure))
		count(h, math.Float64bits(g.Below))
		count(h, uint64(len(g.And)))
		for _, also := range g.And {
			text(h, string(also.Measure))
			count(h, math.Float64bits(also.Below))
		}
	}
	if p := in.Prior; p != nil {
		for _, r := range []healing.Rate{p.Slow, p.Fast, p.EdgeSlow, p.EdgeFast, p.Steady, p.Flat, p.Grow, {Mean: p.ChangePerWk, SD: p.Wild}} {
			count(h, math.Float64bits(r.Mean))
			count(h, math.Float64bits(r.SD))
		}
		text(h, p.Source)
	}
	if in.Past {
		count(h, 1)
	}
	for _, z := range in.Sizes {
		count(h, uint64(z.At.UnixNano()))
		// The offset decides how a day is written in a sentence.
		_, offset := z.At.Zone()
		count(h, uint64(int64(offset)))
		text(h, z.Method)
		for _, v := range []*float64{z.AreaCm2, z.SECm2, z.LengthCm, z.WidthCm, z.DepthCm, z.DepthSECm, z.VolumeCm3, z.VolumeSECm3, z.PerimeterCm, z.BarePct} {
			if v == nil {
				h.Write([]byte{0})
				continue
			}
			h.Write([]byte{1})
			count(h, math.Float64bits(*v))
		}
	}
	h.Sum(out[:0])
	return out
}

func count(h hash.Hash, n uint64) {
	var b [8]byte
	binary.LittleEndian.PutUint64(b[:], n)
	h.Write(b[:])
}

func text(h hash.Hash, s string) {
	count(h, uint64(len(s)))
	h.Write([]byte(s))
}
