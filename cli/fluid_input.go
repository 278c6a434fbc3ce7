package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"lowtide/fluid"
	"lowtide/unit"
)

// problem is one thing wrong with an input: the place (JSON pointer), the value found and what to do.
type problem struct{ place, value, remedy string }

func (p problem) String() string { return fmt.Sprintf("%s: %s: %s", p.place, p.value, p.remedy) }

// fluidInput is what `lowtide fluid` reads, checked.
type fluidInput struct {
	course fluid.Course
	asOf   time.Time
	before time.Time
	notes  []string
}

// parseFluid reads a course and lists every problem. An unknown key is one: what is not read could mislead. So is a
// reading that is later than as_of, or than the time of this computer when as_of is not given.
func parseFluid(raw []byte) (fluidInput, []problem) {
	p := &fluidParser{}
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.UseNumber()
	var doc any
	if err := dec.Decode(&doc); err != nil {
		p.bad("", "not JSON ("+err.Error()+")", "give one JSON object")
		return p.in, p.problems
	}
	if dec.More() {
		p.bad("", "more than one JSON value", "give one JSON object")
	}
	obj, ok := doc.(map[string]any)
	if !ok {
		p.bad("", show(doc), "give one JSON object")
		return p.in, p.problems
	}
	p.unknown("", obj, "canister_mL", "usable_share", "area_cm2", "as_of", "before", "readings", "pauses")
	c := &p.in.course
	c.Canister = unit.Volume(p.above(obj, "", "canister_mL", 100000))
	c.UsableShare = p.above(obj, "", "usable_share", 1)
	c.Area = unit.Area(p.above(obj, "", "area_cm2", 20000))
	if p.in.asOf = p.time(obj, "", "as_of", false); p.in.asOf.IsZero() && obj["as_of"] == nil {
		p.in.asOf = now().UTC()
		p.in.notes = append(p.in.notes, "as_of is not given: the time of this computer is taken.")
	}
	p.in.before = p.time(obj, "", "before", false)
	for i, r := range p.list(obj, "readings") {
		if r == nil {
			continue
		}
		at := fmt.Sprintf("/readings/%d", i)
		p.unknown(at, r, "at", "mL", "new_canister", "spilled", "spilled_mL", "size_mL")
		if r["mL"] == nil {
			p.bad(at+"/mL", "missing", "give the canister's content in mL, or leave the reading out")
		}
		read := fluid.Reading{
			At: p.time(r, at, "at", true), Content: unit.Volume(p.number(r, at, "mL", 0, 100000)), NewCanister: p.flag(r, at, "new_canister"),
			Spilled: p.flag(r, at, "spilled"), SpilledVolume: unit.Volume(p.above(r, at, "spilled_mL", 100000)), Size: unit.Volume(p.above(r, at, "size_mL", 100000)),
		}
		size := c.Canister
		if read.Size > 0 {
			size = read.Size
		}
		if size > 0 && read.Content > size {
			p.bad(at+"/mL", show(r["mL"]), fmt.Sprintf("a canister of %s mL cannot hold that: correct the reading, or give the size of the canister that was read as size_mL", unit.Number(float64(size), 0)))
		}
		p.notAfter(r, at, "at", read.At)
		c.Readings = append(c.Readings, read)
	}
	for i, r := range p.list(obj, "pauses") {
		if r == nil {
			continue
		}
		at := fmt.Sprintf("/pauses/%d", i)
		p.unknown(at, r, "from", "to")
		pause := fluid.Pause{From: p.time(r, at, "from", true), To: p.time(r, at, "to", false)}
		if !pause.To.IsZero() && pause.To.Before(pause.From) {
			p.bad(at+"/to", show(r["to"]), "a pause ends after it begins; leave \"to\" out while it lasts")
		}
		p.notAfter(r, at, "from", pause.From)
		c.Pauses = append(c.Pauses, pause)
	}
	return p.in, p.problems
}

type fluidParser struct {
	in       fluidInput
	problems []problem
}

func (p *fluidParser) bad(place, value, remedy string) {
	if place == "" {
		place = "/"
	}
	p.problems = append(p.problems, problem{place, value, remedy})
}

func (p *fluidParser) unknown(at string, obj map[string]any, known ...string) {
	for _, k := range sortedKeys(obj) {
		if !slices.Contains(known, k) {
			p.bad(at+"/"+pointer(k), show(obj[k]), unknownKey(k, known))
		}
	}
}

// unknownKey says what to do about a key that means nothing here.
func unknownKey(key string, known []string) string {
	if near := unit.Nearest(key, known); near != "" {
		return fmt.Sprintf("this key is not known here; write %s if that is meant", near)
	}
	return "this key is not known here; remove it, or write one of " + strings.Join(known, ", ")
}

// notAfter refuses a time that is later than as_of: it has not been seen yet.
func (p *fluidParser) notAfter(obj map[string]any, at, key string, t time.Time) {
	if asOf := p.in.asOf; !asOf.IsZero() && t.After(asOf) {
		p.bad(at+"/"+key, show(obj[key]), "this is later than the time of the forecast, "+stamp(&asOf)+": correct it, give a later as_of, or leave it out")
	}
}

// above reads a number above 0 to hi. A missing key or null is zero, which means unknown; a 0 that is written is not.
func (p *fluidParser) above(obj map[string]any, at, key string, hi float64) float64 {
	v := obj[key]
	if n, ok := v.(json.Number); ok {
		if x, err := n.Float64(); err == nil && x == 0 {
			p.bad(at+"/"+key, show(v), fmt.Sprintf("give a number above 0, to %s; leave it out when it is not known", unit.Number(hi, 3)))
			return 0
		}
	}
	return p.number(obj, at, key, 0, hi)
}

// number reads a number from lo to hi; a missing key or null is zero, which means unknown.
func (p *fluidParser) number(obj map[string]any, at, key string, lo, hi float64) float64 {
	v, there := obj[key]
	if !there || v == nil {
		return 0
	}
	n, ok := v.(json.Number)
	if ok {
		x, err := n.Float64()
		if err == nil && !math.IsNaN(x) && x >= lo && x <= hi {
			return x
		}
	}
	p.bad(at+"/"+key, show(v), fmt.Sprintf("give a number from %s to %s", unit.Number(lo, 3), unit.Number(hi, 3)))
	return 0
}

func (p *fluidParser) flag(obj map[string]any, at, key string) bool {
	v, there := obj[key]
	if !there || v == nil {
		return false
	}
	b, ok := v.(bool)
	if !ok {
		p.bad(at+"/"+key, show(v), "give true or false")
	}
	return b
}

// firstYear and lastYear bound times: outside them a date is a slip, and arithmetic on it could overflow.
const firstYear, lastYear = 1970, 2200

func (p *fluidParser) time(obj map[string]any, at, key string, must bool) time.Time {
	v, there := obj[key]
	if !there || v == nil {
		if must {
			p.bad(at+"/"+key, "missing", "give a time with its offset, such as 2026-03-05T09:00:00Z")
		}
		return time.Time{}
	}
	if s, ok := v.(string); ok {
		if t, err := time.Parse(time.RFC3339, s); err == nil && t.Year() >= firstYear && t.Year() <= lastYear {
			return t
		}
	}
	p.bad(at+"/"+key, show(v), "give a time with its offset, such as 2026-03-05T09:00:00Z")
	return time.Time{}
}

// list reads a list of objects; a missing key or null is an empty list, an item that is no object is nil.
func (p *fluidParser) list(obj map[string]any, key string) []map[string]any {
	v, there := obj[key]
	if !there || v == nil {
		return nil
	}
	items, ok := v.([]any)
	if !ok {
		p.bad("/"+key, show(v), "give a list of objects")
		return nil
	}
	out := make([]map[string]any, 0, len(items))
	for i, item := range items {
		o, ok := item.(map[string]any)
		if !ok {
			p.bad(fmt.Sprintf("/%s/%d", key, i), show(item), "give an object")
			out = append(out, nil)
			continue
		}
		out = append(out, o)
	}
	return out
}

// show prints a found value, shortened.
func show(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		return "unreadable"
	}
	s := string(b)
	if len(s) > 60 {
		s = strings.ToValidUTF8(s[:60], "") + "..."
	}
	return s
}

// pointer escapes a key for a JSON pointer (RFC 6901, section 3).
func pointer(key string) string {
	return strings.NewReplacer("~", "~0", "/", "~1").Replace(key)
}
