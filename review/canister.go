package review

import (
	"time"

	"lowtide/casebook"
)

// Canister is what the entries say about the canister now in use.
type Canister struct {
	// SizeML, VolumeML are nil when not known; Colour is empty.
	SizeML   *float64
	VolumeML *float64
	Colour   string
	// ReadAt is when VolumeML was true; ChangedAt is when this canister went in.
	ReadAt, ChangedAt *time.Time
	SizeBy, ReadBy    string
	ChangedBy         string
	// Collected is the running total of fluid, as far as it can be told; a gap starts a new segment.
	Collected []Collected
	// Dropped tells that the newest reading is lower than the one before it without a recorded change.
	Dropped   *bool
	DroppedBy string
}

// Collected is the fluid collected since the start of its segment.
type Collected struct {
	At      time.Time
	ML      float64
	Segment int
	Entry   string
}

// worrying are the colours that a new canister or an incomplete reading must not make disappear.
var worrying = map[string]bool{"pink": true, "blood-tinged": true, "bright red": true, "brown": true, "green": true, "cloudy": true}

// CanisterOf reads the canister's state from the readings and the pump's assignment.
func CanisterOf(c *casebook.Case) Canister {
	var k Canister
	if open := OpenPumps(c); len(open) > 0 {
		p := open[len(open)-1].Assigned
		if p.Body.CanisterML != nil {
			at := p.At
			k.SizeML, k.SizeBy = p.Body.CanisterML, p.ID
			// A canister is put in when the pump is given to the patient.
			k.ChangedAt, k.ChangedBy = &at, p.ID
		}
	}
	base, segment, last := 0.0, 0, -1.0
	start := true
	for _, r := range c.Canister {
		at := r.At
		// A colour that worries stays until a newer reading names another; any other colour is true only for the
		// reading that named it.
		if r.Body.Colour != "" || !worrying[k.Colour] {
			k.Colour = r.Body.Colour
		}
		if r.Body.VolumeML != nil {
			v := *r.Body.VolumeML
			dropped := !start && last >= 0 && v < last
			k.Dropped, k.DroppedBy = &dropped, r.ID
			if dropped {
				segment, base = segment+1, 0
			}
			k.Collected = append(k.Collected, Collected{at, base + v, segment, r.ID})
			k.VolumeML, k.ReadAt, k.ReadBy = r.Body.VolumeML, &at, r.ID
			last, start = v, false
		}
		if r.Body.Changed != nil && *r.Body.Changed {
			zero := 0.0
			if r.Body.VolumeML == nil {
				// What was in the old canister is not known: the running total breaks here.
				segment, base = segment+1, 0
				k.Collected = append(k.Collected, Collected{at, 0, segment, r.ID})
			} else {
				base += *r.Body.VolumeML
			}
			k.VolumeML, k.ReadAt, k.ReadBy = &zero, &at, r.ID
			k.ChangedAt, k.ChangedBy = &at, r.ID
			last, start = 0, false
			if r.Body.SizeML != nil {
				k.SizeML, k.SizeBy = r.Body.SizeML, r.ID
			}
		} else if r.Body.SizeML != nil {
			k.SizeML, k.SizeBy = r.Body.SizeML, r.ID
		}
	}
	return k
}

// Output is the fluid collected per day between the newest reading and the earlier one nearest to 24 h before
// it, at least 12 h, within one unbroken segment. ok is false when there are no two such readings.
func (k Canister) Output() (mLPerDay float64, from, to Collected, ok bool) {
	n := len(k.Collected)
	if n == 0 {
		return 0, from, to, false
	}
	to = k.Collected[n-1]
	best := time.Duration(1<<63 - 1)
	for _, r := range k.Collected[:n-1] {
		gap := to.At.Sub(r.At)
		if r.Segment != to.Segment || gap < 12*time.Hour {
			continue
		}
		if off := (gap - 24*time.Hour).Abs(); off < best {
			best, from, ok = off, r, true
		}
	}
	if !ok {
		return 0, from, to, false
	}
	return (to.ML - from.ML) / to.At.Sub(from.At).Hours() * 24, from, to, true
}

func canisterFacts(c *casebook.Case, set sink) {
	k := CanisterOf(c)
	set.setNum("canister.size_mL", k.SizeML, k.SizeBy)
	set.setNum("canister.volume_mL", k.VolumeML, k.ReadBy)
	if k.SizeML != nil && k.VolumeML != nil {
		set("canister.full_pct", *k.VolumeML / *k.SizeML * 100, k.ReadBy, k.SizeBy)
	}
	if k.ReadAt != nil {
		set("canister.read_at", *k.ReadAt, k.ReadBy)
	}
	if k.ChangedAt != nil {
		set("canister.changed_at", *k.ChangedAt, k.ChangedBy)
	}
	set.setText("canister.colour", k.Colour, k.ReadBy)
	set.setBool("canister.dropped", k.Dropped, k.DroppedBy)
	if rate, from, to, ok := k.Output(); ok {
		set("canister.output_mL_d", rate, from.Entry, to.Entry)
	}
}
