package wording

import (
	"strconv"
	"strings"

	"lowtide/casebook"
	"lowtide/unit"
)

func (s *sayer) photo(b casebook.PhotoTaken) {
	s.Title = "Photo of wound " + b.Wound
	s.put("The patient's head lies towards", b.Head)
	s.put("Taken by", b.TakenBy)
	s.put("Size of the photo", strconv.Itoa(b.WidthPx)+" × "+strconv.Itoa(b.HeightPx)+" pixels")
	s.put("Note", b.Note)
}

// outline says a confirmed outline with everything that its sizes rest on.
func (s *sayer) outline(b casebook.OutlineTraced) {
	s.Title = "Outline of wound " + b.Wound + " confirmed"
	s.put("Area", unit.Span(b.AreaCm2, b.AreaSECm2, "cm²"))
	var shares []string
	for _, e := range b.Errors {
		shares = append(shares, e.Name+" "+unit.Number(e.SECm2, 1)+" cm²")
	}
	s.put("The error is made of", strings.Join(shares, ", "))
	if b.AddsTo != "" {
		s.put("A further part", "adds to another outline of this wound on another photo")
	}
	s.number("Perimeter", b.PerimeterCm, 1, "cm")
	s.number("Greatest length", b.LengthCm, 1, "cm")
	s.number("Width square to it", b.WidthCm, 1, "cm")
	s.number("Length, head to toe", b.HeadLengthCm, 1, "cm")
	s.number("Width, side to side", b.HeadWidthCm, 1, "cm")
	var depths []string
	for _, d := range b.Depths {
		depths = append(depths, unit.Number(d.DepthCm, 1)+" cm")
	}
	s.put("Depths at marked places", strings.Join(depths, ", "))
	if b.VolumeCm3 != nil {
		s.put("Volume", unit.Number(*b.VolumeCm3, 1)+" cm³, by the model “"+b.VolumeModel+"”")
	}
	if marks := strings.Fields(b.Marks); len(marks) > 0 {
		s.put("Marks on the skin", strconv.Itoa(len(marks)))
	}
	s.put("Scale", Scale(b.Scale))
	islands := 0
	for _, p := range b.Parts {
		islands += len(p.Islands)
	}
	s.put("Drawn", unit.Count(len(b.Parts), "part", "parts")+", "+unit.Count(islands, "island", "islands")+" of healed skin cut out")
	if b.Tissue != nil {
		from := "suggested by colour, confirmed by nobody"
		if b.TissueFrom == "confirmed" {
			from = "suggested by colour and confirmed by the nurse"
		}
		s.put("Tissue", Tissue(*b.Tissue)+" ("+from+")")
	}
	s.put("Note", b.Note)
}

// Scale says where the centimetres of an outline come from.
func Scale(b casebook.TracedScale) string {
	words := b.By
	if b.OneLaid {
		words += ", the only one that was laid, level with the wound by the nurse's word"
	}
	if b.By == "ruler" && b.RulerCm != nil {
		words = "two points on a ruler, " + Cm(*b.RulerCm) + " apart"
	}
	if b.CheckRulerMm != nil {
		words += ", print scale corrected: the check ruler measures " + unit.Number(*b.CheckRulerMm, 1) + " mm"
	}
	if b.PxPerCm > 0 {
		words += ", " + unit.Number(b.PxPerCm, 0) + " pixels in a centimetre"
	}
	if b.GirthCm != nil {
		words += ", limb " + Cm(*b.GirthCm) + " around"
	}
	if b.TiltDeg != nil {
		words += ", tilt " + unit.Number(*b.TiltDeg, 0) + "°"
	}
	return words
}
