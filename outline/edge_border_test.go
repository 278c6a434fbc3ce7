package outline

import (
	"errors"
	"math"
	"testing"

	"lowtide/outline/painted"
)

// TestRefineOverTheBorder: a disc that is cut off by the picture's border is found up to the border, whether the loop
// leaves the picture or was cut off there, also with the last pixel's centre as the limit; the outline stays on it.
func TestRefineOverTheBorder(t *testing.T) {
	const w, h, r = 240, 180, 50.0
	for name, c := range map[string]Point{"left": {12, 90}, "right": {230, 80}, "top": {120, 5}, "corner": {225, 170}} {
		img := disc(w, h, c.X, c.Y, r)
		truth := make([]bool, w*h)
		for i := range truth {
			truth[i] = math.Hypot(float64(i%w)+0.5-c.X, float64(i/w)+0.5-c.Y) < r
		}
		whole := circle(c.X+4, c.Y-3, 1.3*r, 40)
		cut, inner := make([]Point, len(whole)), make([]Point, len(whole))
		for i, p := range whole {
			cut[i] = Point{math.Min(math.Max(p.X, 0), w), math.Min(math.Max(p.Y, 0), h)}
			inner[i] = Point{math.Min(math.Max(p.X, 0), w-1), math.Min(math.Max(p.Y, 0), h-1)}
		}
		for how, loop := range map[string][]Point{"over the border": whole, "cut off": cut, "cut off a pixel before": inner} {
			got, err := Refine(img, loop)
			if err != nil {
				t.Fatalf("%s, %s: %v", name, how, err)
			}
			for _, p := range got.Outer {
				if p.X < 0 || p.Y < 0 || p.X > w || p.Y > h {
					t.Fatalf("%s, %s: %v is not on the picture", name, how, p)
				}
			}
			if d := painted.Dice(maskOf(got, w, h), truth); d < 0.97 {
				t.Errorf("%s, %s: Dice %.3f", name, how, d)
			}
			if _, err := SuggestShares(img, got); err != nil {
				t.Errorf("%s, %s: %v", name, how, err)
			}
		}
	}
}

// TestRefineOffThePicture: a loop beside the picture is refused in words; one far around all of it is an answer or a
// refusal, never a crash.
func TestRefineOffThePicture(t *testing.T) {
	img := disc(100, 80, 50, 40, 20)
	var no *Refusal
	for name, loop := range map[string][]Point{
		"beside it": circle(400, 40, 30, 20), "far away": circle(-1e5, 3e4, 30, 20), "touching": circle(-29, 40, 30, 20), "a line along it": {{0, 0}, {0, 40}, {0, 80}},
	} {
		if _, err := Refine(img, loop); !errors.As(err, &no) || no.Remedy == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	for name, loop := range map[string][]Point{"around all": circle(50, 40, 500, 20), "its border": {{0, 0}, {100, 0}, {100, 80}, {0, 80}}, "just around": {{-5, -5}, {105, -5}, {105, 85}, {-5, 85}}} {
		got, err := Refine(img, loop)
		if err != nil && !errors.As(err, &no) || err == nil && len(got.Outer) < 3 {
			t.Errorf("%s: %v, %d points", name, err, len(got.Outer))
		}
	}
}
