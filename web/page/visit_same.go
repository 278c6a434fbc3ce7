package page

import (
	"net/url"
	"strconv"
	"strings"

	"lowtide/casebook"
)

// The tick "as last time" of a wound, and the visit that it is about: what it says stands on the page, and another visit
// that arrives meanwhile does not change it.
const (
	sameTick  = "-same/"
	sameVisit = "-same-of/"
)

// lookLast is the newest visit that tells how the wound looked; nil is none.
func lookLast(c *casebook.Case, wound string) (at *casebook.Dated[casebook.DressingChanged], look casebook.WoundChange) {
	for i := len(c.Changes) - 1; i >= 0; i-- {
		for _, w := range c.Changes[i].Body.Wounds {
			if w.Wound == wound && (len(w.Bed) > 0 || len(w.Periwound) > 0 || w.Exudate != "") {
				return &c.Changes[i], w
			}
		}
	}
	return nil, look
}

// sameFields is the tick with its words, which say all that it writes. Counts, signs and pain are never in it.
func (b *formBuilder) sameFields(c *casebook.Case, w *casebook.Wound, i int) []FormField {
	last, look := lookLast(c, w.Name)
	if last == nil {
		return nil
	}
	var said []string
	put := func(label string, words ...string) {
		if text := strings.Join(words, ", "); text != "" {
			said = append(said, label+" "+text)
		}
	}
	put("bed", look.Bed...)
	put("skin", look.Periwound...)
	put("exudate", look.Exudate)
	if i == 0 {
		put("seal", last.Body.Seal)
	}
	name := sameTick + strconv.Itoa(i)
	return []FormField{hidden(sameVisit+strconv.Itoa(i), last.ID), {Control: ControlTick, Name: name, Pointer: name, Label: "As last time: " + strings.Join(said, "; "), Value: b.get(name)}}
}

// WithSame writes what "as last time" says into the fields that were left empty.
func WithSame(form url.Values, c *casebook.Case) url.Values {
	out := url.Values{}
	for name, values := range form {
		out[name] = values
	}
	for i := range maxRow {
		row := strconv.Itoa(i)
		if !ticked(form.Get(sameTick + row)) {
			continue
		}
		p := "wounds/" + row + "/"
		set := func(name string, values ...string) {
			if strings.Join(form[name], "") == "" && strings.Join(values, "") != "" {
				out[name] = values
			}
		}
		for k := range c.Changes {
			last := &c.Changes[k]
			if last.ID != form.Get(sameVisit+row) {
				continue
			}
			for _, w := range last.Body.Wounds {
				if w.Wound == form.Get(p+"wound?") {
					set(p+"bed", w.Bed...)
					set(p+"periwound", w.Periwound...)
					set(p+"exudate", w.Exudate)
				}
			}
			if i == 0 {
				set("seal", last.Body.Seal)
			}
		}
	}
	return out
}
