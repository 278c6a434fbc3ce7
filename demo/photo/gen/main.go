// Command gen paints the demo's photos and measures what is drawn on them. Run it from the top of the tree:
//
//	go run ./demo/photo/gen
//
// Every wound, skin and photo is invented. The outlines in outlines.json are those of the program for the painted edge,
// so that the demo shows nothing that the program would not say of the same photo.
package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"math"
	"os"
	"path/filepath"

	"lowtide/casebook"
	"lowtide/evidence/scene"
	"lowtide/outline"
	"lowtide/state"
)

// plan is one photo: the wound's radius by clock hour, where the camera stands, and whether somebody outlined it.
type plan struct {
	name    string
	seed    uint64
	radius  func(clock float64) float64
	skin    [3]float64
	tiltDeg float64
	rollDeg float64
	traced  bool
}

var (
	light = [3]float64{222, 178, 150}
	brown = [3]float64{150, 104, 78}
	dark  = [3]float64{96, 66, 50}
)

// wavy is an uneven round edge; from two to four o'clock it keeps to still, if that is larger.
func wavy(r, still float64) func(float64) float64 {
	return func(clock float64) float64 {
		t := clock / 6 * math.Pi
		out := r * (1 + 0.06*math.Cos(2*t+0.4) + 0.04*math.Cos(3*t+2))
		in := math.Max(0, math.Min(1, math.Min((clock-1.2)/0.6, (4.8-clock)/0.6)))
		return math.Max(out, out+(still*(1+0.06*math.Cos(2*t+0.4)+0.04*math.Cos(3*t+2))-out)*in)
	}
}

var plans = []plan{
	{"edge-1", 11, wavy(2.3, 2.3), brown, 8, 4, true},
	{"edge-2", 12, wavy(1.85, 2.3), brown, 12, -6, true},
	{"first", 13, wavy(2.0, 2.0), light, 10, 3, true},
	{"old", 14, wavy(1.7, 1.7), dark, 6, -3, true},
	{"waits", 15, wavy(1.75, 1.75), dark, 9, 5, false},
}

// moles are two marks on the skin, in cm from the wound's middle.
var moles = []outline.Point{{X: -4.6, Y: -1.1}, {X: 4.5, Y: 1.3}}

func main() {
	out := map[string]any{}
	for _, p := range plans {
		raw, edge, marks := p.paint()
		if len(raw) > 60_000 {
			fail(fmt.Errorf("%s has %d bytes", p.name, len(raw)))
		}
		if err := os.WriteFile(filepath.Join("demo", "photo", p.name+".jpg"), raw, 0o644); err != nil {
			fail(err)
		}
		kept, w, h, no := state.CleanPhoto(raw)
		if no != nil {
			fail(no)
		}
		about := casebook.PhotoTaken{Wound: "A", WidthPx: w, HeightPx: h, Head: "top"}
		if !p.traced {
			out[p.name] = map[string]any{"photo": about}
			continue
		}
		sizes := state.MeasureDrawn(kept, about, state.Drawn{Parts: []state.DrawnPart{{Wound: "A", Edge: edge}}, Marks: marks})
		if sizes.Refused != nil {
			fail(sizes.Refused)
		}
		fmt.Printf("%s: %d bytes, %.2f cm² ± %.2f\n", p.name, len(raw), sizes.Wounds[0].Entry.AreaCm2, sizes.Wounds[0].Entry.AreaSECm2)
		out[p.name] = map[string]any{"photo": about, "outline": sizes.Wounds[0].Entry}
	}
	text, err := json.MarshalIndent(out, "", " ")
	if err == nil {
		err = os.WriteFile(filepath.Join("demo", "photo", "outlines.json"), append(text, '\n'), 0o644)
	}
	if err != nil {
		fail(err)
	}
}

func fail(err error) {
	fmt.Fprintln(os.Stderr, "gen:", err)
	os.Exit(1)
}

// paint makes the photo, the wound's edge and the marks in its pixels.
func (p plan) paint() (raw []byte, edge, marks [][2]float64) {
	s := scene.Scene{Skin: p.skin, Flesh: [3]float64{168, 44, 42}, Light: 0.95, FallX: 0.12, FallY: -0.1, NoiseSD: 1.2, BlurPx: 0.7, JPEG: 95, Seed: p.seed, Paper: 230, Ink: 30, Grain: 0.02}
	s.Camera = scene.Camera{WidthPx: 1040, HeightPx: 860, FocalPx: 800, DistanceCm: 11.6, TiltDeg: p.tiltDeg, ToDeg: 70, RollDeg: p.rollDeg, K1: 0.01}
	s.Strips = []scene.Strip{{Which: "A", X: 0.1, Y: -4.1, TurnDeg: 2, Print: 1}, {Which: "B", X: -0.1, Y: 4.1, TurnDeg: -1.5, Print: 1}}
	const n = 72
	for i := range n {
		a := 2 * math.Pi * float64(i) / n
		r := p.radius(12 * float64(i) / n)
		s.Wound = append(s.Wound, outline.Point{X: r * math.Sin(a), Y: -r * math.Cos(a)})
	}
	img, err := jpeg.Decode(bytes.NewReader(s.Paint()))
	if err != nil {
		fail(err)
	}
	m := image.NewRGBA(img.Bounds())
	draw.Draw(m, m.Bounds(), img, image.Point{}, draw.Src)
	for _, q := range moles {
		at := s.Camera.See(q.X, q.Y, 0)
		marks = append(marks, [2]float64{math.Round(at.X*10) / 10, math.Round(at.Y*10) / 10})
		spot(m, at.X, at.Y, p.skin)
	}
	for _, q := range s.Loop() {
		edge = append(edge, [2]float64{math.Round(q.X*10) / 10, math.Round(q.Y*10) / 10})
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, m, &jpeg.Options{Quality: 72}); err != nil {
		fail(err)
	}
	return out.Bytes(), edge, marks
}

// spot paints a mole.
func spot(m *image.RGBA, x, y float64, skin [3]float64) {
	for py := int(y) - 8; py <= int(y)+8; py++ {
		for px := int(x) - 8; px <= int(x)+8; px++ {
			if d := math.Hypot(float64(px)+0.5-x, float64(py)+0.5-y); d < 6 {
				f := 0.35 + 0.1*d/6
				m.SetRGBA(px, py, color.RGBA{uint8(skin[0] * f), uint8(skin[1] * f), uint8(skin[2] * f), 255})
			}
		}
	}
}
