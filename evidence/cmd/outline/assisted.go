package main

import (
	"errors"
	"fmt"
	"math"
	"os"
	"sort"

	"lowtide/evidence/scene"
	"lowtide/outline"
	"lowtide/outline/painted"
)

// assisted is one painted wound between strips, measured along the edge that the program found from a rough loop.
type assisted struct {
	painter string
	off     float64 // ln of measured area over the truth
	// scale, hand and open are shares of the area: strips and camera; redrawing; what the colours leave open.
	scale, hand, open float64
	se                float64 // as stated
	refused           string
}

// assist paints and measures; the seed decides everything.
func assist(name string, paint painted.Painter, seed uint64) (assisted, error) {
	a := assisted{painter: name}
	s := paint(seed, 400)
	between := scene.Ordinary(seed, 1.5, 30, 2, false)
	for k := uint64(1); between.Room() < 1; k++ { // a wound of a centimetre says little about its edge
		between = scene.Ordinary(seed+k*1_000_000, 1.5, 30, 2, false)
	}
	t := scene.Lay(between, s.Image, s.Mask)
	raw := t.Paint()
	loop := make([]outline.Point, len(s.Loop))
	for i, p := range s.Loop {
		loop[i] = t.See(p.X, p.Y)
	}
	photo, err := outline.ReadPhoto(raw)
	if err != nil {
		return a, err
	}
	var no *outline.Refusal
	plane, _, err := outline.FindStrips(photo.Image, outline.FindOptions{RulerMm: t.RulerMm})
	if errors.As(err, &no) {
		a.refused = string(no.Reason)
		return a, nil
	}
	traced, err := outline.Refine(photo.Image, loop)
	if err != nil {
		return a, err
	}
	m, err := outline.Measure(traced, plane, outline.MeasureOptions{})
	if errors.As(err, &no) {
		a.refused = string(no.Reason)
		return a, nil
	}
	n := 0.0
	for _, in := range s.Mask {
		if in {
			n++
		}
	}
	a.off = math.Log(m.AreaCm2 / (n / (t.PerCm * t.PerCm)))
	bare, err := outline.Measure(outline.Traced{Outer: traced.Outer, Holes: traced.Holes}, plane, outline.MeasureOptions{})
	if err != nil {
		return a, err
	}
	for _, p := range bare.SEParts {
		if p.Name == "re-tracing" {
			a.hand = p.SE / m.AreaCm2
		}
	}
	a.scale = math.Sqrt(math.Max(0, math.Pow(bare.SE/m.AreaCm2, 2)-a.hand*a.hand))
	a.open, a.se = traced.EdgeSE, m.SE/m.AreaCm2
	return a, nil
}

// printAssisted prints how often the standard error covers the truth when the edge was found by the program: as stated,
// with redrawing alone, and with both added in squares.
func printAssisted(n int, seed uint64) {
	fmt.Printf("%-34s %5s %7s %7s %7s %7s %7s | %13s | %13s | %13s\n", "painted wounds between strips", "n", "refused", "median", "p95", "bias", "se", "as stated", "redrawing only", "in squares")
	all := []assisted{}
	for _, p := range []struct {
		name  string
		paint painted.Painter
	}{{"pigment", painted.Pigment}, {"palette", painted.Palette}, {"hard", painted.Hard}, {"held back", painted.Held}, {"room", painted.Room}} {
		var some []assisted
		for i := range n {
			a, err := assist(p.name, p.paint, seed*10_000+uint64(i))
			if err != nil {
				fmt.Fprintln(os.Stderr, "outline:", p.name, i, err)
				os.Exit(1)
			}
			some = append(some, a)
		}
		lineAssisted("  "+p.name, some)
		all = append(all, some...)
	}
	lineAssisted("all", all)
}

func lineAssisted(name string, some []assisted) {
	refused, bias := 0, 0.0
	var off, se []float64
	var in [3][2]float64
	for _, a := range some {
		if a.refused != "" {
			refused++
			continue
		}
		off, se = append(off, 100*math.Abs(a.off)), append(se, 100*a.se)
		bias += 100 * a.off
		for k, s := range [3]float64{a.se, math.Hypot(a.scale, a.hand), math.Sqrt(a.scale*a.scale + a.hand*a.hand + a.open*a.open)} {
			if math.Abs(a.off) <= s {
				in[k][0]++
			}
			if math.Abs(a.off) <= 1.96*s {
				in[k][1]++
			}
		}
	}
	if len(off) == 0 {
		return
	}
	sort.Float64s(off)
	sort.Float64s(se)
	m := float64(len(off))
	fmt.Printf("%-34s %5d %7d %6.2f%% %6.2f%% %+6.2f%% %6.2f%%", name, len(some), refused, off[len(off)/2], off[min(len(off)-1, int(math.Ceil(0.95*m))-1)], bias/m, se[len(se)/2])
	for _, v := range in {
		fmt.Printf(" | %5.2f %6.2f ", v[0]/m, v[1]/m)
	}
	fmt.Println()
}
