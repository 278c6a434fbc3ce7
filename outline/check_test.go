package outline

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

func readJSON(t *testing.T, file string, into any) {
	t.Helper()
	raw, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, into); err != nil {
		t.Fatal(err)
	}
}

// board is a photographed chessboard with its corners.
type board struct {
	Photo    string      `json:"photo"`
	WidthPx  int         `json:"width_px"`
	HeightPx int         `json:"height_px"`
	SquareCm float64     `json:"square_cm"`
	Corners  [6][9]Point `json:"corners"`
}

// TestCheckChessboard: real photographs. The plane is set from squares on two sides, and every rectangle of squares
// between them is measured: within 3 % of its area.
func TestCheckChessboard(t *testing.T) {
	var boards []board
	readJSON(t, "testdata/ref/opencv-chessboard/corners.json", &boards)
	for _, b := range boards {
		at := func(r, c int) Mark {
			return Mark{b.Corners[r][c], Point{float64(c) * b.SquareCm, float64(r) * b.SquareCm}}
		}
		sides := map[string]func(r, c int) bool{
			"columns": func(_, c int) bool { return c <= 1 || c >= 7 },
			"rows":    func(r, _ int) bool { return r <= 1 || r >= 4 },
			"corners": func(r, c int) bool { return (c <= 1 || c >= 7) && (r == 2 || r == 3) },
		}
		for name, use := range sides {
			var marks []Mark
			for r := range 6 {
				for c := range 9 {
					if use(r, c) {
						marks = append(marks, at(r, c))
					}
				}
			}
			p, err := PlaneFromMarks(marks, b.WidthPx, b.HeightPx)
			if err != nil {
				t.Fatalf("%s %s: %v", b.Photo, name, err)
			}
			worst, inside, n := 0.0, 0, 0
			for r0 := range 5 {
				for r1 := r0 + 1; r1 < 6; r1++ {
					for c0 := range 8 {
						for c1 := c0 + 1; c1 < 9; c1++ {
							loop := []Point{b.Corners[r0][c0], b.Corners[r0][c1], b.Corners[r1][c1], b.Corners[r1][c0]}
							m, err := Measure(Traced{Outer: loop}, p, MeasureOptions{Exact: true})
							if err != nil {
								t.Fatal(err)
							}
							want := float64((r1-r0)*(c1-c0)) * b.SquareCm * b.SquareCm
							worst = math.Max(worst, math.Abs(m.AreaCm2/want-1))
							n++
							if math.Abs(m.AreaCm2-want) < 1.96*m.SE {
								inside++
							}
						}
					}
				}
			}
			t.Logf("%s, scale from %s: worst of %d rectangles %.2f %%, within 1.96 SE %d", b.Photo, name, n, 100*worst, inside)
			if worst > 0.03 {
				t.Errorf("%s, scale from %s: off by %.2f %%, want at most 3 %%", b.Photo, name, 100*worst)
			}
			if inside < n*8/10 {
				t.Errorf("%s, scale from %s: %d of %d within 1.96 standard errors", b.Photo, name, inside, n)
			}
		}
	}
}

// TestCheckShapes: polygons by Shapely (GEOS) and OpenCV.
func TestCheckShapes(t *testing.T) {
	var ref struct {
		Shapes []struct {
			Name            string
			Loop            []Point
			Area, Perimeter float64
			Centroid        Point
			Greatest        float64
			CVArea          float64 `json:"cv_area"`
			CVPerimeter     float64 `json:"cv_perimeter"`
		}
		Maps []struct{ Cm, Px, Ask, Got []Point }
	}
	readJSON(t, "testdata/ref/opencv-shapely-shapes/shapes.json", &ref)
	if len(ref.Shapes) < 12 || len(ref.Maps) != 8 {
		t.Fatalf("%d shapes, %d maps", len(ref.Shapes), len(ref.Maps))
	}
	for _, s := range ref.Shapes {
		greatest, _ := greatest(hull(s.Loop))
		c := Centroid(s.Loop)
		for name, v := range map[string][3]float64{
			"area": {Area(s.Loop), s.Area, 1e-9}, "perimeter": {Perimeter(s.Loop), s.Perimeter, 1e-9}, "centroid x": {c.X, s.Centroid.X, 1e-9},
			"centroid y": {c.Y, s.Centroid.Y, 1e-9}, "greatest": {greatest, s.Greatest, 1e-9},
			"OpenCV area": {Area(s.Loop), s.CVArea, 1e-4}, "OpenCV perimeter": {Perimeter(s.Loop), s.CVPerimeter, 1e-4},
		} {
			if math.Abs(v[0]-v[1]) > v[2]*(1+math.Abs(v[1])) {
				t.Errorf("%s: %s is %g, want %g", s.Name, name, v[0], v[1])
			}
		}
	}
	for i, m := range ref.Maps {
		marks := make([]Mark, len(m.Cm))
		for j := range marks {
			marks[j] = Mark{m.Px[j], m.Cm[j]}
		}
		p, err := PlaneFromMarks(marks, 2000, 1400)
		if err != nil {
			t.Fatal(err)
		}
		for j, a := range m.Ask {
			if got := p.ToPx(a); math.Hypot(got.X-m.Got[j].X, got.Y-m.Got[j].Y) > 0.12 {
				t.Errorf("map %d: %v goes to %v, by OpenCV to %v", i, a, got, m.Got[j])
			}
		}
	}
}

// TestCheckClosedForms: ellipse, rectangle and an Archimedean spiral's inside, through the identity plane.
func TestCheckClosedForms(t *testing.T) {
	const n = 2000
	ellipse := make([]Point, n)
	spiral := make([]Point, 0, n+1)
	for i := range n {
		a := 2 * math.Pi * float64(i) / n
		ellipse[i] = Point{3 * math.Cos(a), 2 * math.Sin(a)}
		spiral = append(spiral, Point{(1 + a) * math.Cos(a), (1 + a) * math.Sin(a)}) // r = 1 + θ over one turn
	}
	spiral = append(spiral, Point{1 + 2*math.Pi, 0})
	tau := 2 * math.Pi
	// ½∫(1+θ)² dθ = ((1+2π)³ − 1)/6; length ∫√(r² + 1) dθ plus the closing side 2π.
	curve := func(r float64) float64 { return (r*math.Sqrt(r*r+1) + math.Asinh(r)) / 2 }
	for name, c := range map[string]struct{ got, want, tol float64 }{
		// A polygon of n points falls short of the ellipse's area by (2π²/3)/n² of it.
		"ellipse area":     {Area(ellipse), 6 * math.Pi, 6 * math.Pi * 7 / (n * n)},
		"spiral area":      {Area(spiral), (math.Pow(1+tau, 3) - 1) / 6, 1e-3},
		"spiral perimeter": {Perimeter(spiral), curve(1+tau) - curve(1) + tau, 1e-3},
		"rectangle":        {Area([]Point{{0, 0}, {4, 0}, {4, 3}, {0, 3}}), 12, 0},
	} {
		if math.Abs(c.got-c.want) > c.tol {
			t.Errorf("%s: %.9g, want %.9g", name, c.got, c.want)
		}
	}
}
