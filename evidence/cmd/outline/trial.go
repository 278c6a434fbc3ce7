package main

import (
	"errors"
	"math"
	"sort"

	"lowtide/evidence/scene"
	"lowtide/outline"
)

// trial is one photo, painted and measured.
type trial struct {
	fault   string
	skin    int
	tilt    float64
	refused outline.Reason
	// off is the area's error as a share of the truth, se the stated standard error as such a share.
	off, se float64
	parts   []outline.Part
	area    float64
	quality outline.Quality
	scale   string
}

// measure takes a painted photo the whole way, as the program would. oneLaid is the nurse's statement that only one
// strip was laid, level with the wound.
func measure(d scene.Drawn, oneLaid bool) (trial, error) {
	t := trial{fault: d.Fault, tilt: d.Camera.TiltDeg}
	for i, s := range scene.Skins {
		if s == d.Skin {
			t.skin = i
		}
	}
	refused := func(err error) (trial, error) {
		var r *outline.Refusal
		if !errors.As(err, &r) {
			return t, err
		}
		t.refused = r.Reason
		return t, nil
	}
	photo, err := outline.ReadPhoto(d.Paint())
	if err != nil {
		return refused(err)
	}
	plane, q, err := outline.FindStrips(photo.Image, outline.FindOptions{RulerMm: d.RulerMm, OneLaid: oneLaid})
	t.quality = q
	if err != nil {
		return refused(err)
	}
	m, err := outline.Measure(outline.Traced{Outer: d.Loop()}, plane, outline.MeasureOptions{Exact: true})
	if err != nil {
		return refused(err)
	}
	t.area = outline.Area(d.Wound)
	t.off, t.se = m.AreaCm2/t.area-1, m.SE/t.area
	t.parts, t.scale = m.SEParts, m.Scale
	return t, nil
}

// summary is the table's line over some trials.
type summary struct {
	n, refused        int
	median, p95, most float64 // of the absolute error of the accepted, %
	bias              float64 // mean error, %
	in68, in95        float64 // share within one and 1.96 stated standard errors
	se                float64 // median stated standard error, %
	false10           int     // accepted and off by more than 10 %
}

func sum(all []trial) summary {
	s := summary{n: len(all)}
	var off, se []float64
	for _, t := range all {
		if t.refused != "" {
			s.refused++
			continue
		}
		off = append(off, 100*math.Abs(t.off))
		se = append(se, 100*t.se)
		s.bias += 100 * t.off
		if math.Abs(t.off) <= t.se {
			s.in68++
		}
		if math.Abs(t.off) <= 1.96*t.se {
			s.in95++
		}
		if math.Abs(t.off) > 0.10 {
			s.false10++
		}
	}
	if len(off) == 0 {
		return s
	}
	n := float64(len(off))
	sort.Float64s(off)
	sort.Float64s(se)
	s.median, s.p95, s.most = off[len(off)/2], off[min(len(off)-1, int(math.Ceil(0.95*n))-1)], off[len(off)-1]
	s.bias, s.in68, s.in95, s.se = s.bias/n, s.in68/n, s.in95/n, se[len(se)/2]
	return s
}
