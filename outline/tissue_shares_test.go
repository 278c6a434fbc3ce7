package outline

import (
	"image"
	"image/color"
	"math"
	"testing"
)

// halves paints an oblong wound on skin, its left half of one colour and its right half of another.
func halves(left, right color.RGBA) (*image.RGBA, Traced) {
	img := image.NewRGBA(image.Rect(0, 0, 200, 120))
	for y := range 120 {
		for x := range 200 {
			c := color.RGBA{206, 160, 136, 255}
			if x >= 40 && x < 160 && y >= 35 && y < 85 {
				c = left
				if x >= 100 {
					c = right
				}
			}
			img.SetRGBA(x, y, c)
		}
	}
	return img, Traced{Outer: []Point{{40, 35}, {160, 35}, {160, 85}, {40, 85}}}
}

// TestSuggestShares: two halves of plain colour come out as halves.
func TestSuggestShares(t *testing.T) {
	red, yellow, black := color.RGBA{152, 40, 42, 255}, color.RGBA{196, 170, 104, 255}, color.RGBA{38, 30, 28, 255}
	for _, c := range []struct {
		name        string
		left, right color.RGBA
		want        [3]float64 // granulation, slough, eschar
	}{
		{"red and yellow", red, yellow, [3]float64{50, 50, 0}},
		{"red and black", red, black, [3]float64{50, 0, 50}},
		{"yellow and black", yellow, black, [3]float64{0, 50, 50}},
		{"red", red, red, [3]float64{100, 0, 0}},
	} {
		img, traced := halves(c.left, c.right)
		s, err := SuggestShares(img, traced)
		if err != nil {
			t.Fatal(err)
		}
		for k, got := range []float64{s.GranulationPercent, s.SloughPercent, s.EscharPercent} {
			if math.Abs(got-c.want[k]) > 6 {
				t.Errorf("%s: %+v, want %v", c.name, s, c.want)
				break
			}
		}
		if sum := s.GranulationPercent + s.SloughPercent + s.EscharPercent + s.EpitheliumPercent + s.HiddenPercent; math.Abs(sum-100) > 1e-9 {
			t.Errorf("%s: shares add up to %g", c.name, sum)
		}
		if s.Words != SharesCaution {
			t.Errorf("%s: without its caution", c.name)
		}
	}
}

// TestSharesIsland: what lies in an island of skin is no part of the wound.
func TestSharesIsland(t *testing.T) {
	img, traced := halves(color.RGBA{152, 40, 42, 255}, color.RGBA{38, 30, 28, 255})
	traced.Holes = [][]Point{{{102, 37}, {158, 37}, {158, 83}, {102, 83}}}
	s, err := SuggestShares(img, traced)
	if err != nil {
		t.Fatal(err)
	}
	if s.GranulationPercent < 85 {
		t.Errorf("%+v: want nearly all granulation, the black half is cut out", s)
	}
}

// FuzzSuggestShares: any outline gives shares that add up to 100 or a refusal in words.
// Slow: each run paints a picture of up to 255 by 255 points and looks at every one in the outline.
func FuzzSuggestShares(f *testing.F) {
	f.Add(uint8(50), uint8(50), 5.0, 5.0, 45.0, 8.0, 30.0, 44.0)
	f.Add(uint8(9), uint8(200), -5.0, 1e300, 45.0, 8.0, math.NaN(), 44.0)
	f.Add(uint8(0), uint8(0), 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
	f.Fuzz(func(t *testing.T, w, h uint8, ax, ay, bx, by, cx, cy float64) {
		ring := []Point{{ax, ay}, {bx, by}, {cx, cy}}
		s, err := SuggestShares(disc(int(w), int(h), float64(w)/2, float64(h)/2, 9), Traced{Outer: ring, Holes: [][]Point{ring[:1], {{bx, ay}, {bx, by}, {1, 1}}}})
		if err != nil {
			return
		}
		if sum := s.GranulationPercent + s.SloughPercent + s.EscharPercent + s.EpitheliumPercent + s.HiddenPercent; math.Abs(sum-100) > 1e-6 {
			t.Fatalf("shares %+v add up to %g", s, sum)
		}
	})
}
