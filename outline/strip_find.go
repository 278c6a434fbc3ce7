package outline

import (
	"fmt"
	"image"
	"math"
)

// FindOptions say what the nurse knows of the strips.
type FindOptions struct {
	// RulerMm is what the check ruler of 150 mm measures on the printed sheet; 0 when it was not measured.
	RulerMm float64
	// FocalPx is the photo's, 0 when not known.
	FocalPx float64
	// OneLaid says that only one strip was laid, level with the wound's edge as far as an eye sees. Without it a photo
	// in which one strip is seen is refused: the other was laid too and shows what this one cannot, or it should be.
	OneLaid bool
}

// Limits of what is accepted. They are set so that a photo within them is off by a few per cent at most; the
// simulation (evidence/cmd/outline) shows what passes them.
const (
	mostTiltDeg  = 45.0
	mostBlurMm   = 0.5
	mostBendMm   = 0.15 // misfit of one strip from a plane, root mean square
	mostStepMm   = 0.30 // misfit of two strips from one plane
	leastMarkPx  = 9.0  // diameter of a mark
	leastRuler   = 0.85
	mostRuler    = 1.15
	workingPx    = 2200 // longer side of the picture in which marks are looked for
	levelSDDeg   = 3.0  // slope of the skin under a strip that looks level with the wound
	printSE      = 0.005
	printSERuler = 0.003
)

// bendShare is the share of length, a millimetre of misfit, by which a strip bent to a circle reads wrong: a strip
// of half length L bent to radius R is shortened by 229/R² and leaves a misfit of 2744/R² mm (eq. 7).
const bendShare = 0.083

const secondRemedy = "Lay or uncover the second strip on the other side of the wound and take the photo again, both wholly in it; or say that only one was laid, level with the wound."

const retake = "Lay both strips flat on opposite sides of the wound and take the photo from straight above, both wholly in it."

// FindStrips finds the strips in an upright photo and sets the plane by them. The error is a *Refusal that says what
// is wrong; the Quality tells what was seen either way.
func FindStrips(img image.Image, opt FindOptions) (Plane, Quality, error) {
	var q Quality
	factor := 1.0
	if opt.RulerMm != 0 {
		factor = opt.RulerMm / RulerMm
		if !(factor >= leastRuler && factor <= mostRuler) {
			return Plane{}, q, refuse(PrintScale, "Print the strips at actual size and measure the check ruler again.", "The check ruler is %g mm long instead of %g mm: the sheet was printed at a size that is not used.", opt.RulerMm, RulerMm)
		}
	}
	g := greyOf(img)
	all, strips, partly := look(&g)
	if len(strips) == 0 || partly.count >= 6 && len(strips) < 2 {
		return Plane{}, q, notSeen(&g, all, strips, partly)
	}
	if len(strips) > 2 {
		return Plane{}, q, refuse(StripsMany, "Take one photo for each wound, with its own two strips.", "There are %d strips in the photo.", len(strips))
	}
	marks, refused := judge(&g, all, strips, &q)
	if refused != nil {
		return Plane{}, q, refused
	}
	switch {
	case len(strips) == 1 && !opt.OneLaid:
		return Plane{}, q, refuse(OneStripOnly, secondRemedy, "The second strip was not seen: only strip %s is found. No photo shows whether the skin under a single strip slopes against the wound, which can put the area off by a fifth and more.", strips[0].which)
	case len(strips) == 2 && opt.OneLaid:
		return Plane{}, q, refuse(StripsMany, "Take the statement back: then both set the scale.", "Two strips are in the photo, and only one is said to be laid.")
	}
	p, refused := join(marks, strips, g.w, g.h, factor, &q)
	if refused != nil {
		return Plane{}, q, refused
	}
	p.FocalPx = opt.FocalPx
	p.PrintSE = printSE
	if opt.RulerMm != 0 {
		p.PrintSE = printSERuler
	}
	q.TiltDeg = p.TiltDeg()
	if q.TiltDeg > mostTiltDeg {
		return Plane{}, q, refuse(Oblique, retake, "The camera was tilted by %.0f degrees; at most %.0f are measured.", q.TiltDeg, mostTiltDeg)
	}
	var mid Point
	for _, m := range p.Marks {
		mid.X += m.Px.X / float64(len(p.Marks))
		mid.Y += m.Px.Y / float64(len(p.Marks))
	}
	q.PxPerCm = p.PxPerCm(mid)
	remarks(&q, &p, opt)
	return p, q, nil
}

// look searches a smaller copy of the photo, with several windows of "darker than around", until two strips read.
func look(g *grey) ([]spot, []found, found) {
	small, scale := *g, 1.0
	for max(small.w, small.h) > workingPx {
		small = small.halved()
		scale *= 2
	}
	tries := 0
	var bestAll []spot
	var bestStrips []found
	var bestPartly found
	long := max(small.w, small.h)
	for try, v := range [][2]float64{{40, 0.8}, {20, 0.85}, {80, 0.75}, {40, 0.65}} {
		window := max(8, int(float64(long)/v[0]))
		var all []spot
		for _, s := range spots(&small, window, v[1]) {
			s.at.X *= scale
			s.at.Y *= scale
			s.a, s.b, s.c, s.d = s.a*scale, s.b*scale, s.c*scale, s.d*scale
			if s.refine(g) {
				all = append(all, s)
			}
		}
		strips, partly := group(g, all, &tries)
		if try == 0 || len(strips) > len(bestStrips) || len(strips) == len(bestStrips) && partly.count > bestPartly.count {
			bestAll, bestStrips, bestPartly = all, strips, partly
		}
		if len(bestStrips) >= 2 {
			break
		}
	}
	return bestAll, bestStrips, bestPartly
}

// notSeen words the refusal when no strip reads, or one only in part.
func notSeen(g *grey, all []spot, strips []found, partly found) *Refusal {
	if partly.count >= 4 {
		outside, radius := 0, 0.0
		for m, p := range stripMarks() {
			at := apply(partly.h, p)
			if s := partly.marks[m]; s >= 0 {
				radius = all[s].radius()
			} else if at.X < 0 || at.Y < 0 || at.X > float64(g.w) || at.Y > float64(g.h) {
				outside++
			}
		}
		switch {
		case 2*radius < leastMarkPx:
			return refuse(StripSmall, "Go nearer.", "The strips are too small in the photo.")
		case outside > 0:
			return refuse(StripCutOff, retake, "A strip is cut off at the photo's edge.")
		case partly.count < leastMarksSeen:
			return refuse(StripCutOff, retake, "A strip is partly covered, folded or in glare: only %d of its 12 marks are seen.", partly.count)
		case partly.framed:
			return refuse(StripOther, "Print the strips of this program anew.", "The strip in the photo is of another kind or version.")
		}
		if off := offGrid(all, partly); off > mostBendMm {
			return refuse(StripBent, retake, "A strip is bent: its marks lie %.2f mm from a plane.", off)
		}
		return refuse(Blurred, "Hold the phone still, let it focus, and take the photo again.", "A strip is in the photo, but its code cannot be read.")
	}
	if len(strips) > 0 {
		return refuse(StripCutOff, retake, "One strip is seen, and parts of another.")
	}
	if len(all) >= 3 {
		return refuse(StripMissing, retake, "Some marks of a strip are seen, but no strip as a whole.")
	}
	return refuse(StripMissing, retake, "No strip is seen in the photo.")
}

// offGrid is how far a strip's marks lie from where a flat strip would have them, mm.
func offGrid(all []spot, f found) float64 {
	sum, radius := 0.0, 0.0
	for m, p := range stripMarks() {
		if s := f.marks[m]; s >= 0 {
			at := apply(f.h, p)
			sum += math.Pow(at.X-all[s].at.X, 2) + math.Pow(at.Y-all[s].at.Y, 2)
			radius += all[s].radius()
		}
	}
	n := float64(f.count)
	return math.Sqrt(sum/n) / (radius / n) * markOuterMm
}

// judge looks at each strip alone: size, blur, bend. It returns the marks of both for the common fit.
func judge(g *grey, all []spot, strips []found, q *Quality) ([]sighting, *Refusal) {
	var marks []sighting
	var blurs []float64
	flat := stripMarks()
	for i, f := range strips {
		var own []sighting
		radius := 0.0
		for m, s := range f.marks {
			if s < 0 {
				continue
			}
			radius += all[s].radius() / float64(f.count)
			blurs = append(blurs, all[s].blurPx/all[s].radius()*markOuterMm)
			own = append(own, sighting{px: all[s].at, cm: Point{flat[m].X / 10, flat[m].Y / 10}, radius: markOuterMm / 10, weight: 1})
		}
		if 2*radius < leastMarkPx {
			return nil, refuse(StripSmall, "Go nearer.", "The strips are too small in the photo: a mark is %.0f pixels wide.", 2*radius)
		}
		fit, ok := newFitting(append([]sighting(nil), own...), g.w, g.h, lens{0.02, 0.002, 0.01})
		if !ok {
			return nil, refuse(StripBent, retake, "A strip's marks do not lie as printed.")
		}
		if _, ok = fit.descend(); !ok {
			return nil, refuse(StripBent, retake, "A strip's marks do not lie as printed.")
		}
		rms := 0.0
		for _, d := range fit.distances() {
			rms += d * d / float64(len(own))
		}
		rms = math.Sqrt(rms)
		seen := StripSeen{Which: f.which, Marks: f.count, MisfitPx: rms}
		for c, corner := range [4]Point{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
			seen.Corners[c] = apply(f.h, Point{corner.X * StripWidthMm / 2, corner.Y * StripHeightMm / 2})
		}
		q.Strips = append(q.Strips, seen)
		if mm := rms / radius * markOuterMm; mm > mostBendMm {
			return nil, refuse(StripBent, retake, "Strip %s is bent: its marks lie %.2f mm from a plane.", f.which, mm)
		}
		for _, s := range own {
			s.second = i == 1
			marks = append(marks, s)
		}
	}
	blur := median(blurs)
	q.BlurPx = blur / markOuterMm * all[strips[0].marks[firstSeen(strips[0])]].radius()
	if blur > mostBlurMm {
		return nil, refuse(Blurred, "Hold the phone still, let it focus, and take the photo again.", "The photo is blurred: an edge is %.1f mm wide.", 2.56*blur)
	}
	return marks, nil
}

func firstSeen(f found) int {
	for m, s := range f.marks {
		if s >= 0 {
			return m
		}
	}
	return 0
}

// join fits one plane over all marks. The second strip's place and turn in it are fitted as well.
func join(marks []sighting, strips []found, w, h int, factor float64, q *Quality) (Plane, *Refusal) {
	for i := range marks {
		marks[i].cm.X *= factor
		marks[i].cm.Y *= factor
		marks[i].radius *= factor
	}
	bent := refuse(StripBent, retake, "The strips do not lie in one plane.")
	f, ok := newFitting(marks, w, h, lensPhone)
	if !ok {
		return Plane{}, bent
	}
	scale := "one strip"
	if len(strips) == 2 {
		scale = "two strips"
		f.theta = append(f.theta, f.start()...)
	}
	before := len(f.marks)
	cov, left, ok := f.robust(0.05, 2)
	if !ok || left > 3 {
		return Plane{}, bent
	}
	p := f.plane(scale, cov, left)
	rms := 0.0
	for _, d := range f.distances() {
		rms += d * d / float64(before-left)
	}
	q.MisfitPx = math.Sqrt(rms)
	mm := q.MisfitPx / p.PxPerCm(p.Marks[0].Px) * 10
	if !(mm <= mostStepMm) {
		return Plane{}, refuse(StripBent, retake, "The strips do not lie in one plane: their marks are %.2f mm from it.", mm)
	}
	p.HeightSDCm = 0.1
	if len(strips) == 1 {
		p.SlopeSDDeg = levelSDDeg
	}
	p.BendSE = bendShare * mm
	return p, nil
}

// start places the second strip by the plane of the first: the rigid motion that brings its marks nearest.
func (f *fitting) start() []float64 {
	p := Plane{WidthPx: 2 * f.centre.X, HeightPx: 2 * f.centre.Y, Theta: f.theta, OriginCm: f.origin, UnitCm: f.unit}
	var from, to []Point
	for _, s := range f.marks {
		if s.second {
			at := p.ToCm(s.px)
			from = append(from, Point{s.cm.X / f.unit, s.cm.Y / f.unit})
			to = append(to, Point{(at.X - f.origin.X) / f.unit, (at.Y - f.origin.Y) / f.unit})
		}
	}
	n := float64(len(from))
	var a, b Point
	for i := range from {
		a.X += from[i].X / n
		a.Y += from[i].Y / n
		b.X += to[i].X / n
		b.Y += to[i].Y / n
	}
	var cos, sin float64
	for i := range from {
		x, y, u, v := from[i].X-a.X, from[i].Y-a.Y, to[i].X-b.X, to[i].Y-b.Y
		cos += x*u + y*v
		sin += x*v - y*u
	}
	t := math.Atan2(sin, cos)
	c, s := math.Cos(t), math.Sin(t)
	return []float64{b.X - c*a.X + s*a.Y, b.Y - s*a.X - c*a.Y, t}
}

// remarks words what makes the figure less sure.
func remarks(q *Quality, p *Plane, opt FindOptions) {
	if p.Scale == "one strip" {
		q.Notes = append(q.Notes, "Only one strip was laid: the scale is less sure away from it.")
	} else if q.Strips[0].Which == q.Strips[1].Which {
		q.Notes = append(q.Notes, fmt.Sprintf("Both strips are %s. Take one A and one B, so that nobody mistakes one wound's strips for another's.", q.Strips[0].Which))
	}
	if q.TiltDeg > 30 {
		q.Notes = append(q.Notes, fmt.Sprintf("The camera was tilted by %.0f degrees. Take the next photo from straight above.", q.TiltDeg))
	}
	if opt.RulerMm == 0 {
		q.Notes = append(q.Notes, "The sheet's check ruler was not measured; the scale allows for half a per cent of printing error.")
	}
}
