package healing

import "math"

// leastFall is the fall over fallWk below which a measure counts as not improving: leastShare of the published mean
// fall under NPWT over two weeks (Dunn 2011: area 8.3 %, depth 15.8 %, volume 20.5 % a week), as shares:
// 1-(1-0.083)² = 0.159, 1-(1-0.158)² = 0.291, 1-(1-0.205)² = 0.368.
var leastFall = map[Measure]float64{
	Area:   (1 - 0.917*0.917) * leastShare,
	Depth:  (1 - 0.842*0.842) * leastShare,
	Volume: (1 - 0.795*0.795) * leastShare,
}

// fallWk is the time over which leastFall is stated, weeks; other windows are judged at the same rate.
const fallWk = 2.0

// leastShare is our choice: of invented wounds more than four in five true stalls are then called within three visits, and
// fewer than one in ten wounds is called wrongly at any visit while it heals (docs/model/healing.md, Measured).
const leastShare = 0.39

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
	k := -math.Log1p(-leastFall[f.Measure]) / fallWk * f.WindowWk
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
	if c.cfg.scale == onLog {
		mean := m[stX] - m[stRef] - d
		v := p[stX][stX] + p[stRef][stRef] - 2*p[stX][stRef]
		return normalCDF(mean / math.Sqrt(math.Max(v, 1e-12)))
	}
	q := math.Exp(c.cfg.scale.exponent(power) * d)
	mean := m[stX] - q*m[stRef]
	v := p[stX][stX] + q*q*p[stRef][stRef] - 2*q*p[stX][stRef]
	return normalCDF(mean / math.Sqrt(math.Max(v, 1e-12)))
}

// courses are the ways in which area and depth can go together, with the chance of each before the sizes are seen:
// both stop; the bed rises while the area stands (usual under NPWT: Dunn 2011, Ahmed 2019); the area falls while the
// bed stands; both fall. The chances are our choice. A volume falls when either falls.
var courses = [...]struct {
	chance      float64
	area, depth bool // improving
}{{0.36, false, false}, {0.14, false, true}, {0.06, true, false}, {0.44, true, true}}

// notImproving joins the measures: a wound is not improving when none of them is (eq. 19). Each measure's chance is
// turned back into the weight of its evidence by its own prior, and the evidence is summed over courses.
func notImproving(all []MeasureProgress) (not, growing float64) {
	has := map[Measure]bool{}
	for _, p := range all {
		has[p.Measure] = true
		growing = math.Max(growing, p.Growing)
	}
	improves := func(m Measure, area, depth bool) bool {
		switch m {
		case Area:
			return area
		case Depth:
			return depth
		}
		return area || depth
	}
	prior := map[Measure]float64{}
	for _, c := range courses {
		for m := range has {
			if !improves(m, c.area, c.depth) {
				prior[m] += c.chance
			}
		}
	}
	yes, total := 0.0, 0.0
	for _, c := range courses {
		w, any := c.chance, false
		for _, p := range all {
			if improves(p.Measure, c.area, c.depth) {
				w *= (1 - p.NotImproving) / (1 - prior[p.Measure])
				any = true
			} else {
				w *= p.NotImproving / prior[p.Measure]
			}
		}
		total += w
		if !any {
			yes += w
		}
	}
	if !(total > 0) {
		// the measures contradict each other beyond any course: the most hopeful one does not hide the others
		for _, p := range all {
			not = math.Max(not, p.NotImproving)
		}
		return not, growing
	}
	return yes / total, growing
}
