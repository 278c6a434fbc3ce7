package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"net/url"
	"strings"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/state"
	"lowtide/unit"
)

// Limits of a drawing: far more than a nurse draws, and little enough to be measured in a moment.
const (
	maxDrawnParts   = 12
	maxDrawnIslands = 40
	maxDrawnPoints  = 4000
	maxDrawnDepths  = 40
	maxDrawnMarks   = 8
)

// drawingForm is the drawing as the page's script sends it.
type drawingForm struct {
	Parts []struct {
		Wound   string         `json:"wound"`
		Edge    [][2]float64   `json:"edge"`
		Islands [][][2]float64 `json:"islands"`
		SE      float64        `json:"se"`
		Pulled  [][2]float64   `json:"pulled"`
	} `json:"parts"`
	Ruler  [][2]float64 `json:"ruler"`
	Marks  [][2]float64 `json:"marks"`
	Depths []struct {
		X  float64 `json:"x"`
		Y  float64 `json:"y"`
		Cm string  `json:"cm"`
	} `json:"depths"`
}

// readDrawing reads what was drawn and the numbers beside it. Points outside the photo are refused, not moved.
func readDrawing(form url.Values, photo *casebook.Photo) (d state.Drawn, ps intake.Problems) {
	var f drawingForm
	dec := json.NewDecoder(strings.NewReader(form.Get("drawing")))
	dec.DisallowUnknownFields()
	if form.Get("drawing") == "" || dec.Decode(&f) != nil || dec.More() || len(f.Parts) > maxDrawnParts || len(f.Depths) > maxDrawnDepths {
		return d, intake.Problems{badDrawing}
	}
	ok := true
	line := func(points [][2]float64) [][2]float64 {
		ok = ok && len(points) <= maxDrawnPoints && onPhoto(points, photo.Body)
		return points
	}
	for _, p := range f.Parts {
		part := state.DrawnPart{Wound: p.Wound, Edge: line(p.Edge), EdgeSE: p.SE, Pulled: line(p.Pulled)}
		ok = ok && len(p.Islands) <= maxDrawnIslands && p.SE >= 0 && p.SE <= 1
		for _, island := range p.Islands {
			part.Islands = append(part.Islands, line(island))
		}
		d.Parts = append(d.Parts, part)
	}
	d.Ruler, d.Marks = line(f.Ruler), line(f.Marks)
	ok = ok && len(d.Marks) <= maxDrawnMarks
	if !ok {
		return d, intake.Problems{badDrawing}
	}
	if len(d.Parts) == 0 {
		ps = append(ps, intake.Problem{Code: intake.CodeMissing, Message: "Nothing is drawn.", Remedy: "Draw around the wound."})
	}
	d.CheckRulerMm, ps = typedNumber(form, "check_ruler_mm", "The check ruler", "mm", 50, 200, ps)
	d.OneLaid = form.Get("one_laid") == "true"
	d.GirthCm, ps = typedNumber(form, "girth_cm", "The distance around the limb", "cm", 4, 200, ps)
	d.RulerCm, ps = typedNumber(form, "ruler_cm", "The distance on the ruler", "cm", 0.5, 100, ps)
	switch {
	case len(d.Ruler) == 1 || len(d.Ruler) > 2:
		ps = append(ps, intake.Problem{Pointer: "ruler_cm", Code: intake.CodeItems, Message: "A ruler needs two points.", Remedy: "Mark the second point, or take the ruler off."})
	case len(d.Ruler) == 2 && d.RulerCm == nil && strings.TrimSpace(form.Get("ruler_cm")) == "":
		ps = append(ps, intake.Problem{Pointer: "ruler_cm", Code: intake.CodeMissing, Message: "Two points on a ruler are marked, and their distance is missing.", Remedy: "Write how many centimetres lie between them."})
	case len(d.Ruler) == 0 && d.RulerCm != nil:
		ps = append(ps, intake.Problem{Pointer: "ruler_cm", Code: intake.CodeMissing, Message: "A distance is written, and no ruler is marked.", Remedy: "Mark two points on the ruler with the tool Ruler, or leave the distance empty."})
	}
	for i, p := range f.Depths {
		at := fmt.Sprintf("Depth %d", i+1)
		v, err := unit.Parse(strings.TrimSpace(p.Cm), "cm")
		switch {
		case !onPhoto([][2]float64{{p.X, p.Y}}, photo.Body):
			return d, intake.Problems{badDrawing}
		case err != nil || !(v >= 0 && v <= 20):
			ps = append(ps, intake.Problem{Code: intake.CodeNumber, Value: p.Cm, Message: at + " is marked without a depth that can be read.", Remedy: "Write it in centimetres, 0 to 20, or take the mark off."})
		default:
			d.Depths = append(d.Depths, casebook.DepthAt{XPx: p.X, YPx: p.Y, DepthCm: v})
		}
	}
	d.DepthCm, ps = typedNumber(form, "depth_cm", "The greatest depth", "cm", 0, 20, ps)
	return d, ps
}

func onPhoto(points [][2]float64, photo casebook.PhotoTaken) bool {
	for _, p := range points {
		if !(p[0] >= 0 && p[1] >= 0 && p[0] <= float64(photo.WidthPx) && p[1] <= float64(photo.HeightPx)) || math.IsNaN(p[0]+p[1]) {
			return false
		}
	}
	return true
}

// typedNumber reads a number that may be left out; a decimal comma and a unit may be typed.
func typedNumber(form url.Values, name, words, unitName string, least, most float64, ps intake.Problems) (*float64, intake.Problems) {
	text := strings.TrimSpace(form.Get(name))
	if text == "" {
		return nil, ps
	}
	v, err := unit.Parse(text, unitName)
	if err != nil || !(v >= least && v <= most) {
		return nil, append(ps, intake.Problem{Pointer: name, Code: intake.CodeNumber, Value: text, Message: fmt.Sprintf("%s cannot be %q.", words, text), Remedy: fmt.Sprintf("Write a number from %g to %g, in %s, or leave it empty.", least, most, unitName)})
	}
	return &v, ps
}

// canonical is the drawing with its spaces taken out, for the mark that stands for what was seen.
func canonical(text string) string {
	var b bytes.Buffer
	if json.Compact(&b, []byte(text)) != nil {
		return text
	}
	return b.String()
}
