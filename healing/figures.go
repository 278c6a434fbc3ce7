package healing

import (
	"math"
	"time"

	"lowtide/unit"
)

// Reduction returns the share of a size that has gone: (first - last) / first. Negative when it grew.
// ok is false when first is not positive.
//
// Definition: percent area reduction as in Sheehan 2003 (Diabetes Care 26:1879), as a share.
func Reduction(first, last float64) (share float64, ok bool) {
	if !(first > 0) || !finite(last) || math.IsInf(first, 0) {
		return 0, false
	}
	return (first - last) / first, true
}

// LinearAdvance returns how far the edge moved inward, cm, and its rate in cm a week:
//
//	d = (A1 - A2) / ((p1 + p2) / 2)    (eq. 13)
//
// areas in cm², perimeters in cm, weeks > 0. ok is false when the mean perimeter or weeks is not positive.
//
// Source: Gilman 1990 (Wounds 2:95), as printed in Kecelj Leskovec 2008 (Wound Repair Regen 16:507).
func LinearAdvance(a1, p1, a2, p2, weeks float64) (cm, cmPerWk float64, ok bool) {
	mean := (p1 + p2) / 2
	if !(mean > 0) || !(weeks > 0) || !finite(a1) || !finite(a2) {
		return 0, 0, false
	}
	d := (a1 - a2) / mean
	return d, d / weeks, true
}

// VerticalAdvance is the same for volume: how far the bed rose, cm a week:
//
//	h = (V1 - V2) / ((A1 + A2) / 2) / weeks    (eq. 14)
//
// Source: Kecelj Leskovec 2008 (Wound Repair Regen 16:507).
func VerticalAdvance(v1, a1, v2, a2, weeks float64) (cmPerWk float64, ok bool) {
	_, rate, ok := LinearAdvance(v1, a1, v2, a2, weeks)
	return rate, ok
}

// DecayConstant returns k = ln(A1/A2) / weeks, per week (eq. 15); ok is false unless both sizes and weeks are positive.
//
// Source: letter on Dermatol Surg 1997;23:1219 in Wounds 2003.
func DecayConstant(a1, a2, weeks float64) (perWk float64, ok bool) {
	if !(a1 > 0) || !(a2 > 0) || !(weeks > 0) || math.IsInf(a1, 0) || math.IsInf(a2, 0) {
		return 0, false
	}
	return math.Log(a1/a2) / weeks, true
}

// CirclePerimeter is that of a circle of the given area: the shortest edge an area can have, so that an advance
// computed with it is the most that it can have been.
func CirclePerimeter(area float64) float64 { return 2 * math.Sqrt(math.Pi*area) }

// Figures are plain values between the first and the last size; nil where the sizes do not give them.
type Figures struct {
	From  *time.Time `json:"from"`
	To    *time.Time `json:"to"`
	Weeks *float64   `json:"weeks"`
	// AreaReduction, DepthReduction and VolumeReduction are shares of the first size; 0.5 is half.
	AreaReduction   *float64 `json:"area_reduction"`
	DepthReduction  *float64 `json:"depth_reduction"`
	VolumeReduction *float64 `json:"volume_reduction"`
	// AreaReduction14d is over the last two weeks, between sizes that lie 10 to 18 days apart.
	AreaReduction14d *float64 `json:"area_reduction_14_days"`
	LinearAdvanceCm  *float64 `json:"linear_advance_cm"`
	LinearAdvance    *float64 `json:"linear_advance_cm_wk"`
	// PerimeterFrom says how the perimeter was had.
	PerimeterFrom   string   `json:"perimeter_from,omitempty"`
	VerticalAdvance *float64 `json:"vertical_advance_cm_wk"`
	DecayPerWk      *float64 `json:"decay_constant_per_wk"`
	// DecayFitPerWk is the decay constant of a least-squares exponential through all areas, with its standard error.
	DecayFitPerWk   *float64 `json:"decay_constant_fit_per_wk"`
	DecayFitSEPerWk *float64 `json:"decay_constant_fit_se_per_wk"`
	HalvingDays     *float64 `json:"halving_days"`
	DoublingDays    *float64 `json:"doubling_days"`
}

// figures computes them from cleaned sizes; area, depth and volume each from their own first and last value.
func figures(s *series) Figures {
	var f Figures
	if len(s.sizes) == 0 {
		return f
	}
	f.DepthReduction = reductionOf(s, Depth)
	f.VolumeReduction = reductionOf(s, Volume)
	areas := s.with(Area)
	if len(areas) < 2 {
		return f
	}
	a, b := areas[0], areas[len(areas)-1]
	wk := weeksBetween(a.At, b.At)
	if !(wk > 0) {
		return f
	}
	f.From, f.To, f.Weeks = &a.At, &b.At, &wk
	f.AreaReduction = reductionOf(s, Area)
	f.AreaReduction14d = recentReduction(areas)
	a1, a2 := *a.AreaCm2, *b.AreaCm2
	e1, p1, from1 := edge(a, b)
	e2, p2, from2 := edge(b, a)
	if d, rate, ok := LinearAdvance(e1, p1, e2, p2, wk); ok {
		f.LinearAdvanceCm, f.LinearAdvance, f.PerimeterFrom = &d, &rate, from1
		if from1 != from2 {
			f.PerimeterFrom = from1 + "; " + from2
		}
	}
	if k, ok := DecayConstant(a1, a2, wk); ok {
		f.DecayPerWk = &k
		days := math.Abs(math.Ln2 / k * 7)
		switch {
		case days > 36500:
		case k > 0:
			f.HalvingDays = &days
		case k < 0:
			f.DoublingDays = &days
		}
	}
	if k, se, ok := decayFit(areas); ok {
		f.DecayFitPerWk, f.DecayFitSEPerWk = &k, &se
	}
	f.VerticalAdvance = verticalOf(s)
	return f
}

func reductionOf(s *series, m Measure) *float64 {
	v := s.with(m)
	if len(v) < 2 || !v[len(v)-1].At.After(v[0].At) {
		return nil
	}
	if r, ok := Reduction(*m.of(v[0]), *m.of(v[len(v)-1])); ok {
		return &r
	}
	return nil
}

func recentReduction(areas []Size) *float64 {
	b := areas[len(areas)-1]
	var best *Size
	for i := range areas {
		days := b.At.Sub(areas[i].At).Hours() / 24
		if days >= 10 && days <= 18 && (best == nil || math.Abs(days-14) < math.Abs(b.At.Sub(best.At).Hours()/24-14)) {
			best = &areas[i]
		}
	}
	if best == nil {
		return nil
	}
	if r, ok := Reduction(*best.AreaCm2, *b.AreaCm2); ok {
		return &r
	}
	return nil
}

func verticalOf(s *series) *float64 {
	var both []Size
	for _, z := range s.sizes {
		if z.AreaCm2 != nil && z.VolumeCm3 != nil {
			both = append(both, z)
		}
	}
	if len(both) < 2 {
		return nil
	}
	a, b := both[0], both[len(both)-1]
	if h, ok := VerticalAdvance(*a.VolumeCm3, *a.AreaCm2, *b.VolumeCm3, *b.AreaCm2, weeksBetween(a.At, b.At)); ok {
		return &h
	}
	return nil
}

// edge is the area and the perimeter of s as they go into the advance of the edge from or to other; both are on one scale.
// Two sizes by ruler are taken as the ruler reads them, area and perimeter of the ellipse over length and width, so that the
// advance is that of the published formula. A ruler's size beside one of another method is brought to the scale of a traced
// outline, its perimeter with the root of the area's factor.
func edge(s, other Size) (areaCm2, cm float64, from string) {
	cm, from = perimeter(s)
	m, _ := MethodOf(s.Method)
	n, _ := MethodOf(other.Method)
	if from != fromEllipse || m.Factor == 1 {
		return *s.AreaCm2, cm, from
	}
	read := math.Pi / 4 * *s.LengthCm * *s.WidthCm
	if m.group == n.group && n.Factor != 1 {
		return read, cm, from
	}
	return *s.AreaCm2, cm * math.Sqrt(*s.AreaCm2/read), from + ", on the scale of a traced outline"
}

// fromEllipse says that a perimeter was worked out from length and width.
const fromEllipse = "ellipse of length and width"

// perimeter returns the edge of a size: measured, of an ellipse, or of a circle.
func perimeter(s Size) (cm float64, from string) {
	switch {
	case s.PerimeterCm != nil && *s.PerimeterCm > 0:
		return *s.PerimeterCm, "measured"
	case s.LengthCm != nil && s.WidthCm != nil && *s.LengthCm > 0 && *s.WidthCm > 0:
		return float64(unit.EllipsePerimeter(unit.Length(*s.LengthCm), unit.Length(*s.WidthCm))), fromEllipse
	}
	return CirclePerimeter(*s.AreaCm2), "circle of the same area, the shortest edge possible"
}

// decayFit fits A = a·exp(-k t) by least squares to at least three areas.
func decayFit(areas []Size) (perWk, se float64, ok bool) {
	var t, y []float64
	for _, s := range areas {
		t = append(t, weeksBetween(areas[0].At, s.At))
		y = append(y, *s.AreaCm2)
	}
	if len(y) < 3 || !(t[len(t)-1] > 0) || !(y[0] > 0) {
		return 0, 0, false
	}
	k0, _ := DecayConstant(y[0], math.Max(y[len(y)-1], 0.01*y[0]), t[len(t)-1])
	r := LeastSquares(func(b []float64, i int) float64 { return b[0] * math.Exp(-b[1]*t[i]) }, y, []float64{y[0], k0}, LeastSquaresOptions{})
	if r.Status != Converged || !finite(r.Params[1]) || !finite(r.StdErr[1]) {
		return 0, 0, false
	}
	return r.Params[1], r.StdErr[1], true
}

func weeksBetween(a, b time.Time) float64 { return b.Sub(a).Hours() / (24 * 7) }

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
