package page

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/state"
	"lowtide/unit"
	"lowtide/wording"
)

// OutlinePage shows a photo with what was confirmed on it, and lets a nurse draw.
type OutlinePage struct {
	Frame
	CaseHref, WoundHref string
	Heading, Taken      string
	About               []Part
	Src, Alt            string
	Width, Height       int
	Confirmed           []ConfirmedOutline
	Shapes              []ConfirmedShape
	Problems            []FormProblem
	// Draw is false for those who may only look. NotBrought is true when there is no photo to look at.
	Draw, NotBrought bool
	// Store is the name under which the browser keeps the drawing, Saved tells that it was just confirmed.
	Store, Wounds, Drawing    string
	Saved                     bool
	Action, Edge, Measure     string
	Key                       string
	RulerCm, CheckMm, DepthCm FormField
	OneLaid                   FormField
	GirthCm                   FormField
	AddsTo                    FormField
	Strips                    []Link
	TypeSizes                 Link
	Result                    *OutlineResult
}

// ConfirmedOutline is an outline of this photo in words.
type ConfirmedOutline struct {
	Title string
	Parts []Part
	Log   Link
}

// ConfirmedShape is one line of it, as an SVG polygon over the photo.
type ConfirmedShape struct {
	Points string
	Island bool
}

// OutlineResult is what a drawing measures, before it is confirmed.
type OutlineResult struct {
	Problems []FormProblem
	Refused  *state.Refusal
	Wounds   []OutlineWound
	Notes    []string
	// Seen stands for exactly these numbers: the confirmation names it.
	Seen, Said string
	// OneStrip tells that one strip was seen where two are expected.
	OneStrip bool
	// Note is what was typed before the sizes were worked out again.
	Note      string
	TypeSizes Link
}

// OutlineWound is the panel of one wound.
type OutlineWound struct {
	Name    string
	Refused *state.Refusal
	Area    string
	Sizes   []Part
	Errors  [][2]string
	Volumes []OutlineVolume
	// VolumeName and TissueName are the names of the choices.
	VolumeName, TissueName string
	Tissue                 string
	TissueWords, TissueWhy string
	CannotTell             string
	Notes                  []string
	TissueChosen           string
}

// OutlineVolume is a volume that may be written down.
type OutlineVolume struct {
	Model, Words, Volume string
	Chosen               bool
}

// OutlineInput is what the page is made of.
type OutlineInput struct {
	Case  *casebook.Case
	Photo *casebook.Photo
	Clock Clock
	Typed
	Key    string
	Person string // who draws: her drawing is kept apart from others' on the same computer
	Draw   bool
	// NotBrought: the case was imported without this photo.
	NotBrought bool
	Saved      bool
	Result     *OutlineResult
}

// NewOutline builds the page.
func NewOutline(frame Frame, in OutlineInput) OutlinePage {
	c, photo, k := in.Case, in.Photo, in.Clock
	p := OutlinePage{Frame: frame, CaseHref: CasePath(c.ID), WoundHref: WoundPath(c.ID, photo.Body.Wound), Heading: "Outline on a photo of wound " + photo.Body.Wound, Taken: k.At(photo.At),
		Src: PhotoPath(c.ID, photo.ID), Alt: "Photo of wound " + photo.Body.Wound + ", taken " + k.At(photo.At), Width: photo.Body.WidthPx, Height: photo.Body.HeightPx,
		Draw: in.Draw && !in.NotBrought, NotBrought: in.NotBrought, Saved: in.Saved, Key: in.Key, Store: in.Person + ":" + c.ID + ":" + photo.ID, Drawing: in.Values.Get("drawing"), Result: in.Result}
	here := OutlinePath(c.ID, photo.ID)
	p.Action, p.Edge, p.Measure = here+"/confirm", here+"/edge", here+"/measure"
	p.About = Say(photo.Body, k).Parts
	p.TypeSizes = typeSizes(c.ID, photo.Body.Wound)
	names := []string{photo.Body.Wound}
	for _, w := range c.Wounds {
		if w.Name != photo.Body.Wound && w.Found != nil {
			names = append(names, w.Name)
		}
	}
	p.Wounds = strings.Join(names, "\n")
	p.confirmed(c, photo, k)
	b := newFormBuilder(in.Typed)
	line := func(name, label, unitName, hint string) FormField {
		b.known[name] = label
		return FormField{Control: ControlLine, Type: "text", Name: name, Pointer: name, Label: label, Unit: unitName, Hint: hint, Keypad: "decimal", Value: b.get(name), Problems: b.wrong(name)}
	}
	p.CheckMm = line("check_ruler_mm", "The check ruler of the printed sheet measures", "mm", "The ruler on the printed sheet of strips. Leave empty when it is 150 mm long, measured with a real ruler.")
	p.OneLaid = FormField{Control: ControlTick, Name: "one_laid", Pointer: "one_laid", Label: oneLaid, Value: b.get("one_laid"),
		Hint: "Two are expected. Tick this only when you laid one, and saw that it lies as level as the skin at the wound's edge: no photo shows a slope under a single strip, and the size is less sure."}
	p.RulerCm = line("ruler_cm", "The two points on the ruler are apart", "cm", "Only when you marked two points on a ruler. A scale from one line does not know the tilt of the camera: hold it square.")
	p.GirthCm = line("girth_cm", "Around the limb, at the wound", "cm", "Only on an arm, leg, heel, hand or finger: lay a tape around it at the height of the wound, 4 to 200 cm. A flat photo shows a wound around a limb too small; with this the span says by how much. Leave empty on a flat part of the body.")
	p.DepthCm = line("depth_cm", "Greatest depth, when no place is marked", "cm", "For an estimate of the volume. A depth that belongs to a place is better: mark it with the tool Depth.")
	b.known["adds_to"] = "Another part of"
	p.AddsTo = FormField{Control: ControlSelect, Name: "adds_to", Pointer: "adds_to", Label: "Another part of a large wound", Hint: "Only when one photo cannot hold the wound: the areas add up. Draw each piece on one photo only.", Problems: b.wrong("adds_to"),
		Options: addable(c, photo, k, b.get("adds_to"))}
	p.Problems = b.list()
	p.Strips = []Link{{"/strips/a4", "Print the strips on A4"}, {"/strips/letter", "Print the strips on Letter"}}
	return p
}

// oneLaid is the statement that makes one strip enough.
const oneLaid = "Only one strip was laid, level with the wound"

func typeSizes(caseID, wound string) Link {
	return Link{CasePath(caseID, "add", string(casebook.KindWoundMeasured)) + "?wound=" + query(wound), "Type the sizes instead"}
}

// near is how far apart the photos of one large wound may be taken.
const near = 3 * time.Hour

// addable lists the outlines that this photo may show a further part of, newest first.
func addable(c *casebook.Case, photo *casebook.Photo, k Clock, chosen string) []Option {
	out := []Option{{"", "no, the whole wound is on this photo", chosen == ""}}
	for i := range c.Wounds {
		for _, o := range slices.Backward(c.Wounds[i].Outlines) {
			if d := o.At.Sub(photo.At).Abs(); o.Photo != photo.ID && o.Body.AddsTo == "" && d <= near {
				out = append(out, Option{o.ID, "wound " + c.Wounds[i].Name + ", " + k.At(o.At) + ", " + areaWords(o.Body.AreaCm2, o.Body.AreaSECm2), chosen == o.ID})
			}
		}
	}
	return out
}

// confirmed lists what was confirmed on the photo.
func (p *OutlinePage) confirmed(c *casebook.Case, photo *casebook.Photo, k Clock) {
	for i := range c.Wounds {
		for _, o := range c.Wounds[i].Outlines {
			if o.Photo != photo.ID {
				continue
			}
			said := Say(o.Body, k)
			p.Confirmed = append(p.Confirmed, ConfirmedOutline{Title: said.Title + " by " + joined("", o.Author), Parts: said.Parts, Log: Link{LogPath(c.ID, o.ID), "In the log"}})
			for _, part := range o.Body.Parts {
				p.Shapes = append(p.Shapes, ConfirmedShape{Points: part.Edge})
				for _, island := range part.Islands {
					p.Shapes = append(p.Shapes, ConfirmedShape{Points: island, Island: true})
				}
			}
		}
	}
}

// Box is the picture's own coordinates.
func (p OutlinePage) Box() string {
	return "0 0 " + strconv.Itoa(p.Width) + " " + strconv.Itoa(p.Height)
}

// NewOutlineResult puts sizes into words. typed holds what was chosen for volume and tissue.
func NewOutlineResult(caseID, wound string, sizes state.OutlineSizes, seen string, t Typed) *OutlineResult {
	r := &OutlineResult{Refused: sizes.Refused, Notes: sizes.Notes, Seen: seen, Note: t.Values.Get("note"), TypeSizes: typeSizes(caseID, wound)}
	for _, x := range sizes.Wounds {
		w := OutlineWound{Name: x.Wound, Refused: x.Refused, VolumeName: "volume/" + x.Wound, TissueName: "tissue/" + x.Wound, CannotTell: x.CannotTell, Notes: x.Notes, TissueWords: x.TissueWords, TissueWhy: x.TissueWhy}
		if x.Refused == nil {
			w.sizes(x, t)
			r.Said = joined(" ", r.Said, "Wound "+x.Wound+": area "+w.Area+".")
		} else {
			r.Said = joined(" ", r.Said, "Wound "+x.Wound+": "+x.Refused.Words)
		}
		r.Wounds = append(r.Wounds, w)
	}
	if sizes.Refused != nil {
		r.Said = sizes.Refused.Words
		r.OneStrip = sizes.Refused.Reason == state.OneStripOnly
	}
	b := newFormBuilder(t)
	b.known["ruler_cm"], b.known["one_laid"], b.known["check_ruler_mm"], b.known["depth_cm"], b.known["adds_to"], b.known["girth_cm"] = "Ruler", oneLaid, "Check ruler", "Greatest depth", "Another part", "Around the limb"
	r.Problems = b.list()
	if len(r.Problems) > 0 {
		r.Said = "Something has to be mended first."
	}
	return r
}

// Confirmable tells whether every wound has a size.
func (r *OutlineResult) Confirmable() bool {
	if r.Refused != nil || len(r.Wounds) == 0 || r.Seen == "" {
		return false
	}
	for _, w := range r.Wounds {
		if w.Refused != nil {
			return false
		}
	}
	return true
}

func (w *OutlineWound) sizes(x state.OutlineOfWound, t Typed) {
	e := x.Entry
	w.Area = areaWords(e.AreaCm2, e.AreaSECm2)
	put := func(label string, v *float64) {
		if v != nil {
			w.Sizes = append(w.Sizes, Part{label, unit.Number(*v, 1) + " cm"})
		}
	}
	w.Sizes = append(w.Sizes, Part{"Area, " + unit.HowSure + " between", unit.Within(e.AreaCm2, e.AreaSECm2, "cm²")})
	put("Greatest length", e.LengthCm)
	put("Width square to it", e.WidthCm)
	put("Length, head to toe", e.HeadLengthCm)
	put("Width, side to side", e.HeadWidthCm)
	put("Perimeter", e.PerimeterCm)
	if x.Roundness != nil {
		w.Sizes = append(w.Sizes, Part{"Roundness", unit.Number(*x.Roundness, 2) + " (a circle is 1; the longer or more ragged, the less)"})
	}
	if x.CentrePx != nil {
		w.Sizes = append(w.Sizes, Part{"Centre of the area", unit.Number(x.CentrePx[0], 0) + " pixels from the left of the photo, " + unit.Number(x.CentrePx[1], 0) + " from its top"})
	}
	w.Sizes = append(w.Sizes, Part{"Scale", wording.Scale(e.Scale)})
	for _, s := range e.Errors {
		w.Errors = append(w.Errors, [2]string{s.Name, unit.Number(s.SECm2, 3) + " cm²"})
	}
	chosen := t.Values.Get(w.VolumeName)
	for _, v := range x.Volumes {
		w.Volumes = append(w.Volumes, OutlineVolume{Model: v.Model, Words: v.Words, Volume: unit.Number(v.Cm3, 1) + " cm³", Chosen: v.Model == chosen})
	}
	if x.Tissue != nil {
		w.Tissue = wording.Tissue(*x.Tissue)
		w.TissueChosen = t.Values.Get(w.TissueName)
	}
}
