package chart

import (
	"html"
	"math"
	"strings"
	"time"

	"lowtide/state"
)

// Small pictures stand in a line of a list. Each says aloud what it shows; the words beside it are for the eye.

// smallPx is the height of every small picture.
const smallPx = 18

// small begins a small picture of the given width.
func small(widthPx float64, aloud string) *svg {
	w := &svg{}
	w.put(`<svg class="small" role="img" viewBox="0 0 `, num(widthPx), ` `, num(smallPx), `" width="`, num(widthPx), `" height="`, num(smallPx), `" aria-label="`, html.EscapeString(aloud), `">`)
	return w
}

func (w *svg) end() string {
	w.put(`</svg>`)
	return w.b.String()
}

// The strip of a day: a line for the pressure of the room, suction below it as far as it was delivered.
const (
	stripPx      = 48
	stripTop     = 2.0
	stripOrdered = 13.0 // the depth of what is ordered, below the top
)

// SuctionStrip draws what suction did in the day up to now: filled below the line while it was on, hatched where nobody
// knows, nothing where it was off. depth is what the pump showed last over what is ordered; 1 is as ordered.
func SuctionStrip(spells []state.SuctionSpell, now time.Time, depth float64, aloud string) string {
	w := small(stripPx, aloud)
	from := now.Add(-24 * time.Hour)
	x := func(t time.Time) float64 { return stripPx * t.Sub(from).Hours() / 24 }
	var on, unknown strings.Builder
	deep := stripOrdered * min(max(depth, 0), 16/stripOrdered)
	for _, s := range spells {
		a, b := x(s.From), x(s.To)
		switch {
		case s.Doing == state.SuctionOn:
			on.WriteString("M" + num(a) + " " + num(stripTop) + "V" + num(stripTop+deep) + "H" + num(b) + "V" + num(stripTop) + "Z")
		case !s.Doing.IsOff():
			for h := a + 1.5; h < b; h += 3 {
				unknown.WriteString("M" + num(h) + " " + num(stripTop) + "V" + num(stripTop+stripOrdered))
			}
		}
	}
	if on.Len() > 0 {
		w.put(`<path fill="`, string(InkWater), `" d="`, on.String(), `"/>`)
	}
	if unknown.Len() > 0 {
		w.put(`<path stroke="`, string(InkSoft), `" stroke-dasharray="1 2" d="`, unknown.String(), `"/>`)
	}
	w.put(`<path stroke="`, string(InkText), `" stroke-width="1.5" d="M0 1.5H48"/><path stroke="`, string(InkSoft), `" stroke-dasharray="2 2" d="M0 `, num(stripTop+stripOrdered), `H48"/></svg>`)
	return w.b.String()
}

// CanisterGauge draws the content of a canister, share of its size; a share below zero is not known.
func CanisterGauge(share float64, aloud string) string {
	w := small(14, aloud)
	if share >= 0 {
		h := 15 * min(share, 1)
		w.put(`<rect x="1.5" width="11" y="`, num(16.5-h), `" height="`, num(h), `" fill="`, string(InkWater), `"/>`)
	}
	w.put(`<path fill="none" stroke="`, string(InkText), `" stroke-width="1.5"`)
	if share < 0 {
		w.put(` stroke-dasharray="2 2"`)
	}
	w.put(` d="M1.5 1V16.5H12.5V1"/>`)
	return w.end()
}

// SizeSquares draws two areas as squares with one corner: what it was in outline, what it is filled.
func SizeSquares(share float64, aloud string) string {
	w := small(smallPx, aloud)
	side := 16.0
	was, is, rim := side, side, InkText
	if share > 1 {
		was, rim = side/math.Sqrt(share), InkPaper
	} else {
		is = side * math.Sqrt(max(share, 0))
	}
	w.put(`<rect x="1" y="`, num(17-is), `" width="`, num(is), `" height="`, num(is), `" fill="`, string(InkWater), `"/><rect x="1" y="`, num(17-was), `" width="`, num(was), `" height="`, num(was), `" fill="none" stroke="`, string(rim), `" stroke-width="1.5" stroke-dasharray="2 2"/>`)
	return w.end()
}
