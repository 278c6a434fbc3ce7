package state

import (
	"fmt"
	"math"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/unit"
)

// bedWorries are the looks of the bed that stay until a newer look at the bed says otherwise.
var bedWorries = []string{"eschar", "friable", "pale"}

// bedFacts takes the look of the bed at the newest change that noted one. A look without a worry is true only for its own
// change.
func bedFacts(w *casebook.Wound, set Sink) {
	for i := len(w.Changes) - 1; i >= 0; i-- {
		bed := w.Changes[i].Body.Bed
		if len(bed) == 0 {
			continue
		}
		worry := false
		for _, x := range bedWorries {
			worry = worry || contains(bed, x)
		}
		if worry || i == len(w.Changes)-1 {
			set("wound.bed", strings.Join(bed, ", "), w.Changes[i].ID)
			set("wound.bed_at", w.Changes[i].At, w.Changes[i].ID)
		}
		return
	}
}

// looked tells whether a measurement says anything of undermining and tunnels.
func looked(m casebook.WoundMeasured) bool {
	return m.NoneUnder || len(m.Undermining)+len(m.Tunnels) > 0
}

// A tunnel is the same as before within clockSame hours of the clock; deeperCm is what a probe tells apart. Common
// practice, no published source.
const clockSame, deeperCm = 1.5, 1.0

// underFacts compares the newest look for undermining and tunnels with the one before it.
func underFacts(w *casebook.Wound, set Sink) {
	var looks []casebook.Dated[casebook.WoundMeasured]
	for i := len(w.Measured) - 1; i >= 0 && len(looks) < 2; i-- {
		if looked(w.Measured[i].Body) {
			looks = append(looks, w.Measured[i])
		}
	}
	if len(looks) < 2 {
		return
	}
	now, was := looks[0], looks[1]
	by := []string{was.ID, now.ID}
	newTunnels, more := []string{}, []string{}
	for _, t := range now.Body.Tunnels {
		old, ok := sameUnder(t, was.Body.Tunnels)
		switch {
		case !ok:
			newTunnels = append(newTunnels, underWords("a tunnel", t))
		case t.DepthCm-old.DepthCm >= deeperCm:
			more = append(more, underWords("a tunnel", t)+", "+unit.Number(old.DepthCm, 1)+" cm before")
		}
	}
	for _, u := range now.Body.Undermining {
		old, ok := sameUnder(u, was.Body.Undermining)
		switch {
		case !ok:
			more = append(more, underWords("undermining", u)+", not there before")
		case u.DepthCm-old.DepthCm >= deeperCm:
			more = append(more, underWords("undermining", u)+", "+unit.Number(old.DepthCm, 1)+" cm before")
		}
	}
	set("wound.tunnel_new", strings.Join(newTunnels, "; "), by...)
	set("wound.under_more", strings.Join(more, "; "), by...)
	set("wound.under_at", now.At, by...)
}

// sameUnder finds what was at the same hour of the clock.
func sameUnder(u casebook.Under, list []casebook.Under) (casebook.Under, bool) {
	for _, x := range list {
		d := math.Abs(u.FromClock - x.FromClock)
		if min(d, 12-d) <= clockSame {
			return x, true
		}
	}
	return casebook.Under{}, false
}

func underWords(what string, u casebook.Under) string {
	return fmt.Sprintf("%s at %s o'clock, %s cm", what, unit.Number(u.FromClock, 1), unit.Number(u.DepthCm, 1))
}

// hourFacts says how much came within an hour by the newest reading: of all earlier readings of the same running total, the
// one that tells most. Over less than an hour nothing is made larger, so that the rounding of readings is not either.
func hourFacts(k Canister, set Sink) {
	n := len(k.Collected)
	if n < 2 {
		return
	}
	b := k.Collected[n-1]
	most, from := 0.0, Collected{}
	for _, a := range k.Collected[:n-1] {
		if a.Segment != b.Segment || !a.At.Before(b.At) {
			continue
		}
		if v := (b.ML - a.ML) / max(1, b.At.Sub(a.At).Hours()); v > most {
			most, from = v, a
		}
	}
	if most == 0 {
		return
	}
	set("fluid.hour_mL", most, from.Entry, b.Entry)
	set("fluid.hour_words", unit.Volume(b.ML-from.ML).String()+" in "+spanWords(b.At.Sub(from.At)), from.Entry, b.Entry)
	set("fluid.hour_at", b.At, from.Entry, b.Entry)
}

// spanWords prints a time between two readings.
func spanWords(d time.Duration) string {
	if d < 2*time.Hour {
		return fmt.Sprintf("%.0f minutes", d.Minutes())
	}
	return unit.Number(d.Hours(), 1) + " h"
}
