package intake

import (
	"fmt"
	"slices"
	"sort"
	"time"

	"lowtide/casebook"
	"lowtide/unit"
)

// sizeEvent says that a canister of a size was in place from a time on. Entry keeps an entry from being
// measured against the canister that it put in after its own reading.
type sizeEvent struct {
	at    time.Time
	size  float64
	entry string
	pump  string
	// greatest is the greatest size so far.
	greatest float64
}

// pumpMove is a pump that came or went; here counts the pumps with the patient after it.
type pumpMove struct {
	at   time.Time
	pump string
	came bool
	here int
}

// findSizes lists the sizes of canisters in time order, and how many pumps were with the patient.
func (c *checker) findSizes() {
	add := func(e casebook.Entry, size *float64, pump string) {
		if size != nil {
			c.sizes = append(c.sizes, sizeEvent{at: e.At, size: *size, entry: e.ID, pump: pump})
		}
	}
	collect := func(e casebook.Entry) {
		switch b := e.Body.(type) {
		case casebook.PumpAssigned:
			add(e, b.CanisterML, b.Pump)
			c.moves = append(c.moves, pumpMove{at: e.At, pump: b.Pump, came: true})
		case casebook.PumpReturned:
			c.moves = append(c.moves, pumpMove{at: e.At, pump: b.Pump})
		case casebook.CanisterRead:
			add(e, b.SizeML, "")
		case casebook.DressingChanged:
			if b.Canister != nil {
				add(e, b.Canister.SizeML, "")
			}
		}
	}
	for _, e := range slices.Concat(c.known, c.list) {
		if c.dormant[e.ID] {
			continue
		}
		collect(e)
		if k, ok := e.Body.(casebook.EntryCorrected); ok {
			if body, at := c.replaced(e, k); body != nil {
				collect(casebook.Entry{ID: e.ID, At: at, Body: body})
			}
			if k.Original != nil {
				collect(casebook.Entry{ID: e.ID, At: k.Original.At, Body: k.Original.Body})
			}
		}
	}
	sort.SliceStable(c.sizes, func(i, j int) bool { return c.sizes[i].at.Before(c.sizes[j].at) })
	greatest := 0.0
	for i := range c.sizes {
		greatest = max(greatest, c.sizes[i].size)
		c.sizes[i].greatest = greatest
	}
	sort.SliceStable(c.moves, func(i, j int) bool { return c.moves[i].at.Before(c.moves[j].at) })
	here := map[string]bool{}
	for i, m := range c.moves {
		if m.came {
			here[m.pump] = true
		} else {
			delete(here, m.pump)
		}
		c.moves[i].here = len(here)
	}
}

// overfull is how far above its size a canister may be read: scales end at the size, not at the rim. Own choice.
const overfull = 1.1

// volume checks a reading against the size of the canister that was in place. With several pumps any canister so far may
// be meant, because sizes that came with a reading need not name theirs; nothing is said when no size is known.
func (c *checker) volume(i int, prefix string, r casebook.CanisterRead, at time.Time) {
	if r.VolumeML == nil {
		return
	}
	limit := c.canister(c.list[i].ID, at)
	// A canister can hold a little more than its mark; what is within a tenth is for the rules to name.
	if limit > 0 && *r.VolumeML > limit*overfull {
		c.at(i, prefix+"/volume_mL", CodeCanister, unit.Number(*r.VolumeML, 1),
			fmt.Sprintf("%s mL is more than the canister holds: its size is %s mL by the last entry that gives one.", unit.Number(*r.VolumeML, 1), unit.Number(limit, 1)),
			"Read the volume again. If a larger canister was in place, record its size where it was put in.")
	}
}

// canister is the greatest size, in mL, that a canister read at a time can have had; 0 when none is known.
func (c *checker) canister(entry string, at time.Time) float64 {
	end := sort.Search(len(c.sizes), func(j int) bool { return c.sizes[j].at.After(at) })
	moved := sort.Search(len(c.moves), func(j int) bool { return c.moves[j].at.After(at) })
	if moved > 0 && c.moves[moved-1].here > 1 && end > 0 {
		return c.sizes[end-1].greatest
	}
	limit, last := 0.0, time.Time{}
	for j := end - 1; j >= 0; j-- {
		s := c.sizes[j]
		if s.entry == entry && s.pump == "" {
			continue
		}
		// Entries of the same minute have no order: any of their sizes may be the one.
		if !last.IsZero() && !s.at.Equal(last) {
			break
		}
		if s.at.Before(at) {
			last = s.at
		}
		limit = max(limit, s.size)
	}
	return limit
}
