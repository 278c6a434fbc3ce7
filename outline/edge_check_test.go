package outline

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// TestCheckOpenCVShapelyEdges: areas, perimeters and Dice of refined outlines as independent tools compute them.
// Also: an outline through pixel edges must not under-read the pixels that it covers.
func TestCheckOpenCVShapelyEdges(t *testing.T) {
	const dir = "testdata/ref/opencv-shapely-edges/"
	var scenes []struct {
		Side  int       `json:"side"`
		Outer []Point   `json:"outer"`
		Holes [][]Point `json:"holes"`
		Mask  [][2]int  `json:"mask_runs"`
	}
	var want []struct {
		DiceOpenCV    float64 `json:"dice_opencv"`
		DiceGEOS      float64 `json:"dice_geos"`
		AreaGEOS      float64 `json:"area_geos"`
		AreaOpenCV    float64 `json:"area_opencv"`
		PerimeterGEOS float64 `json:"perimeter_geos"`
		Covered       float64 `json:"covered_opencv"`
	}
	for name, into := range map[string]any{"scenes.json": &scenes, "want.json": &want} {
		raw, err := os.ReadFile(dir + name)
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(raw, into); err != nil {
			t.Fatal(err)
		}
	}
	if len(scenes) < 20 || len(scenes) != len(want) {
		t.Fatalf("%d scenes, %d results", len(scenes), len(want))
	}
	worst := map[string]float64{}
	near := func(i int, what string, got, want, tol float64) {
		t.Helper()
		d := math.Abs(got - want)
		worst[what] = math.Max(worst[what], d)
		if !(d <= tol) {
			t.Errorf("scene %d: %s %.6f, want %.6f", i, what, got, want)
		}
	}
	for i, s := range scenes {
		w := want[i]
		area := math.Abs(shoelace(s.Outer))
		if len(s.Holes) == 0 {
			near(i, "area (OpenCV)", area/w.AreaOpenCV, 1, 1e-4)
		}
		for _, h := range s.Holes {
			area -= math.Abs(shoelace(h))
		}
		near(i, "area (GEOS)", area/w.AreaGEOS, 1, 1e-6)
		length := 0.0
		for k, a := range s.Outer {
			b := s.Outer[(k+1)%len(s.Outer)]
			length += math.Hypot(b.X-a.X, b.Y-a.Y)
		}
		near(i, "perimeter (GEOS)", length/w.PerimeterGEOS, 1, 1e-6)
		found := fillLoops(s.Side, s.Side, false, append([][]Point{s.Outer}, s.Holes...)...)
		truth := make([]bool, s.Side*s.Side)
		for _, run := range s.Mask {
			for k := range run[1] {
				truth[run[0]+k] = true
			}
		}
		both, sum, n := 0.0, 0.0, 0.0
		for k := range found {
			if found[k] {
				sum, n = sum+1, n+1
			}
			if truth[k] {
				sum++
			}
			if found[k] && truth[k] {
				both++
			}
		}
		near(i, "Dice (OpenCV)", 2*both/sum, w.DiceOpenCV, 0.01)
		near(i, "Dice (GEOS)", 2*both/sum, w.DiceGEOS, 0.02)
		near(i, "area over pixels", area/n, 1, 0.02)
	}
	for what, d := range worst {
		t.Logf("worst difference, %s: %.2g", what, d)
	}
}
