package state

import (
	"math"

	"lowtide/casebook"
)

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
