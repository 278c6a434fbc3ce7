package wording

import (
	"fmt"
	"strconv"
	"strings"

	"lowtide/casebook"
	"lowtide/unit"
)

func (s *sayer) visit(b casebook.DressingChanged) {
	var names []string
	for _, w := range b.Wounds {
		names = append(names, w.Wound)
	}
	s.Title = "Visit: dressing changed, wound " + strings.Join(names, ", ")
	for _, w := range b.Wounds {
		s.woundChange(w)
	}
	s.put("Seal", b.Seal)
	s.number("Suction shown after the change", b.SuctionMmHg, 0, "mmHg")
	s.holdTest(b.HoldTest)
	s.number("Motor runs", b.MotorPct, 1, "% of the time")
	s.pumpPlace(b.PumpPlace)
	s.seen(b.Seen)
	if b.Canister != nil {
		s.canister(*b.Canister)
	}
	if p := b.Power; p != nil {
		s.put("Therapy", p.Therapy)
		s.number("Battery", p.BatteryPct, 0, "%")
		s.yesNo("Plugged in", p.PluggedIn)
		s.time("To be plugged in again at", p.PlugInAt)
		s.put("Note on the pump", p.Note)
	}
	for _, u := range b.Used {
		s.put("Used", usedWords(u))
	}
	s.time("Next visit", b.NextVisit)
	s.put("Note", b.Note)
}

// usedWords says what a visit used up.
func usedWords(u casebook.SupplyUsed) string {
	words := strconv.Itoa(u.Count) + " × " + u.Item
	if u.Lot != "" {
		words += ", lot " + u.Lot
	}
	if u.Expires != "" {
		words += ", use before " + u.Expires
	}
	switch u.From {
	case "car":
		words += ", from the car"
	case "shelf":
		words += ", from the shelf"
	}
	return words
}

// holdTest says the two readings of a hold test and the time between them.
func (s *sayer) holdTest(h *casebook.HoldTest) {
	if h != nil {
		s.put("Seal hold test", "from "+unit.Number(h.FirstMmHg, 0)+" to "+unit.Number(h.SecondMmHg, 0)+" mmHg in "+unit.Number(h.Seconds, 0)+" s, pump paused")
	}
}

func (s *sayer) pumpPlace(p *casebook.PumpPlace) {
	if p == nil {
		return
	}
	s.put("Where the pump is", p.Place)
	s.number("Height of the pump above the wound", p.AboveCm, 0, "cm")
	s.put("Liquid in the tube", p.Liquid)
}

// woundChange says what a change did to one wound. A count that nobody made is said as such.
func (s *sayer) woundChange(w casebook.WoundChange) {
	count := func(list []casebook.Pieces, none bool) string {
		switch {
		case len(list) > 0:
			return pieces(list)
		case none:
			return "none"
		}
		return "not counted"
	}
	label := func(what string) string { return "Wound " + w.Wound + ", " + what }
	s.put(label("taken out"), count(w.Out, w.NoneOut))
	s.put(label("put in"), count(w.In, w.NoneIn))
	s.yesNo(label("contact layer"), w.ContactLayer)
	s.list(label("skin around"), w.Periwound)
	s.list(label("bed"), w.Bed)
	s.put(label("exudate"), w.Exudate)
}

func (s *sayer) seen(b casebook.Seen) {
	s.list("Danger signs", b.Signs)
	s.number("Temperature", b.TemperatureC, 1, "°C")
	s.number("Systolic blood pressure", b.SystolicMmHg, 0, "mmHg")
	s.number("Usual systolic blood pressure", b.SystolicUsualMmHg, 0, "mmHg")
	s.number("Pain, 0 to 10", b.Pain, 0, "")
	s.list("Signs now dealt with", b.Settles)
	s.put("What was done and who was told", b.Done)
}

func (s *sayer) accounted(b casebook.PiecesAccounted) {
	s.Title = fmt.Sprintf("Wound %s: %d %s accounted for", b.Wound, b.Count, b.Filler)
	s.put("What became of them", b.Outcome)
	s.put("Who found, read or said it", b.By)
	s.time("When it was said or read", b.SaidAt)
	s.put("Where, which picture, or who was told", b.Note)
}

func (s *sayer) measured(b casebook.WoundMeasured) {
	s.Title = "Wound " + b.Wound + " measured"
	if b.LengthCm != nil && b.WidthCm != nil {
		s.put("Length × width", unit.Number(*b.LengthCm, 1)+" × "+Cm(*b.WidthCm))
	} else {
		s.number("Length", b.LengthCm, 1, "cm")
		s.number("Width", b.WidthCm, 1, "cm")
	}
	s.number("Depth", b.DepthCm, 1, "cm")
	s.number("Area", b.AreaCm2, 1, "cm²")
	s.number("Edge all round", b.PerimeterCm, 1, "cm")
	if b.VolumeCm3 != nil {
		s.put("Volume", unit.Number(*b.VolumeCm3, 1)+" cm³, "+b.VolumeMethod)
	}
	s.put("Method", b.Method)
	s.put("Convention", b.Convention)
	s.put("Undermining", Unders(b.Undermining))
	s.put("Tunnels", Unders(b.Tunnels))
	if b.Tissue != nil {
		s.put("Tissue", Tissue(*b.Tissue))
	}
	s.yesNo("Bed level with the edges", b.BedLevel)
	s.put("Note", b.Note)
}

// Unders says undermining or tunnels by clock position.
func Unders(list []casebook.Under) string {
	var out []string
	for _, u := range list {
		words := "at " + unit.Number(u.FromClock, 1) + " o'clock"
		if u.ToClock != nil {
			words = "from " + unit.Number(u.FromClock, 1) + " to " + unit.Number(*u.ToClock, 1) + " o'clock"
		}
		out = append(out, words+", "+Cm(u.DepthCm)+" deep")
	}
	return strings.Join(out, "; ")
}

func Tissue(t casebook.Tissue) string {
	var out []string
	for _, x := range []struct {
		words string
		pct   float64
	}{{"granulation", t.GranulationPct}, {"slough", t.SloughPct}, {"eschar", t.EscharPct}, {"epithelium", t.EpitheliumPct}, {"other", t.OtherPct}} {
		if x.pct != 0 {
			out = append(out, x.words+" "+unit.Number(x.pct, 0)+" %")
		}
	}
	return strings.Join(out, ", ")
}

func (s *sayer) note(b casebook.NoteWritten) {
	s.Title = "Note"
	s.put("Note", b.Text)
	s.seen(b.Seen)
	s.put("The patient wishes", b.Wish)
	s.put("Prescriber told", b.PrescriberTold)
	s.put("A drug against clotting in this note is", b.ClotDrug)
	s.list("About findings", b.About)
	s.time("Next visit", b.NextVisit)
}
