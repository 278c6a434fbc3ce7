package state

import (
	"math"
	"sort"
	"strconv"
	"strings"

	"lowtide/casebook"
	"lowtide/outline"
)

// Refusal says why a photo or an outline cannot be measured, and what to do.
type Refusal = outline.Refusal

// OneStripOnly is the refusal of a photo that shows one strip when two are expected.
const OneStripOnly = outline.OneStripOnly

// MostPhotoBytes bounds the file of a photo.
const MostPhotoBytes = outline.MostPhotoBytes

// CleanPhoto reads a photo as it came from a camera and returns what is kept of it: upright, without place, time, person
// or device.
func CleanPhoto(raw []byte) (kept []byte, widthPx, heightPx int, refused *Refusal) {
	p, err := outline.ReadPhoto(raw)
	if err == nil {
		kept, err = p.Stored()
	}
	if err != nil {
		return nil, 0, 0, refusalOf(err)
	}
	return kept, p.WidthPx, p.HeightPx, nil
}

// refusalOf turns an error of the outline engine into a refusal; all of them are.
func refusalOf(err error) *Refusal {
	if r, ok := err.(*Refusal); ok {
		return r
	}
	return &Refusal{Reason: outline.Damaged, Words: "The photo cannot be used: " + err.Error() + ".", Remedy: "Take it again."}
}

// PullToEdge pulls a rough line to where the wound ends. words say how that went.
func PullToEdge(raw []byte, line [][2]float64) (part DrawnPart, words string, refused *Refusal) {
	photo, err := outline.ReadPhoto(raw)
	if err != nil {
		return part, "", refusalOf(err)
	}
	t, err := outline.Refine(photo.Image, pointsOf(line))
	if err != nil {
		return part, "", refusalOf(err)
	}
	part.Edge, part.EdgeSE = pairsOf(t.Outer), t.EdgeSE
	part.Pulled = part.Edge
	for _, h := range t.Holes {
		part.Islands = append(part.Islands, pairsOf(h))
	}
	return part, t.Status, nil
}

func pointsOf(line [][2]float64) []outline.Point {
	out := make([]outline.Point, len(line))
	for i, p := range line {
		out[i] = outline.Point{X: p[0], Y: p[1]}
	}
	return out
}

func pairsOf(line []outline.Point) [][2]float64 {
	out := make([][2]float64, len(line))
	for i, p := range line {
		out[i] = [2]float64{math.Round(p.X*10) / 10, math.Round(p.Y*10) / 10}
	}
	return out
}

// MeasureDrawn works out the sizes of what is drawn on a photo.
func MeasureDrawn(raw []byte, about casebook.PhotoTaken, d Drawn) OutlineSizes {
	photo, err := outline.ReadPhoto(raw)
	if err != nil {
		return OutlineSizes{Refused: refusalOf(err)}
	}
	plane, scale, notes, refused := planeOf(photo, d)
	out := OutlineSizes{Refused: refused, Notes: notes}
	if refused != nil {
		return out
	}
	opt := outline.MeasureOptions{Up: headWay(about.Head), BodyRadiusCm: radiusOf(d.GirthCm)}
	for _, name := range names(d) {
		out.Wounds = append(out.Wounds, measureWound(photo, plane, scale, opt, name, d))
	}
	return out
}

// names lists the wounds that are drawn, in their order.
func names(d Drawn) (out []string) {
	for _, p := range d.Parts {
		if !contains(out, p.Wound) {
			out = append(out, p.Wound)
		}
	}
	return out
}

// volumes estimates the volume by every model: from the depths marked in the wound, else from the one that was typed,
// which only counts when one wound is drawn.
func (w *OutlineOfWound) volumes(m outline.Measures, plane outline.Plane, d Drawn, only bool) {
	var shapes []outline.Shape
	switch {
	case len(w.Entry.Depths) > 0:
		var depths []outline.Depth
		for _, at := range w.Entry.Depths {
			depths = append(depths, outline.Depth{Px: outline.Point{X: at.XPx, Y: at.YPx}, Cm: at.DepthCm})
		}
		v, err := outline.VolumeFromDepths(m, plane, depths)
		if err != nil {
			w.Notes = append(w.Notes, "No volume: "+refusalOf(err).Error())
			return
		}
		shapes = v.Shapes
		w.Volumes = append(w.Volumes, VolumeByModel{Model: v.Model, Words: v.Model, Cm3: v.Cm3})
		w.Notes = append(w.Notes, v.Notes...)
	case only && d.DepthCm != nil && *d.DepthCm > 0:
		shapes = outline.Shapes(m.AreaCm2, *d.DepthCm)
	}
	for _, s := range shapes {
		w.Volumes = append(w.Volumes, VolumeByModel{Model: s.Name, Words: "if the wound were shaped like: " + s.Name + ", area × depth × " + strconv.FormatFloat(round(s.Share, 0.01), 'f', -1, 64) + ", from the greatest depth", Cm3: s.Cm3})
	}
	sort.SliceStable(w.Volumes, func(i, j int) bool { return w.Volumes[i].Cm3 < w.Volumes[j].Cm3 })
	for i := range w.Volumes {
		w.Volumes[i].Cm3 = round(w.Volumes[i].Cm3, 0.01)
	}
}

// headWay is the direction in the photo that points to the patient's head; nil when nobody said.
func headWay(head string) *outline.Point {
	ways := map[string]outline.Point{"top": {X: 0, Y: -1}, "bottom": {X: 0, Y: 1}, "left": {X: -1, Y: 0}, "right": {X: 1, Y: 0}}
	if p, ok := ways[head]; ok {
		return &p
	}
	return nil
}

// measureWound measures every part of one wound and adds them.
func measureWound(photo *outline.Photo, plane outline.Plane, scale casebook.TracedScale, opt outline.MeasureOptions, name string, d Drawn) OutlineOfWound {
	w := OutlineOfWound{Wound: name, Entry: casebook.OutlineTraced{Wound: name, Scale: scale}}
	var parts []outline.Measures
	var lines []outline.Traced
	var cm2 []float64
	for _, p := range d.Parts {
		if p.Wound != name {
			continue
		}
		t := outline.Traced{Outer: pointsOf(p.Edge), EdgeSE: p.openSE()}
		traced := casebook.TracedPart{Edge: casebook.WritePoints(p.Edge)}
		for _, island := range p.Islands {
			t.Holes = append(t.Holes, pointsOf(island))
			traced.Islands = append(traced.Islands, casebook.WritePoints(island))
		}
		m, err := outline.Measure(t, plane, opt)
		if err != nil {
			w.Refused = refusalOf(err)
			return w
		}
		traced.EdgeCm = casebook.WritePointsCm(exact(m.EdgeCm))
		w.Entry.Parts = append(w.Entry.Parts, traced)
		w.CannotTell = m.CannotTell
		parts, lines, cm2 = append(parts, m), append(lines, t), append(cm2, m.AreaCm2)
		for _, n := range m.Notes {
			if !contains(w.Notes, n) {
				w.Notes = append(w.Notes, n)
			}
		}
		for _, at := range d.Depths {
			if within(p.Edge, at) {
				w.Entry.Depths = append(w.Entry.Depths, at)
			}
		}
	}
	for _, q := range d.Marks {
		if at, ok := plane.FrameCm(outline.Point{X: q[0], Y: q[1]}); ok {
			px, cm := casebook.WritePoints([][2]float64{q}), casebook.WritePointsCm([][2]float64{{at.X, at.Y}})
			w.Entry.Marks, w.Entry.MarksCm = strings.TrimSpace(w.Entry.Marks+" "+px), strings.TrimSpace(w.Entry.MarksCm+" "+cm)
		}
	}
	w.fill(parts)
	w.Entry.Scale.GirthCm = d.GirthCm
	if len(parts) == 1 {
		w.Roundness, w.CentrePx = &parts[0].Roundness, &[2]float64{parts[0].CentroidPx.X, parts[0].CentroidPx.Y}
	}
	w.suggestTissue(photo, lines, cm2)
	if len(parts) == 1 {
		w.volumes(parts[0], plane, d, len(names(d)) == 1)
	}
	return w
}

func exact(line []outline.Point) [][2]float64 {
	out := make([][2]float64, len(line))
	for i, p := range line {
		out[i] = [2]float64{p.X, p.Y}
	}
	return out
}

// within tells whether a depth was marked inside a line, by counting crossings to its right.
func within(line [][2]float64, at casebook.DepthAt) bool {
	in := false
	for i, a := range line {
		b := line[(i+1)%len(line)]
		if (a[1] > at.YPx) != (b[1] > at.YPx) && at.XPx < a[0]+(at.YPx-a[1])/(b[1]-a[1])*(b[0]-a[0]) {
			in = !in
		}
	}
	return in
}

// fill adds the parts of a wound on one photo. Lengths of several parts say nothing of the whole and are left out.
func (w *OutlineOfWound) fill(parts []outline.Measures) {
	e := &w.Entry
	var list []outline.Summand
	perimeter := 0.0
	for _, m := range parts {
		list = append(list, outline.Summand{AreaCm2: m.AreaCm2, Parts: m.SEParts})
		perimeter += m.PerimeterCm
	}
	sum := outline.Add(list)
	e.AreaCm2, e.AreaSECm2 = sum.AreaCm2, sum.SE
	for _, p := range sum.Parts {
		e.Errors = append(e.Errors, casebook.Share{Name: p.Name, SECm2: round(p.SE, 1e-4)})
	}
	e.AreaCm2, e.AreaSECm2 = round(e.AreaCm2, 1e-3), round(e.AreaSECm2, 1e-4)
	e.PerimeterCm = rounded(perimeter)
	m := parts[0]
	e.Scale.PxPerCm = round(m.PxPerCm, 0.01)
	if e.Scale.By != "ruler" {
		tilt := round(m.TiltDeg, 0.1)
		e.Scale.TiltDeg = &tilt
	}
	if len(parts) > 1 {
		return
	}
	e.LengthCm, e.WidthCm = rounded(m.LengthCm), rounded(m.WidthCm)
	if m.UpCm != nil {
		e.HeadCm = casebook.WritePointsCm([][2]float64{{m.UpCm.X, m.UpCm.Y}})
	}
	if m.HeadToToeCm != nil && m.AcrossCm != nil {
		e.HeadLengthCm, e.HeadWidthCm = rounded(*m.HeadToToeCm), rounded(*m.AcrossCm)
	}
}

// round keeps what can be told apart: entries are read by people too.
func round(v, step float64) float64 { return math.Round(v/step) / math.Round(1/step) }

func rounded(v float64) *float64 {
	v = round(v, 0.01)
	return &v
}

// planeOf sets the scale: from the ruler when one was marked, else from the strips.
func planeOf(photo *outline.Photo, d Drawn) (outline.Plane, casebook.TracedScale, []string, *Refusal) {
	if len(d.Ruler) == 2 && d.RulerCm != nil {
		r := pointsOf(d.Ruler)
		plane, err := outline.PlaneFromRuler(r[0], r[1], *d.RulerCm, photo.WidthPx, photo.HeightPx)
		if err != nil {
			return plane, casebook.TracedScale{}, nil, refusalOf(err)
		}
		return plane, casebook.TracedScale{By: plane.Scale, Ruler: casebook.WritePoints(d.Ruler), RulerCm: d.RulerCm}, nil, nil
	}
	opt := outline.FindOptions{FocalPx: photo.FocalPx, OneLaid: d.OneLaid}
	if d.CheckRulerMm != nil {
		opt.RulerMm = *d.CheckRulerMm
	}
	plane, seen, err := outline.FindStrips(photo.Image, opt)
	if err != nil {
		r := *refusalOf(err)
		r.Remedy += " Or mark two points on a ruler in this photo with the tool Ruler."
		return plane, casebook.TracedScale{}, nil, &r
	}
	return plane, casebook.TracedScale{By: plane.Scale, OneLaid: d.OneLaid, CheckRulerMm: d.CheckRulerMm}, seen.Notes, nil
}

// suggestTissue asks for the shares of tissue by colour in all parts of a wound, weighed by their area.
func (w *OutlineOfWound) suggestTissue(photo *outline.Photo, parts []outline.Traced, cm2 []float64) {
	var sum casebook.Tissue
	total := 0.0
	for i, t := range parts {
		s, err := outline.SuggestShares(photo.Image, t)
		if err != nil {
			w.TissueWhy = refusalOf(err).Words
			return
		}
		total += cm2[i]
		sum.GranulationPct += s.GranulationPercent * cm2[i]
		sum.SloughPct += s.SloughPercent * cm2[i]
		sum.EscharPct += s.EscharPercent * cm2[i]
		sum.EpitheliumPct += s.EpitheliumPercent * cm2[i]
		w.TissueWords = s.Words
	}
	share := func(v float64) float64 { return math.Round(v / total) }
	t := casebook.Tissue{GranulationPct: share(sum.GranulationPct), SloughPct: share(sum.SloughPct), EscharPct: share(sum.EscharPct), EpitheliumPct: share(sum.EpitheliumPct)}
	// What lies under glare has no colour to judge; rounding goes there too, and when there is none, to the largest share.
	if t.OtherPct = 100 - t.Sum(); t.OtherPct < 0 {
		for _, v := range []*float64{&t.GranulationPct, &t.SloughPct, &t.EscharPct, &t.EpitheliumPct} {
			if *v >= 25 {
				*v += t.OtherPct
				break
			}
		}
		t.OtherPct = 0
	}
	w.Tissue = &t
}

// StripsPDF is the printable sheet of scale strips on "A4" or "Letter"; ok is false for other papers.
func StripsPDF(paper string) (pdf []byte, ok bool) {
	for _, p := range outline.Papers {
		if strings.EqualFold(p.Name, paper) {
			return outline.StripsPDF(p), true
		}
	}
	return nil, false
}

// Drawn is what a nurse drew on a photo, with the numbers that she typed beside it. Points are pixels of the upright photo.
type Drawn struct {
	Parts []DrawnPart
	// Ruler is empty, or two points RulerCm apart.
	Ruler   [][2]float64
	RulerCm *float64
	// CheckRulerMm is what the check ruler of the printed strips measures; nil when it was not looked at.
	CheckRulerMm *float64
	// OneLaid is the nurse's word that only one strip was laid, level with the wound.
	OneLaid bool
	Depths  []casebook.DepthAt
	// Marks are places of the skin that do not move.
	Marks [][2]float64
	// GirthCm is how far it is around the limb at the wound; nil on a flat part, or when nobody measured.
	GirthCm *float64
	// DepthCm is the greatest depth, when its place was not marked.
	DepthCm *float64
}

// DrawnPart is one closed line around open wound.
type DrawnPart struct {
	Wound   string
	Edge    [][2]float64
	Islands [][][2]float64
	// EdgeSE is how far the colours leave the edge open, as a share of the area, and Pulled the line as it was pulled to
	// the edge; zero and empty for a line that was only drawn.
	EdgeSE float64
	Pulled [][2]float64
}

// OutlineSizes is what a drawing measures.
type OutlineSizes struct {
	// Refused says why nothing can be measured; Wounds is then empty.
	Refused *Refusal
	Wounds  []OutlineOfWound
	// Notes are sentences about photo and scale.
	Notes []string
}

// OutlineOfWound is what is drawn around one wound.
type OutlineOfWound struct {
	Wound   string
	Refused *Refusal
	// Entry is what a confirmed outline would say; Photo, AddsTo, Tissue and the volume are for the nurse to choose.
	Entry casebook.OutlineTraced
	// Roundness is 4π·area/perimeter² of the edge, 1 for a circle; CentrePx is the centre of area in the photo. Both are
	// nil for a wound in several parts.
	Roundness *float64
	CentrePx  *[2]float64
	// Volumes are by model, from the smallest; empty without a depth.
	Volumes []VolumeByModel
	// Tissue is suggested by colour; TissueWords says how far to trust it. TissueWhy says why there is none.
	Tissue      *casebook.Tissue
	TissueWords string
	TissueWhy   string
	// CannotTell is what this scale cannot show; empty with two strips.
	CannotTell string
	Notes      []string
}

// VolumeByModel is a volume with the model that it rests on.
type VolumeByModel struct {
	Model, Words string
	Cm3          float64
}

// outlineFacts sets the terms about photos and outlines of a wound. They stay unknown for a wound without photos: nobody
// has to take any.
func outlineFacts(c *casebook.Case, w *casebook.Wound, set Sink) {
	if n := len(w.Outlines); n > 0 {
		o := w.Outlines[n-1]
		set("wound.photo_at", o.At, o.ID, o.Photo)
		if l := c.Line(o.ID); l != nil {
			set("wound.drawn_after_h", l.At.Sub(o.At).Hours(), o.ID, o.Photo)
		}
	}
	for i := len(c.Photos) - 1; i >= 0; i-- {
		p := c.Photos[i]
		if p.Body.Wound != w.Name {
			continue
		}
		if !outlined(c, p.ID) {
			set("wound.photo_waits_at", p.At, p.ID)
		}
		break
	}
	if ch := lastChange(w); ch != nil {
		by := []string{ch.From.ID, ch.To.ID}
		set("wound.edge_still", HourWords(ch.Slow), by...)
		set("wound.edge_advance_mm", math.Round(ch.Change.AdvanceMm*10)/10, by...)
		set("wound.edge_from", ch.From.At, by...)
		set("wound.edge_to", ch.To.At, by...)
	}
	if n := len(w.Measured); n > 1 {
		last, before := w.Measured[n-1], w.Measured[n-2]
		set("wound.ruler_to_outline", last.Body.Method == "outline" && before.Body.Method == "ruler", before.ID, last.ID)
	}
}

// outlined tells whether any wound has an outline on the photo.
func outlined(c *casebook.Case, photo string) bool {
	for i := range c.Wounds {
		for _, o := range c.Wounds[i].Outlines {
			if o.Photo == photo {
				return true
			}
		}
	}
	return false
}
