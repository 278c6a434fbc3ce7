package main

import (
	"fmt"
	"math"
	"sync"

	"lowtide/outline"
	"lowtide/outline/painted"
)

type named struct {
	name  string
	paint painted.Painter
}

func painters(held bool) []named {
	p := []named{{"pigment", painted.Pigment}, {"palette", painted.Palette}, {"hard", painted.Hard}}
	if held {
		p = append(p, named{"held back", painted.Held}, named{"room", painted.Room})
	}
	return p
}

// try is one painted wound with what came of its loop.
type try struct {
	painter, tone, texture, glare, size string

	loop, refined float64 // Dice
	areaErr       float64 // ln(found area / true area)
	se            float64 // stated, share of area
	sharesErr     float64 // mean absolute error of the four shares, percent points
	status        string
}

// tries refines n loops of every painter, two at a time; the order of the result does not depend on the timing.
func tries(from []named, n, side int, seed uint64) []try {
	all := make([]try, len(from)*n)
	var wait sync.WaitGroup
	for worker := range 2 {
		wait.Add(1)
		go func() {
			defer wait.Done()
			for i := worker; i < len(all); i += 2 {
				all[i] = once(from[i/n], seed+uint64(i%n), side)
			}
		}()
	}
	wait.Wait()
	return all
}

func once(p named, seed uint64, side int) try {
	s := p.paint(seed, side)
	loop := points(s.Loop)
	t, err := outline.Refine(s.Image, loop)
	if err != nil {
		return try{painter: p.name, status: err.Error(), loop: painted.Dice(painted.Fill(s.Loop, side, side), s.Mask)}
	}
	found := fill(t, side)
	r := try{
		painter: p.name, tone: fmt.Sprintf("skin tone %d", s.Tone), texture: s.Texture, glare: "no glare",
		size: "share below 1 %", status: t.Status, se: t.EdgeSE,
		loop:    painted.Dice(painted.Fill(s.Loop, side, side), s.Mask),
		refined: painted.Dice(found, s.Mask),
		areaErr: math.Log(float64(count(found)) / float64(count(s.Mask))),
	}
	if s.Glare {
		r.glare = "glare"
	}
	if s.Share > 0.01 {
		r.size = "share 1 to 3 %"
	}
	if s.Share > 0.03 {
		r.size = "share above 3 %"
	}
	if sh, err := outline.SuggestShares(s.Image, t); err == nil {
		r.sharesErr = sharesError(sh, s)
	}
	return r
}

// sharesError compares the suggested shares, glare left out, with the painted tissue within the true mask.
func sharesError(sh outline.Shares, s painted.Scene) float64 {
	var want [4]float64
	n := 0.0
	for _, t := range s.Tissue {
		if t != painted.Outside {
			want[t-painted.Granulation]++
			n++
		}
	}
	seen := math.Max(1, 100-sh.HiddenPercent) / 100
	sum := 0.0
	for k, v := range []float64{sh.GranulationPercent, sh.SloughPercent, sh.EscharPercent, sh.EpitheliumPercent} {
		sum += math.Abs(v/seen-100*want[k]/n) / 4
	}
	return sum
}

func points(from []painted.Point) []outline.Point {
	out := make([]outline.Point, len(from))
	for i, p := range from {
		out[i] = outline.Point(p)
	}
	return out
}

func fill(t outline.Traced, side int) []bool {
	ring := func(from []outline.Point) []painted.Point {
		out := make([]painted.Point, len(from))
		for i, p := range from {
			out[i] = painted.Point(p)
		}
		return out
	}
	var holes [][]painted.Point
	for _, h := range t.Holes {
		holes = append(holes, ring(h))
	}
	return painted.Fill(ring(t.Outer), side, side, holes...)
}

func count(m []bool) int {
	n := 0
	for _, v := range m {
		if v {
			n++
		}
	}
	return n
}
