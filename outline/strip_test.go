package outline_test

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"math"
	"os"
	"os/exec"
	"strings"
	"testing"

	"lowtide/evidence/scene"
	"lowtide/outline"
)

// render paints a scene and reads it back as the program would.
func render(t testing.TB, d scene.Drawn) image.Image {
	t.Helper()
	p, err := outline.ReadPhoto(d.Paint())
	if err != nil {
		t.Fatal(err)
	}
	return p.Image
}

// TestStripsMeasure: photos as the handbook asks for them, strips exact and flat: area within 0.3 % by the marks'
// precision (0.05 px over 80 mm is below 0.1 % of length at 2 megapixels), found in every one.
func TestStripsMeasure(t *testing.T) {
	for seed := range uint64(6) {
		d := scene.Ordinary(700+seed, 2, 30, 2, true)
		plane, q, err := outline.FindStrips(render(t, d), outline.FindOptions{})
		if err != nil {
			t.Errorf("%d: %v", seed, err)
			continue
		}
		m, err := outline.Measure(outline.Traced{Outer: d.Loop()}, plane, outline.MeasureOptions{Exact: true})
		want := outline.Area(d.Wound)
		if err != nil || math.Abs(m.AreaCm2/want-1) > 0.003 || m.Scale != "two strips" || len(q.Strips) != 2 {
			t.Errorf("%d: %v; area %.3f, want %.3f", seed, err, m.AreaCm2, want)
		}
		if d.Camera.TiltDeg > 5 && math.Abs(q.TiltDeg-d.Camera.TiltDeg) > 3 {
			t.Errorf("%d: tilt %.1f, want %.1f", seed, q.TiltDeg, d.Camera.TiltDeg)
		}
		// A mark's centre: a tenth of a pixel each way.
		for _, s := range q.Strips {
			if s.MisfitPx > 0.1*math.Sqrt2 {
				t.Errorf("%d: strip %s misfits by %.3f px", seed, s.Which, s.MisfitPx)
			}
		}
	}
}

// TestStripsPrintScale: a sheet printed at 94 % reads 13 % too large unless the check ruler is typed.
func TestStripsPrintScale(t *testing.T) {
	d := scene.Ordinary(801, 2, 20, 2, true)
	for i := range d.Strips {
		d.Strips[i].Print = 0.94
	}
	img := render(t, d)
	want := outline.Area(d.Wound)
	for ruler, share := range map[float64]float64{0: 1 / (0.94 * 0.94), 141: 1} {
		plane, _, err := outline.FindStrips(img, outline.FindOptions{RulerMm: ruler})
		if err != nil {
			t.Fatal(err)
		}
		m, err := outline.Measure(outline.Traced{Outer: d.Loop()}, plane, outline.MeasureOptions{Exact: true})
		if err != nil || math.Abs(m.AreaCm2/want/share-1) > 0.004 {
			t.Errorf("ruler %g: %v, area %.3f of %.3f", ruler, err, m.AreaCm2, want*share)
		}
	}
	for _, ruler := range []float64{15, 100, 200, -3, math.NaN()} {
		var r *outline.Refusal
		if _, _, err := outline.FindStrips(img, outline.FindOptions{RulerMm: ruler}); !errors.As(err, &r) || r.Reason != outline.PrintScale {
			t.Errorf("ruler %g: %v", ruler, err)
		}
	}
}

// TestStripsRefuse: what cannot be measured is refused, each for its own reason.
func TestStripsRefuse(t *testing.T) {
	base := func() scene.Drawn {
		d := scene.Ordinary(900, 2, 15, 2, true)
		return d
	}
	perMm := func(d *scene.Drawn) float64 { return d.Camera.FocalPx / d.Camera.DistanceCm / 10 }
	for name, c := range map[string]struct {
		spoil func(*scene.Drawn)
		want  []outline.Reason
	}{
		"none":       {func(d *scene.Drawn) { d.Strips = nil }, []outline.Reason{outline.StripMissing}},
		"bent":       {func(d *scene.Drawn) { d.Strips[0].BendCm = 8 }, []outline.Reason{outline.StripBent}},
		"two slopes": {func(d *scene.Drawn) { d.Strips[0].SlopeDeg, d.Strips[1].SlopeDeg = 35, -35 }, []outline.Reason{outline.StripBent}},
		"blurred":    {func(d *scene.Drawn) { d.BlurPx = 0.9 * perMm(d) }, []outline.Reason{outline.Blurred, outline.StripMissing}},
		"far":        {func(d *scene.Drawn) { d.Camera.DistanceCm *= 6; d.BlurPx = 0.6 }, []outline.Reason{outline.StripSmall, outline.StripMissing}},
		"covered":    {func(d *scene.Drawn) { d.Strips[1].CoverFrom, d.Strips[1].CoverTo = 10, 35 }, []outline.Reason{outline.StripCutOff}},
		"three": {func(d *scene.Drawn) {
			s := d.Strips[0]
			s.X, s.Y = s.X*1.9, s.Y*1.9
			d.Strips = append(d.Strips, s)
			d.Camera.DistanceCm *= 1.7
		}, []outline.Reason{outline.StripsMany}},
		"oblique": {func(d *scene.Drawn) { d.Camera.TiltDeg = 58; d.Camera.DistanceCm *= 1.2 }, []outline.Reason{outline.Oblique, outline.StripCutOff, outline.StripSmall}},
	} {
		d := base()
		c.spoil(&d)
		_, _, err := outline.FindStrips(render(t, d), outline.FindOptions{})
		var r *outline.Refusal
		ok := false
		if errors.As(err, &r) {
			for _, w := range c.want {
				ok = ok || r.Reason == w
			}
		}
		if !ok || r.Remedy == "" {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
	}
}

// TestStripOfAnotherKind: a strip whose code says something else is not taken for ours.
func TestStripOfAnotherKind(t *testing.T) {
	d := scene.Ordinary(900, 2, 5, 2, true)
	d.Strips = d.Strips[:1]
	img := render(t, d).(*image.YCbCr)
	if _, _, err := outline.FindStrips(img, outline.FindOptions{OneLaid: true}); err != nil {
		t.Fatal(err)
	}
	// Turn the light and dark of the code's lower right part round: the corner squares stay.
	d.Camera.Set()
	for y := -2.0; y < 7.2; y += 0.05 {
		for x := -2.0; x < 7.2; x += 0.05 {
			p := d.Camera.See(d.Strips[0].Place(x, y))
			black, _ := outline.StripInk(d.Strips[0].Which, x, y)
			v := uint8(40)
			if black {
				v = 210
			}
			img.Y[img.YOffset(int(p.X), int(p.Y))] = v
		}
	}
	var r *outline.Refusal
	if _, _, err := outline.FindStrips(img, outline.FindOptions{OneLaid: true}); !errors.As(err, &r) || r.Reason != outline.StripOther {
		t.Errorf("%v", err)
	}
}

// TestNoStripInNoise: pictures without strips never give a plane.
func TestNoStripInNoise(t *testing.T) {
	for k := range 4 {
		img := image.NewGray(image.Rect(0, 0, 800, 600))
		for i := range img.Pix {
			switch k {
			case 0:
				img.Pix[i] = uint8(i * 2654435761 >> 13)
			case 1: // rings everywhere, no code
				x, y := float64(i%800)-math.Round(float64(i%800)/40)*40, float64(i/800)-math.Round(float64(i/800)/34)*34
				img.Pix[i] = 220
				if r := math.Hypot(x, y); r < 10 && r > 4 {
					img.Pix[i] = 20
				}
			case 2:
				img.Pix[i] = 255
			case 3: // chessboard
				img.Pix[i] = uint8(((i%800)/20 + (i/800)/20) % 2 * 200)
			}
		}
		var r *outline.Refusal
		if _, _, err := outline.FindStrips(img, outline.FindOptions{}); !errors.As(err, &r) {
			t.Errorf("%d: %v", k, err)
		}
	}
}

// TestCheckStripCode: the code that is printed says what it should to an independent reader (zbar, if installed) and
// is what an independent encoder makes (qrencode 4.1.1, testdata/ref/qrencode-strip).
func TestCheckStripCode(t *testing.T) {
	for _, which := range []string{"A", "B"} {
		made := strings.Split(strings.TrimSpace(readFile(t, "testdata/ref/qrencode-strip/"+which+".txt")), "\n")
		if len(made) != 21 {
			t.Fatalf("%d rows", len(made))
		}
		for r, line := range made {
			for c := range 21 {
				black, _ := outline.StripInk(which, (float64(c)-10)*0.7, (float64(r)-10)*0.7)
				if black != (line[c] == '#') {
					t.Fatalf("strip %s: module %d, %d differs", which, r, c)
				}
			}
		}
		if _, err := exec.LookPath("zbarimg"); err != nil {
			if os.Getenv("CI") != "" {
				t.Fatal("zbarimg is missing; make tools installs it")
			}
			t.Log("zbarimg is not installed: the code was not read by it")
			continue
		}
		img := image.NewGray(image.Rect(0, 0, 1000, 260))
		for i := range img.Pix {
			black, _ := outline.StripInk(which, float64(i%1000)/10-50, float64(i/1000)/10-13)
			img.Pix[i] = 255
			if black {
				img.Pix[i] = 0
			}
		}
		cmd := exec.Command("zbarimg", "-q", "--raw", "-")
		cmd.Stdin = bytes.NewReader(pngOf(img))
		out, err := cmd.Output()
		if err != nil || strings.TrimSpace(string(out)) != "LT1"+which+"840120" {
			t.Errorf("zbar reads %q (%v), want %q", out, err, "LT1"+which+"840120")
		}
	}
}

// TestCheckSheet: by poppler and qpdf, if installed, the sheets have the paper's size and no fault; by our own count
// the check ruler's strokes are 150 mm apart and the strips stay on the paper.
func TestCheckSheet(t *testing.T) {
	for _, p := range outline.Papers {
		pdf := outline.StripsPDF(p)
		if !bytes.Equal(pdf, outline.StripsPDF(p)) {
			t.Error("the sheet is not the same twice")
		}
		left := (p.WidthMm - 2*outline.StripWidthMm - 4) / 2
		if left < 5 {
			t.Errorf("%s: strips come within %.1f mm of the edge; printers leave 5", p.Name, left)
		}
		if _, err := exec.LookPath("pdftoppm"); err != nil {
			if os.Getenv("CI") != "" {
				t.Fatal("pdftoppm is missing; make tools installs it")
			}
			t.Log("pdftoppm is not installed: the sheet was not drawn by it")
			continue
		}
		cmd := exec.Command("pdftoppm", "-r", "254", "-gray", "-")
		cmd.Stdin = bytes.NewReader(pdf)
		pgm, err := cmd.Output()
		if err != nil {
			t.Fatal(err)
		}
		g := parsePGM(t, pgm)
		if w := float64(g.Rect.Dx()) / 10; math.Abs(w-p.WidthMm) > 0.11 {
			t.Errorf("%s: %.1f mm wide, want %.1f", p.Name, w, p.WidthMm)
		}
		// The long strokes at 0 and 150 mm, 3.5 mm below the ruler's line, at ten pixels a millimetre.
		row := 395
		first, last := -1, -1
		for x := range g.Rect.Dx() {
			if g.GrayAt(x, row).Y < 140 && float64(x) < 10*(left+outline.RulerMm+2) {
				if first < 0 {
					first = x
				}
				last = x
			}
		}
		if d := float64(last-first) / 10; math.Abs(d-outline.RulerMm) > 0.25 {
			t.Errorf("%s: the ruler is %.2f mm long", p.Name, d)
		}
		// All strips on the sheet read, at the size they claim: 10 px a mm is 100 px a cm.
		crop := g.SubImage(image.Rect(int(10*left)-20, 500, g.Rect.Dx(), 760)).(*image.Gray)
		plane, q, err := outline.FindStrips(copyGray(crop), outline.FindOptions{})
		if err != nil || len(q.Strips) != 2 || math.Abs(q.PxPerCm-100) > 0.1 {
			t.Errorf("%s: %v, %d strips, %.2f px a cm, want 100 (%s)", p.Name, err, len(q.Strips), q.PxPerCm, plane.Scale)
		}
	}
}

func copyGray(src *image.Gray) *image.Gray {
	b := src.Bounds()
	out := image.NewGray(image.Rect(0, 0, b.Dx(), b.Dy()))
	for y := range b.Dy() {
		for x := range b.Dx() {
			out.SetGray(x, y, color.Gray{src.GrayAt(b.Min.X+x, b.Min.Y+y).Y})
		}
	}
	return out
}
