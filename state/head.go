package state

import (
	"math"

	"lowtide/casebook"
	"lowtide/suction"
	"lowtide/unit"
)

// Head is what liquid in the tube does at the pump's place, for the dressing now on.
type Head struct {
	// Known tells that the place was noted at the last visit.
	Known   bool
	AboveCm float64
	Words   string
	// MMHg is what the column takes (positive) or adds (negative); nil when it cannot be told. MostMmHg is the
	// amount, without sign, if the whole run is filled.
	MMHg     *float64
	MostMmHg float64
	Entry    string
}

// reach is how far from the wound a pump can be when only its place was written: own choices.
var reach = map[string]float64{"bed": 10, "floor": -100, "shoulder": 60}

// HeadOf takes the pump's place from the last visit: an older one is not the place of today.
func HeadOf(c *casebook.Case) Head {
	n := len(c.Changes)
	if n == 0 || c.Changes[n-1].Body.PumpPlace == nil {
		return Head{}
	}
	b := *c.Changes[n-1].Body.PumpPlace
	h := Head{Entry: c.Changes[n-1].ID}
	switch far, listed := reach[b.Place]; {
	case b.AboveCm != nil:
		h.Known, h.AboveCm = true, *b.AboveCm
		h.Words = place(*b.AboveCm)
	case listed:
		h.Known, h.AboveCm = true, far
		h.Words = map[string]string{"bed": "on the bed", "floor": "on the floor", "shoulder": "at the shoulder"}[b.Place]
	default:
		return h
	}
	full := suction.HeadMmHg(h.AboveCm / 100)
	h.MostMmHg = math.Abs(full)
	zero := 0.0
	switch {
	case b.Liquid == "none":
		h.MMHg = &zero
	case b.Liquid == "full" && b.AboveCm != nil:
		h.MMHg = &full
	}
	return h
}

func place(cm float64) string {
	switch n := unit.Number(math.Abs(cm), 0) + " cm "; {
	case cm > 0:
		return n + "above the wound"
	case cm < 0:
		return n + "below the wound"
	}
	return "at the height of the wound"
}

func headFacts(h Head, set Sink) {
	if !h.Known {
		return
	}
	set("pump.place", h.Words, h.Entry)
	set("pump.head_most_mmHg", h.MostMmHg, h.Entry)
	if h.MMHg != nil {
		set("pump.head_mmHg", math.Abs(*h.MMHg), h.Entry)
	}
	way := "takes from"
	if h.AboveCm < 0 {
		way = "adds to"
	}
	set("pump.head_words", way, h.Entry)
}
