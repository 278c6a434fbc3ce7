package page

import (
	"net/url"
	"strconv"
	"time"

	"lowtide/casebook"
	"lowtide/state"
)

// Start fills what is safe to fill before a form of the kind is shown: who and what is meant, and how it is done
// here. Counts, volumes and signs are never filled.
func Start(kind casebook.Kind, c *casebook.Case, k Clock, asked url.Values) url.Values {
	v := url.Values{}
	// Nobody writes seconds, and a field for a time does not show them.
	k.Now = k.Now.Truncate(time.Minute)
	v.Set("at", LocalValue(k.Now, k.Zone))
	switch kind {
	case casebook.KindPersonRegistered:
		// A later registration replaces the earlier one, so it starts from that.
		if c.Person != nil {
			v = Flatten(c.Person.Body, k.Zone)
			v.Set("at", LocalValue(k.Now, k.Zone))
		}
	case casebook.KindPayerNoted:
		// A later note of the payer replaces the earlier one, so it starts from that.
		if c.Payer != nil {
			v = Flatten(c.Payer.Body, k.Zone)
			v.Set("at", LocalValue(k.Now, k.Zone))
		}
	case casebook.KindWoundFound:
		v.Set("wound", nextWound(c))
	case casebook.KindScreeningDone:
		for q, a := range state.AnsweredBefore(c) {
			v.Set("answers/"+q, a)
		}
	case casebook.KindPiecesAccounted:
		startAccount(v, c)
	case casebook.KindWoundMeasured:
		startMeasure(v, c, asked.Get("wound"))
	case casebook.KindOrderWritten, casebook.KindPumpAssigned:
		if len(c.Wounds) == 1 {
			v.Set("wounds", c.Wounds[0].Name)
		}
	case casebook.KindPumpReturned:
		if open := state.OpenPumps(c); len(open) == 1 {
			v.Set("pump", open[0].Assigned.Body.Pump)
		}
	case casebook.KindDressingChanged:
		startVisit(v, c, k)
	}
	for name, values := range asked {
		if kind != casebook.KindDressingChanged && kind != casebook.KindWoundFound {
			v[name] = values
		}
	}
	return v
}

// nextWound is the first letter that no wound has.
func nextWound(c *casebook.Case) string {
	for r := 'A'; r <= 'Z'; r++ {
		if c.Wound(string(r)) == nil {
			return string(r)
		}
	}
	return ""
}

// startAccount names the wound and the filler when only one thing is open. The number is for the nurse to write.
func startAccount(v url.Values, c *casebook.Case) {
	var wounds, fillers []string
	for i := range c.Wounds {
		w := &c.Wounds[i]
		if !w.Count.Open() {
			continue
		}
		wounds = append(wounds, w.Name)
		for _, u := range append(append([]casebook.Uncounted{}, w.Count.Missing...), w.Count.Surplus...) {
			fillers = append(fillers, u.Filler)
		}
	}
	if len(wounds) == 1 {
		v.Set("wound", wounds[0])
		if len(fillers) == 1 {
			v.Set("filler", fillers[0])
		}
	}
}

// startMeasure takes over how the wound was measured last.
func startMeasure(v url.Values, c *casebook.Case, name string) {
	if name == "" && len(c.Wounds) == 1 {
		name = c.Wounds[0].Name
	}
	w := c.Wound(name)
	if w == nil {
		return
	}
	v.Set("wound", name)
	method, convention := measuredHow(w)
	v.Set("method", method)
	v.Set("convention", convention)
}

func measuredHow(w *casebook.Wound) (method, convention string) {
	for i := len(w.Measured) - 1; i >= 0; i-- {
		// An outline is drawn on its photo; the form is for what was laid on the wound.
		if m := w.Measured[i]; w.Outline(m.ID) == nil {
			return m.Body.Method, m.Body.Convention
		}
	}
	return "", ""
}

// sizeText is a canister's size as a field holds it.
func sizeText(c *casebook.Case) string {
	if size := state.CanisterOf(c).SizeML; size != nil {
		return strconv.FormatFloat(*size, 'f', -1, 64)
	}
	return ""
}
