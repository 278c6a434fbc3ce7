package intake

import (
	"fmt"
	"reflect"
	"slices"
	"sort"
	"strconv"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/unit"
)

// findWounds notes when each wound was found, at the earliest that any entry or correction says.
func (c *checker) findWounds() {
	c.wounds = map[string]time.Time{}
	for _, e := range slices.Concat(c.known, c.list) {
		c.addWound(e.Body, e.At)
		k, ok := e.Body.(casebook.EntryCorrected)
		if !ok {
			continue
		}
		if k.Original != nil {
			c.addWound(k.Original.Body, k.Original.At)
		}
		c.addWound(c.replaced(e, k))
	}
	for name := range c.wounds {
		c.names = append(c.names, name)
	}
	sort.Strings(c.names)
}

func (c *checker) addWound(body casebook.Body, at time.Time) {
	w, ok := body.(casebook.WoundFound)
	if !ok || w.Wound == "" {
		return
	}
	if t, ok := c.wounds[w.Wound]; !ok || at.Before(t) {
		c.wounds[w.Wound] = at
	}
}

// wound checks the name of a wound; at is given for what cannot be before the wound was found.
func (c *checker) wound(i int, pointer, name string, at *time.Time) {
	if name == "" || c.incomplete {
		return
	}
	found, ok := c.wounds[name]
	if !ok {
		remedy := "Write its wound.found entry first."
		some := c.names[:min(len(c.names), 12)]
		if near := unit.Nearest(name, some); near != "" {
			remedy = fmt.Sprintf("Write %q if that is meant; else write its wound.found entry first.", near)
		} else if len(some) > 0 {
			remedy = "Write its wound.found entry first. Wounds here: " + strings.Join(some, ", ") + "."
		}
		c.at(i, pointer, CodeUnknownWound, name, fmt.Sprintf("The case has no wound %q.", name), remedy)
		return
	}
	if at != nil && !at.IsZero() && at.Before(found) {
		c.at(i, pointer, CodeBeforeWound, name, fmt.Sprintf("This happened %s, and wound %q was found %s.", stamp(*at), name, stamp(found)), "Correct one of the two times, or the wound's name.")
	}
}

// woundsOf checks every wound that a body names: its fields "wound", and the lists "wounds", wherever they stand. Only a
// wound.found names a wound that need not be there before, and a screening may come before the wound is written down.
func (c *checker) woundsOf(i int, prefix string, e casebook.Entry) {
	at := &e.At
	switch e.Body.(type) {
	case nil, casebook.Unknown, casebook.WoundFound:
		return
	case casebook.ScreeningDone:
		at = nil
	}
	c.woundFields(i, prefix, FieldsOf(e.Body.Kind()), reflect.ValueOf(e.Body), at)
}

func (c *checker) woundFields(i int, prefix string, fields []Field, body reflect.Value, at *time.Time) {
	for _, f := range fields {
		v, p := reflect.Indirect(f.In(body)), prefix+"/"+f.Name
		switch {
		case !v.IsValid():
		case f.Type == TypeGroup:
			c.woundFields(i, p, f.Fields, v, at)
		case f.Type == TypeRows:
			for j := range v.Len() {
				c.woundFields(i, p+"/"+strconv.Itoa(j), f.Fields, v.Index(j), at)
			}
		case f.Name == "wound":
			c.wound(i, p, v.String(), at)
		case f.Name == "wounds":
			for j := range v.Len() {
				c.wound(i, p+"/"+strconv.Itoa(j), v.Index(j).String(), nil)
			}
		}
	}
}
