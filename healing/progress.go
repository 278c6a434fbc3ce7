package healing

import "math"

// leastFall is the fall over two weeks below which a measure counts as not improving: a third of the published mean
// fall under NPWT over two weeks (Dunn 2011: area 8.3 %, depth 15.8 %, volume 20.5 % a week), as shares:
// 1-(1-0.083)² = 0.159, 1-(1-0.158)² = 0.291, 1-(1-0.205)² = 0.368, each divided by three. The third is our choice.
var leastFall = map[Measure]float64{
	Area:   (1 - 0.917*0.917) / 3,
	Depth:  (1 - 0.842*0.842) / 3,
	Volume: (1 - 0.795*0.795) / 3,
}

// MeasureProgress is what one measure says about the judged window.
type MeasureProgress struct {
	Measure Measure `json:"measure"`
	// NotImproving is the chance that the measure fell by less than LeastFall over the window.
	NotImproving float64 `json:"chance_not_improving"`
	// Growing is the chance that it grew at all.
	Growing float64 `json:"chance_growing"`
	// LeastFall is the share of the size that counts as improving, for this window.
	LeastFall float64 `json:"least_fall"`
}

// Progress returns what the fit says about the window that ends at its last reading (eq. 18).
func (f *Fit) Progress() MeasureProgress {
	k := -math.Log1p(-leastFall[f.Measure]) / judgedWk * f.WindowWk
	out := MeasureProgress{Measure: f.Measure, LeastFall: -math.Expm1(-k)}
	for i := range f.components {
		c := &f.components[i]
		out.NotImproving += c.weight * c.exceeds(-k, f.power)
		out.Growing += c.weight * c.exceeds(0, f.power)
	}
	out.NotImproving = math.Min(1, out.NotImproving)
	out.Growing = math.Min(1, out.Growing)
	return out
}

// exceeds is the chance that the logarithm of the measure changed by more than d over the window.
func (c *component) exceeds(d, power float64) float64 {
	m, p := &c.state.mean, &c.state.cov
	if !c.cfg.root {
		mean := m[stX] - m[stRef] - d
		v := p[stX][stX] + p[stRef][stRef] - 2*p[stX][stRef]
		return normalCDF(mean / math.Sqrt(math.Max(v, 1e-12)))
	}
	q := math.Exp(power * d)
	mean := m[stX] - q*m[stRef]
	v := p[stX][stX] + q*q*p[stRef][stRef] - 2*q*p[stX][stRef]
	return normalCDF(mean / math.Sqrt(math.Max(v, 1e-12)))
}

// notImproving joins the measures: a wound is not improving when none of them is. Depth and volume of one wound move
// together, so that the chances are not multiplied: the measure that speaks most clearly for improvement decides
// (the upper bound of the joint chance, eq. 19: the bound that cannot hide a stall).
func notImproving(all []MeasureProgress) (not, growing float64) {
	not, growing = 1, 0
	for _, p := range all {
		not = math.Min(not, p.NotImproving)
		growing = math.Max(growing, p.Growing)
	}
	return not, growing
}
