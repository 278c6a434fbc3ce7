package outline

import (
	"bytes"
	"fmt"
	"strings"
)

// Paper is a sheet's size.
type Paper struct {
	Name              string
	WidthMm, HeightMm float64
}

// Papers are the sheets that the strips are laid out for.
var Papers = []Paper{{"A4", 210, 297}, {"Letter", 215.9, 279.4}}

const stripPairs = 7

// StripsPDF is a sheet of strips as PDF 1.4, seven pairs and a check ruler, at exact size. The page is drawn with
// lines, circles and one standard font, so that no library of pages is needed, and a browser build can make it too.
func StripsPDF(paper Paper) []byte {
	d := &drawing{height: paper.HeightMm}
	left := (paper.WidthMm - 2*StripWidthMm - 4) / 2
	d.text(left, 14, 13, "Lowtide scale strips, "+paper.Name)
	for i, line := range []string{
		"Print at actual size (100 %), never fitted to the page. Measure the check ruler; if it is not 150 mm long, type its length with the photo.",
		"Cut out one A and one B. Lay them flat on intact skin on opposite sides of the wound, beside it, never on it. Take the photo from straight",
		"above, with both strips wholly in it. Strips are used once, for one patient, and thrown away.",
	} {
		d.text(left, 19.5+4*float64(i), 7.6, line)
	}
	d.ruler(left, 36)
	for row := range stripPairs {
		y := 52 + StripHeightMm/2 + float64(row)*(StripHeightMm+7)
		d.strip("A", left+StripWidthMm/2, y)
		d.strip("B", left+StripWidthMm*1.5+4, y)
	}
	return d.pdf(paper)
}

// drawing writes a page's content in points from millimetres measured from the top left.
type drawing struct {
	out    bytes.Buffer
	height float64
}

const pointsPerMm = 72 / 25.4

func (d *drawing) x(mm float64) float64 { return mm * pointsPerMm }
func (d *drawing) y(mm float64) float64 { return (d.height - mm) * pointsPerMm }

func (d *drawing) text(x, y, size float64, words string) {
	words = strings.NewReplacer(`\`, `\\`, "(", `\(`, ")", `\)`).Replace(words)
	fmt.Fprintf(&d.out, "0 g BT /F1 %.2f Tf %.4f %.4f Td (%s) Tj ET\n", size, d.x(x), d.y(y), words)
}

func (d *drawing) line(x0, y0, x1, y1, widthMm, grey float64) {
	fmt.Fprintf(&d.out, "%.2f G %.3f w %.4f %.4f m %.4f %.4f l S\n", grey, widthMm*pointsPerMm, d.x(x0), d.y(y0), d.x(x1), d.y(y1))
}

func (d *drawing) disc(cx, cy, r, grey float64) {
	const k = 0.5522847498 // four Bézier arcs that follow a circle to 2 parts in 10⁴ of its radius
	p := func(dx, dy float64) string { return fmt.Sprintf("%.4f %.4f", d.x(cx+dx*r), d.y(cy+dy*r)) }
	fmt.Fprintf(&d.out, "%.2f g %s m %s %s %s c %s %s %s c %s %s %s c %s %s %s c f\n", grey, p(1, 0),
		p(1, k), p(k, 1), p(0, 1), p(-k, 1), p(-1, k), p(-1, 0), p(-1, -k), p(-k, -1), p(0, -1), p(k, -1), p(1, -k), p(1, 0))
}

// ruler is the check ruler: 150 mm from its first to its last stroke.
func (d *drawing) ruler(x, y float64) {
	d.line(x, y, x+RulerMm, y, 0.2, 0)
	for mm := 0; mm <= RulerMm; mm++ {
		long := 1.8
		if mm%5 == 0 {
			long = 2.8
		}
		if mm%10 == 0 {
			long = 4
			d.text(x+float64(mm)-1.5, y+7.2, 6.5, fmt.Sprint(mm))
		}
		d.line(x+float64(mm), y, x+float64(mm), y+long, 0.12, 0)
	}
	d.text(x+RulerMm+4, y+3, 7.6, "Check ruler, mm")
}

// strip draws one strip around its middle.
func (d *drawing) strip(which string, cx, cy float64) {
	l, r, t, b := cx-StripWidthMm/2, cx+StripWidthMm/2, cy-StripHeightMm/2, cy+StripHeightMm/2
	for _, s := range [][4]float64{{l, t, r, t}, {r, t, r, b}, {r, b, l, b}, {l, b, l, t}} {
		d.line(s[0], s[1], s[2], s[3], 0.1, 0.75)
	}
	for _, m := range stripMarks() {
		d.disc(cx+m.X, cy+m.Y, markOuterMm, 0)
		d.disc(cx+m.X, cy+m.Y, markEyeMm, 1)
	}
	const half = codeSide * moduleMm / 2
	d.out.WriteString("0 g\n")
	for row, line := range stripCodes[which] {
		for from := 0; from < codeSide; { // a run of black modules is one rectangle: no hairlines between
			if line[from] != '#' {
				from++
				continue
			}
			to := from
			for to < codeSide && line[to] == '#' {
				to++
			}
			fmt.Fprintf(&d.out, "%.4f %.4f %.4f %.4f re\n", d.x(cx-half+float64(from)*moduleMm), d.y(cy-half+float64(row+1)*moduleMm), d.x(float64(to-from)*moduleMm), d.x(moduleMm))
			from = to
		}
	}
	d.out.WriteString("f\n")
	d.text(cx-43, cy-0.4, 6, "Lowtide strip "+which)
	d.text(cx-43, cy+2.2, 5, "LT1, 84 x 12 mm")
	d.text(cx+13, cy-0.4, 6, "Beside the wound, never on it.")
	d.text(cx+13, cy+2.2, 5, "Use once.")
}

// pdf wraps the page.
func (d *drawing) pdf(paper Paper) []byte {
	objects := []string{
		"<< /Type /Catalog /Pages 2 0 R /Lang (en) /ViewerPreferences << /PrintScaling /None >> >>",
		"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
		fmt.Sprintf("<< /Type /Page /Parent 2 0 R /MediaBox [0 0 %.4f %.4f] /Resources << /Font << /F1 4 0 R >> >> /Contents 5 0 R >>", d.x(paper.WidthMm), d.x(paper.HeightMm)),
		"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>",
		fmt.Sprintf("<< /Length %d >>\nstream\n%s\nendstream", d.out.Len(), d.out.String()),
		"<< /Title (Lowtide scale strips) >>",
	}
	var out bytes.Buffer
	out.WriteString("%PDF-1.4\n%\xe2\xe3\xcf\xd3\n")
	var at []int
	for i, o := range objects {
		at = append(at, out.Len())
		fmt.Fprintf(&out, "%d 0 obj\n%s\nendobj\n", i+1, o)
	}
	start := out.Len()
	fmt.Fprintf(&out, "xref\n0 %d\n0000000000 65535 f \n", len(objects)+1)
	for _, a := range at {
		fmt.Fprintf(&out, "%010d 00000 n \n", a)
	}
	fmt.Fprintf(&out, "trailer\n<< /Size %d /Root 1 0 R /Info 6 0 R >>\nstartxref\n%d\n%%%%EOF\n", len(objects)+1, start)
	return out.Bytes()
}
