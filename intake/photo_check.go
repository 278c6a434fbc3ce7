package intake

import (
	"fmt"
	"strconv"

	"lowtide/casebook"
)

// maxPoints bounds one closed line: a finger drawing at full speed leaves some hundred.
const maxPoints = 4000

// checkOutline reports what an outline's lines and numbers cannot say together.
func checkOutline(b casebook.OutlineTraced, at finding) {
	for i, p := range b.Parts {
		where := "/parts/" + strconv.Itoa(i)
		checkLine(where+"/edge", "The edge", p.Edge, 3, at)
		if p.EdgeCm != "" {
			checkLine(where+"/edge_cm", "The edge in centimetres", p.EdgeCm, 3, at)
		}
		for j, hole := range p.Islands {
			checkLine(where+"/islands/"+strconv.Itoa(j), "The island", hole, 3, at)
		}
	}
	if checkLine("/marks", "The marks on the skin", b.Marks, 0, at) != checkLine("/marks_cm", "The marks in centimetres", b.MarksCm, 0, at) {
		at("/marks_cm", CodeContradicts, shorten(b.MarksCm), "There are not as many marks in centimetres as in the photo.", "Write each mark in both, in the same order.")
	}
	if b.HeadCm != "" && checkLine("/head_cm", "The direction of the head", b.HeadCm, 1, at) > 1 {
		at("/head_cm", CodeItems, shorten(b.HeadCm), "The direction of the head is one point.", `Write it as "x,y".`)
	}
	if b.Scale.OneLaid && b.Scale.By != "one strip" {
		at("/scale/one_laid", CodeContradicts, b.Scale.By, "Only one strip is said to be laid, and the scale is not from one strip.", "Take the statement out, or correct where the scale is from.")
	}
	if b.Scale.By == "ruler" {
		if checkLine("/scale/ruler", "The ruler", b.Scale.Ruler, 2, at) > 2 {
			at("/scale/ruler", CodeItems, shorten(b.Scale.Ruler), "A ruler needs two points.", "Mark two points on the ruler.")
		}
		if b.Scale.RulerCm == nil {
			at("/scale/ruler_cm", CodeMissing, "", "The distance between the two points on the ruler is missing.", "Write how many centimetres lie between them.")
		}
	}
	if t := b.Tissue; t != nil {
		if d := t.Sum() - 100; d > tissueTolerance || d < -tissueTolerance {
			at("/tissue", CodeTissueSum, printNumber(t.Sum())+" %", fmt.Sprintf("The tissue shares sum to %s %%.", printNumber(t.Sum())), "Correct the shares so that they sum to 100 %; leave tissue out if it was not judged.")
		}
		if b.TissueFrom == "" {
			at("/tissue_from", CodeMissing, "", "It is not said whether the tissue shares are suggested or confirmed.", `Write "suggested" or "confirmed".`)
		}
	}
	if b.VolumeCm3 != nil && b.VolumeModel == "" {
		at("/volume_model", CodeMissing, "", "The model of the volume is missing: models differ up to four times.", "Name the model, or leave the volume out.")
	}
}

// checkLine reads the points of a line and returns how many there are.
func checkLine(pointer, what, text string, least int, at finding) int {
	points, err := casebook.ReadPoints(text)
	switch {
	case err != nil:
		at(pointer, CodeFormat, shorten(text), what+" is no list of points.", `Write pixels of the upright photo as "x,y x,y x,y".`)
	case len(points) < least:
		at(pointer, CodeItems, strconv.Itoa(len(points)), fmt.Sprintf("%s has %d points; at least %d are needed.", what, len(points), least), "Draw the line again.")
	case len(points) > maxPoints:
		at(pointer, CodeItems, strconv.Itoa(len(points)), fmt.Sprintf("%s has %d points; at most %d are kept.", what, len(points), maxPoints), "Draw the line with fewer points.")
	}
	return len(points)
}

// photo checks that a photo entry names its one file.
func (c *checker) photo(i int, prefix string, e casebook.Entry) {
	if len(e.Blobs) != 1 {
		c.at(i, prefix+"/blobs", CodeItems, strconv.Itoa(len(e.Blobs)), fmt.Sprintf("A photo is one file; this entry names %d.", len(e.Blobs)), "Name the SHA-256 of the photo, and only that.")
	}
}

// outline checks an outline against its photo.
func (c *checker) outline(i int, prefix string, b casebook.OutlineTraced) {
	if c.incomplete || b.Photo == "" {
		return
	}
	photo, ok := c.photoOf(b.Photo)
	if !ok {
		c.at(i, prefix+"/photo", CodeCorrection, b.Photo, "The case has no photo with this ID.", "Name the photo.taken entry that the outline was drawn on; it must be in the file or already kept.")
		return
	}
	inside := func(pointer, text string) {
		points, err := casebook.ReadPoints(text)
		for _, p := range points {
			if err == nil && (p[0] < -1 || p[1] < -1 || p[0] > float64(photo.WidthPx)+1 || p[1] > float64(photo.HeightPx)+1) {
				c.at(i, prefix+pointer, CodeRange, fmt.Sprintf("%g,%g", p[0], p[1]), "A point lies outside the photo.", "Draw inside the photo; a wound that reaches beyond it needs another photo.")
				return
			}
		}
	}
	for j, p := range b.Parts {
		inside("/parts/"+strconv.Itoa(j)+"/edge", p.Edge)
		for k, hole := range p.Islands {
			inside("/parts/"+strconv.Itoa(j)+"/islands/"+strconv.Itoa(k), hole)
		}
	}
	inside("/scale/ruler", b.Scale.Ruler)
	inside("/marks", b.Marks)
}

// photoOf finds a photo by its entry's ID, or by the one that it had before it moved in.
func (c *checker) photoOf(id string) (casebook.PhotoTaken, bool) {
	if e, ok := c.byID[id]; ok {
		if b, ok := e.Body.(casebook.PhotoTaken); ok {
			return b, true
		}
		if k, ok := e.Body.(casebook.EntryCorrected); ok && k.Original != nil {
			b, ok := k.Original.Body.(casebook.PhotoTaken)
			return b, ok
		}
		return casebook.PhotoTaken{}, false
	}
	for _, e := range c.byID {
		if k, ok := e.Body.(casebook.EntryCorrected); ok && k.Original != nil && k.Original.ID == id {
			b, ok := k.Original.Body.(casebook.PhotoTaken)
			return b, ok
		}
	}
	return casebook.PhotoTaken{}, false
}
