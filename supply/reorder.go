package supply

import (
	"cmp"
	"math"
	"slices"
	"time"
)

// Lead is what ordering takes: the time from the order to the shelf in days, and the service level, the share of
// deliveries before which nothing runs out (0.5 to below 1).
type Lead struct {
	Days, SDDays float64
	Service      float64
}

// Reorder is when to order.
type Reorder struct {
	// Use is what is expected to be used in the lead time, Safety what is held beyond it; Point is both.
	Use, Safety, Point float64
	Z                  float64
}

// ReorderPoint is the stock at which to order:
//
//	Point = d·L + z·sqrt(L·σd² + d²·σL²)      (eq. 7)
//
// perDay and varPerDay are the mean and the variance of the use of one day. Nothing is expected to be used: the point
// is 0. Source: Silver, Pyke, Thomas, Inventory and Production Management in Supply Chains, ch. 6 (from memory).
func ReorderPoint(perDay, varPerDay float64, l Lead) Reorder {
	if !(perDay > 0) || !(l.Days > 0) || !(l.Service > 0 && l.Service < 1) {
		return Reorder{}
	}
	r := Reorder{Use: perDay * l.Days, Z: Z(l.Service)}
	r.Safety = r.Z * math.Sqrt(l.Days*varPerDay+perDay*perDay*l.SDDays*l.SDDays)
	r.Point = r.Use + r.Safety
	return r
}

// Lot is stock that expires together. Expires is the day (at midnight UTC) from which it may not be used any more;
// the zero time is not known.
type Lot struct {
	Lot     string
	Expires time.Time
	Count   int
}

// Expired tells whether a lot may not be used on a day. On the day that is printed as "use before" it may not.
func (l Lot) Expired(day time.Time) bool { return !l.Expires.IsZero() && !day.Before(l.Expires) }

// Remainder is what of a lot is left on the day it expires.
type Remainder struct {
	Lot
	Left int
}

// Left tells what will expire unused: lots are used in order of expiry at perDay (eq. 8). Lots without a date are
// used last and never left. lots is not modified; those already expired on today are left out.
func Left(lots []Lot, perDay float64, today time.Time) []Remainder {
	sorted := slices.DeleteFunc(slices.Clone(lots), func(l Lot) bool { return l.Expires.IsZero() || l.Expired(today) || l.Count <= 0 })
	slices.SortStableFunc(sorted, func(a, b Lot) int {
		return cmp.Or(a.Expires.Compare(b.Expires), cmp.Compare(a.Lot, b.Lot))
	})
	var out []Remainder
	held, gone := 0.0, 0.0
	for _, l := range sorted {
		held += float64(l.Count)
		used := max(0, perDay) * l.Expires.Sub(today).Hours() / 24
		left := int(math.Floor(held - gone - used + 1e-9))
		if left = min(left, l.Count); left > 0 {
			out = append(out, Remainder{l, left})
			gone += float64(left)
		}
	}
	return out
}
