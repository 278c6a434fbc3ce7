package casebook

import (
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"
)

// PhotoTaken is a photo of a wound. The photo itself is the entry's one blob: a JPEG or PNG without the place where it
// was taken. WidthPx and HeightPx are of the upright picture, in which outlines are drawn.
type PhotoTaken struct {
	Wound    string `json:"wound" jsonschema:"required,minLength=1,maxLength=12" words:"Wound"`
	WidthPx  int    `json:"width_px" jsonschema:"required,minimum=1,maximum=60000" words:"Width of the photo in pixels"`
	HeightPx int    `json:"height_px" jsonschema:"required,minimum=1,maximum=60000" words:"Height of the photo in pixels"`
	// Head says at which side of the photo the patient's head would be; empty when nobody said.
	Head    string `json:"head,omitempty" jsonschema:"enum=top,enum=bottom,enum=left,enum=right" words:"The patient's head lies towards this side of the photo"`
	TakenBy string `json:"taken_by,omitempty" jsonschema:"maxLength=120" words:"Taken by, if somebody else"`
	Note    string `json:"note,omitempty" jsonschema:"maxLength=4000" words:"Note"`
}

// OutlineTraced is the edge of one wound as a nurse drew and confirmed it on a photo, with the sizes that it has. It is
// written only when somebody confirmed it. Its sizes are those of the moment at which the photo was taken.
type OutlineTraced struct {
	Wound string `json:"wound" jsonschema:"required,minLength=1,maxLength=12" words:"Wound"`
	// Photo is the ID of the photo.taken entry.
	Photo string `json:"photo" jsonschema:"required,minLength=1,maxLength=120" words:"Photo"`
	// AddsTo is the ID of another outline of the same wound: the two show different parts of a wound that one photo
	// cannot hold, and their areas add up.
	AddsTo string       `json:"adds_to,omitempty" jsonschema:"maxLength=120" words:"A further part of the outline"`
	Parts  []TracedPart `json:"parts" jsonschema:"required,minItems=1,maxItems=12" words:"Parts"`
	Scale  TracedScale  `json:"scale" jsonschema:"required" words:"Scale"`
	// AreaSECm2 is one standard error of the area: of scale, tilt, marks, lens and tracing together.
	AreaCm2     float64  `json:"area_cm2" jsonschema:"required,minimum=0,maximum=2000" unit:"cm²" words:"Area"`
	AreaSECm2   float64  `json:"area_se_cm2" jsonschema:"required,minimum=0,maximum=2000" unit:"cm²" words:"Standard error of the area"`
	Errors      []Share  `json:"errors,omitempty" jsonschema:"maxItems=12" words:"What the error is made of"`
	PerimeterCm *float64 `json:"perimeter_cm,omitempty" jsonschema:"minimum=0,maximum=500" unit:"cm" words:"Perimeter"`
	// LengthCm is the greatest length and WidthCm the greatest width square to it; the head ones lie along the patient.
	LengthCm     *float64 `json:"length_cm,omitempty" jsonschema:"minimum=0,maximum=100" unit:"cm" words:"Greatest length"`
	WidthCm      *float64 `json:"width_cm,omitempty" jsonschema:"minimum=0,maximum=100" unit:"cm" words:"Width square to it"`
	HeadLengthCm *float64 `json:"head_length_cm,omitempty" jsonschema:"minimum=0,maximum=100" unit:"cm" words:"Length, head to toe"`
	HeadWidthCm  *float64 `json:"head_width_cm,omitempty" jsonschema:"minimum=0,maximum=100" unit:"cm" words:"Width, side to side"`
	// Marks are places of the skin that do not move, such as a mole or the end of a scar, in the photo, and MarksCm the same
	// in the frame of EdgeCm. Outlines of two dates that have the same ones, in the same order, are laid over each other by
	// them.
	Marks   string `json:"marks,omitempty" jsonschema:"maxLength=200" words:"Marks on the skin"`
	MarksCm string `json:"marks_cm,omitempty" jsonschema:"maxLength=200" words:"Marks on the skin in centimetres"`
	// HeadCm is the direction of the patient's head in the frame of EdgeCm, as one point of length 1.
	HeadCm string `json:"head_cm,omitempty" jsonschema:"maxLength=80" words:"Direction of the head"`
	// Depths are depths probed at places of the photo. VolumeCm3 holds by VolumeModel only: models differ up to four times.
	Depths      []DepthAt `json:"depths,omitempty" jsonschema:"maxItems=40" words:"Depths"`
	VolumeCm3   *float64  `json:"volume_cm3,omitempty" jsonschema:"minimum=0,maximum=20000" unit:"cm³" words:"Volume"`
	VolumeModel string    `json:"volume_model,omitempty" jsonschema:"maxLength=60" words:"Model of the volume"`
	// Tissue holds shares by colour within the outline. TissueFrom says whether a nurse confirmed them.
	Tissue     *Tissue `json:"tissue,omitempty" words:"Tissue shares"`
	TissueFrom string  `json:"tissue_from,omitempty" jsonschema:"enum=suggested,enum=confirmed" words:"Tissue shares are"`
	Note       string  `json:"note,omitempty" jsonschema:"maxLength=4000" words:"Note"`
}

// TracedPart is one closed line around open wound, in pixels of the upright photo, with islands of healed skin cut out.
// Lines are written as "x,y x,y ..." and close by themselves: see [ReadPoints].
type TracedPart struct {
	Edge string `json:"edge" jsonschema:"required,minLength=11,maxLength=60000" words:"Edge"`
	// EdgeCm is the same line in the plane of the scale, in centimetres, so that two dates can be laid over each other.
	EdgeCm  string   `json:"edge_cm,omitempty" jsonschema:"maxLength=60000" words:"Edge in centimetres"`
	Islands []string `json:"islands,omitempty" jsonschema:"maxItems=40" words:"Islands of healed skin"`
}

// TracedScale says how pixels became centimetres.
type TracedScale struct {
	By string `json:"by" jsonschema:"required,enum=two strips,enum=one strip,enum=ruler" words:"Scale from"`
	// OneLaid is the nurse's word that no second strip was laid and that the one lies level with the wound, which no photo
	// shows. Outlines from before it was asked have one strip without it.
	OneLaid bool `json:"one_laid,omitempty" words:"Only one strip was laid, level with the wound"`
	// CheckRulerMm is what the check ruler of the printed sheet measured, when it was not printed at its true size.
	CheckRulerMm *float64 `json:"check_ruler_mm,omitempty" jsonschema:"minimum=50,maximum=200" unit:"mm" words:"The check ruler measures"`
	// Ruler is two points on a ruler in the photo, RulerCm apart.
	Ruler   string   `json:"ruler,omitempty" jsonschema:"maxLength=80" words:"Two points on a ruler"`
	RulerCm *float64 `json:"ruler_cm,omitempty" jsonschema:"minimum=0.5,maximum=100" unit:"cm" words:"Distance between them"`
	// GirthCm is how far it is around the limb at the wound: a flat photo shows a wound around a limb too small.
	GirthCm *float64 `json:"girth_cm,omitempty" jsonschema:"minimum=4,maximum=200" unit:"cm" words:"Around the limb"`
	PxPerCm float64  `json:"px_per_cm,omitempty" jsonschema:"minimum=0,maximum=10000" words:"Pixels in a centimetre"`
	TiltDeg *float64 `json:"tilt_deg,omitempty" jsonschema:"minimum=0,maximum=90" unit:"°" words:"Tilt"`
}

// Share is a named part of a standard error.
type Share struct {
	Name  string  `json:"name" jsonschema:"required,minLength=1,maxLength=60" words:"Part"`
	SECm2 float64 `json:"se_cm2" jsonschema:"required,minimum=0,maximum=2000" unit:"cm²" words:"Standard error"`
}

// DepthAt is a depth probed at a place of the photo.
type DepthAt struct {
	XPx     float64 `json:"x_px" jsonschema:"required,minimum=0,maximum=60000" words:"From the left, in pixels"`
	YPx     float64 `json:"y_px" jsonschema:"required,minimum=0,maximum=60000" words:"From the top, in pixels"`
	DepthCm float64 `json:"depth_cm" jsonschema:"required,minimum=0,maximum=20" unit:"cm" words:"Depth"`
}

// Kind returns the kind of the entry.
func (PhotoTaken) Kind() Kind { return KindPhotoTaken }

func foldPhotoTaken(f *Folding, l *Line, b PhotoTaken) {
	f.Photos = append(f.Photos, Photo{Dated: dated(l, b), First: firstID(l), Blob: firstBlob(l)})
}

// Kind returns the kind of the entry.
func (OutlineTraced) Kind() Kind { return KindOutlineTraced }

func foldOutlineTraced(f *Folding, l *Line, b OutlineTraced) {
	w := f.wound(b.Wound)
	w.Outlines = append(w.Outlines, Outline{Dated: dated(l, b), First: firstID(l)})
}

// ReadPoints reads "x,y x,y ...": pixels from the top left of the upright photo. It refuses what is no list of finite
// numbers; how many there must be, and where, is intake's to check.
func ReadPoints(s string) ([][2]float64, error) {
	words := strings.Fields(s)
	out := make([][2]float64, len(words))
	for i, w := range words {
		x, y, ok := strings.Cut(w, ",")
		if !ok {
			return nil, fmt.Errorf("casebook: point %d, %q, is not x,y", i+1, w)
		}
		for k, text := range []string{x, y} {
			v, err := strconv.ParseFloat(text, 64)
			if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, fmt.Errorf("casebook: point %d, %q, is not two numbers", i+1, w)
			}
			out[i][k] = v
		}
	}
	return out, nil
}

// WritePoints writes points to a tenth of a pixel, as [ReadPoints] reads them.
func WritePoints(points [][2]float64) string { return writePoints(points, 10) }

// WritePointsCm writes points in centimetres to a hundredth of a millimetre, as [ReadPoints] reads them.
func WritePointsCm(points [][2]float64) string { return writePoints(points, 1000) }

func writePoints(points [][2]float64, perUnit float64) string {
	var b strings.Builder
	for i, p := range points {
		if i > 0 {
			b.WriteByte(' ')
		}
		for k, v := range p {
			if k > 0 {
				b.WriteByte(',')
			}
			b.WriteString(strconv.FormatFloat(math.Round(v*perUnit)/perUnit+0, 'f', -1, 64))
		}
	}
	return b.String()
}

// Photo is a photo.taken that counts. Blob is the key of its content in this case.
type Photo struct {
	Dated[PhotoTaken]
	Blob string
	// First is the ID under which the photo was first written: another than ID when it moved in from another case.
	First string
}

// Outline is an outline.traced that counts, with its photo. At is when the photo was taken.
type Outline struct {
	Dated[OutlineTraced]
	Photo string
	First string
	// Added lists the IDs of outlines that add to this one.
	Added []string
}

// Photo returns the photo by the ID of its entry, or the one that it had before it moved here; nil when there is none.
func (c *Case) Photo(id string) *Photo {
	for i := range c.Photos {
		if c.Photos[i].ID == id || c.Photos[i].First == id {
			return &c.Photos[i]
		}
	}
	return nil
}

// Outline returns the wound's outline by the ID of its entry; nil when there is none.
func (w *Wound) Outline(id string) *Outline {
	for i := range w.Outlines {
		if w.Outlines[i].ID == id {
			return &w.Outlines[i]
		}
	}
	return nil
}

// firstID is the ID that an entry had before it moved in.
func firstID(l *Line) string {
	if b, ok := l.Entry.Body.(EntryCorrected); ok && b.Original != nil {
		return b.Original.ID
	}
	return l.Entry.ID
}

// firstBlob is the name of the line's first blob; empty when it has none.
func firstBlob(l *Line) string {
	if len(l.Entry.Blobs) == 0 {
		return ""
	}
	return l.Entry.Blobs[0]
}

// joinOutlines makes sizes of the wound's outlines. An outline whose photo does not count here, or that adds to an
// outline which does not count, has no size: nobody can look at what it was drawn on, and a part is no whole.
func (c *Case) joinOutlines(w *Wound, drawn []Outline) {
	byFirst := map[string]int{}
	for _, o := range drawn {
		if p := c.Photo(o.Body.Photo); p != nil {
			o.Photo = p.ID
			o.At = p.At
			byFirst[o.First] = len(w.Outlines)
			w.Outlines = append(w.Outlines, o)
		} else {
			w.LostOutlines = append(w.LostOutlines, o.ID)
		}
	}
	keep := w.Outlines[:0:0]
	for _, o := range w.Outlines {
		if o.Body.AddsTo == "" {
			keep = append(keep, o)
			continue
		}
		i, ok := byFirst[o.Body.AddsTo]
		if !ok || w.Outlines[i].Body.AddsTo != "" {
			w.LostOutlines = append(w.LostOutlines, o.ID)
			continue
		}
		keep = append(keep, o)
	}
	w.Outlines = keep
	sort.SliceStable(w.Outlines, func(i, j int) bool { return before(w.Outlines[i].Dated, w.Outlines[j].Dated) })
	for _, o := range w.Outlines {
		if o.Body.AddsTo == "" {
			continue
		}
		for i := range w.Outlines {
			if w.Outlines[i].First == o.Body.AddsTo {
				w.Outlines[i].Added = append(w.Outlines[i].Added, o.ID)
			}
		}
	}
	for i := range w.Outlines {
		if o := &w.Outlines[i]; o.Body.AddsTo == "" {
			w.Measured = append(w.Measured, Dated[WoundMeasured]{ID: o.ID, At: o.At, Recorded: o.Recorded, Author: o.Author, Body: w.Size(o)})
		}
	}
	if len(w.Outlines) > 0 {
		sort.SliceStable(w.Measured, func(i, j int) bool { return before(w.Measured[i], w.Measured[j]) })
	}
}

// Size is the outline as a measurement, further parts added. Length and width of a wound in several photos are not known,
// and shares of tissue count only when a nurse confirmed them.
func (w *Wound) Size(o *Outline) WoundMeasured {
	var area float64
	for _, p := range w.Parts(o) {
		area += p.Body.AreaCm2
	}
	m := WoundMeasured{Wound: w.Name, AreaCm2: &area, Method: "outline", Convention: "longest and square to it", Note: o.Body.Note}
	if len(o.Added) == 0 {
		m.LengthCm, m.WidthCm, m.PerimeterCm = o.Body.LengthCm, o.Body.WidthCm, o.Body.PerimeterCm
		if o.Body.TissueFrom == "confirmed" {
			m.Tissue = o.Body.Tissue
		}
	}
	deepest := func(list []DepthAt) {
		for _, d := range list {
			if m.DepthCm == nil || d.DepthCm > *m.DepthCm {
				v := d.DepthCm
				m.DepthCm = &v
			}
		}
	}
	for _, p := range w.Parts(o) {
		deepest(p.Body.Depths)
	}
	return m
}

// Parts are the outline and those that add to it.
func (w *Wound) Parts(o *Outline) []*Outline {
	out := []*Outline{o}
	for _, id := range o.Added {
		if p := w.Outline(id); p != nil {
			out = append(out, p)
		}
	}
	return out
}
