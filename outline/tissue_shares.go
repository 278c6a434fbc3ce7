package outline

import (
	"image"
	"math"
	"sort"
)

// Shares are suggested parts of a wound's area by colour, in percent of the outlined area; they add up to 100.
type Shares struct {
	GranulationPercent float64 `json:"granulation_percent"`
	SloughPercent      float64 `json:"slough_percent"`
	EscharPercent      float64 `json:"eschar_percent"`
	EpitheliumPercent  float64 `json:"epithelium_percent"`
	// HiddenPercent lies under highlights, where there is no colour to judge.
	HiddenPercent float64 `json:"hidden_percent"`
	// Words says that this is a suggestion and how far such shares can be trusted.
	Words string `json:"words"`
}

// SharesCaution goes with every suggestion of tissue shares.
//
// Source: landa-2016-photo (Int Wound J 13:619-624; shared facts 5.10): 20 wounds, between raters ICC granulation .76
// with a smallest detectable change of 19.1 points, slough .67 with 19.9 points, necrosis .22.
const SharesCaution = "A suggestion from colour: check it against the wound. Even people agree poorly on such shares " +
	"(granulation .76, slough .67, black tissue .22, where 1 is full agreement); a change below 20 points means nothing."

// SuggestShares sorts the pixels within an outline by colour: dark and without colour is eschar, red is granulation,
// what is as light as the skin beside it and near to it in colour along the rim is epithelium, everything else
// (yellow, tan, grey, pale) is slough (equation 10 in docs/model/edges.md). Lightness is judged against the brighter
// of bed and skin, so that a dark photo is not full of eschar.
//
// It is never entered unless a person says so: colours of light and camera are not corrected, bone, tendon, fat,
// blood, dressing and dye are taken for one of the four. The error is a *Refusal for an unusable outline.
//
// Source: own rule. Checked: painted wounds (go run ./evidence/cmd/edges), which are not real ones.
func SuggestShares(img image.Image, t Traced) (Shares, error) {
	kept, no := checkLoop(img.Bounds(), t.Outer)
	if no != nil {
		return Shares{}, no
	}
	p, no := newPlot(img, kept)
	if no != nil {
		return Shares{}, no
	}
	for i, off := range p.off {
		p.loop[i] = p.loop[i] && !off
	}
	for _, h := range t.Holes {
		ring := make([]Point, 0, len(h))
		for _, q := range h {
			if math.IsNaN(q.X+q.Y) || math.IsInf(q.X+q.Y, 0) {
				return Shares{}, refuse(LoopPoor, "Draw the island again.", "An island has a point that is not a number.")
			}
			ring = append(ring, p.toWork(q))
		}
		if len(ring) < 3 {
			continue
		}
		for i, in := range fillLoops(p.w, p.h, true, ring) {
			p.loop[i] = p.loop[i] && !in
		}
	}
	return p.shares(), nil
}

func (p *plot) shares() Shares {
	var lab [3][]float32
	for k := range lab {
		lab[k] = blur(p.lab[k], p.w, p.h, 0.8)
	}
	skin := p.skinColour(&lab)
	var light []float64
	for i, in := range p.loop {
		if in && p.shine[i] < 0.5 {
			light = append(light, float64(lab[0][i]))
		}
	}
	s := Shares{Words: SharesCaution}
	if len(light) == 0 {
		s.HiddenPercent = 100
		return s
	}
	sort.Float64s(light)
	bright := math.Max(skin[0], light[len(light)*9/10])
	dark := math.Min(32, math.Max(14, 0.48*bright))
	total, counts := 0.0, [5]float64{}
	for i, in := range p.loop {
		if !in {
			continue
		}
		total++
		if p.shine[i] >= 0.5 {
			counts[4]++
			continue
		}
		counts[tissueOf(float64(lab[0][i]), float64(lab[1][i]), float64(lab[2][i]), skin, dark, float64(p.depth[i]) < 0.3*p.radius)]++
	}
	pc := func(k int) float64 { return 100 * counts[k] / total }
	s.GranulationPercent, s.SloughPercent, s.EscharPercent, s.EpitheliumPercent, s.HiddenPercent = pc(0), pc(1), pc(2), pc(3), pc(4)
	return s
}

// tissueOf is 0 granulation, 1 slough, 2 eschar, 3 epithelium.
func tissueOf(l, a, b float64, skin [3]float64, dark float64, rim bool) int {
	chroma, hue := math.Hypot(a, b), math.Atan2(b, a)*180/math.Pi
	redder := a - skin[1]
	near := math.Sqrt((l-skin[0])*(l-skin[0])/4 + redder*redder + (b-skin[2])*(b-skin[2]))
	switch {
	case l < dark && chroma < 20:
		return 2
	case rim && near < 13 && l > skin[0]-12 && redder > -2:
		return 3
	case a > 17 && hue < 50:
		return 0
	}
	return 1
}

// skinColour is the median colour beside the outline.
func (p *plot) skinColour(lab *[3][]float32) (skin [3]float64) {
	for k := range skin {
		var v []float64
		for i, d := range p.depth {
			if d := float64(d); d < -0.08*p.radius && d > -0.5*p.radius && !p.blank[i] {
				v = append(v, float64(lab[k][i]))
			}
		}
		if len(v) > 0 {
			sort.Float64s(v)
			skin[k] = v[len(v)/2]
		}
	}
	return skin
}
