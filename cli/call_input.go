package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"sort"
	"strings"

	"lowtide/rule"
	"lowtide/trouble"
)

// callInput is what `lowtide call` reads, checked.
type callInput struct {
	state trouble.State
	tally trouble.Tally
	notes []string
}

// parseCall reads the facts of a call and lists every problem. An unknown or misplaced key is one, because a fact that
// is not used could mislead.
func parseCall(raw []byte, m *trouble.Model, rules *rule.Set) (callInput, []problem) {
	p := &fluidParser{}
	in := callInput{}
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.UseNumber()
	var doc any
	if err := dec.Decode(&doc); err != nil {
		p.bad("", "not JSON ("+err.Error()+")", "give one JSON object")
		return in, p.problems
	}
	if dec.More() {
		p.bad("", "more than one JSON value", "give one JSON object")
	}
	obj, ok := doc.(map[string]any)
	if !ok {
		p.bad("", show(doc), "give one JSON object")
		return in, p.problems
	}
	for _, k := range sortedKeys(obj) {
		// A fact beside its group would be left out, and a danger that is left out could mislead.
		switch {
		case m.Danger(k) != nil:
			p.bad("/"+pointer(k), show(obj[k]), "write it inside danger")
		case m.Sign(k) != nil:
			p.bad("/"+pointer(k), show(obj[k]), "write it inside signs")
		}
	}
	p.unknown("", obj, "as_of", "off_since", "runs", "visit_min", "danger", "signs", "checks", "tally")
	s := &in.state
	s.AsOf, s.OffSince = p.time(obj, "", "as_of", false), p.time(obj, "", "off_since", false)
	s.Runs = p.flag(obj, "", "runs")
	s.VisitMin = p.number(obj, "", "visit_min", 1, 10000)
	if s.Runs && !s.OffSince.IsZero() {
		p.bad("/runs", "true", "off_since says that therapy is off: leave one of the two out")
	}
	if !s.AsOf.IsZero() && s.OffSince.After(s.AsOf) {
		p.bad("/off_since", show(obj["off_since"]), "give a time that is not after as_of")
	}
	s.Danger = callDanger(p, m, obj)
	s.Signs = callSigns(p, m, obj, rules.Values(s.AsOf).Number)
	s.Checks = callChecks(p, m, obj)
	in.tally = callTally(p, m, obj)
	in.notes = p.in.notes
	return in, p.problems
}

// object reads an object; a missing key or null is empty.
func (p *fluidParser) object(obj map[string]any, at, key string) map[string]any {
	v, there := obj[key]
	if !there || v == nil {
		return nil
	}
	o, ok := v.(map[string]any)
	if !ok {
		p.bad(at+"/"+key, show(v), "give an object")
	}
	return o
}

func sortedKeys(o map[string]any) []string {
	out := make([]string, 0, len(o))
	for k := range o {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}

func ids[T any](list []T, id func(*T) string) string {
	out := make([]string, len(list))
	for i := range list {
		out[i] = id(&list[i])
	}
	return strings.Join(out, ", ")
}

func callDanger(p *fluidParser, m *trouble.Model, obj map[string]any) map[string]string {
	out := map[string]string{}
	in := p.object(obj, "", "danger")
	for _, k := range sortedKeys(in) {
		at := "/danger/" + pointer(k)
		v, _ := in[k].(string)
		switch {
		case m.Danger(k) == nil:
			p.bad(at, show(in[k]), "name one of: "+ids(m.Dangers, func(d *trouble.Danger) string { return d.ID }))
		case in[k] == nil: // the same as not asked
		case v != trouble.Yes && v != trouble.No && v != trouble.Unknown:
			p.bad(at, show(in[k]), `give "yes", "no" or "unknown"`)
		default:
			out[k] = v
		}
	}
	return out
}

func callSigns(p *fluidParser, m *trouble.Model, obj map[string]any, shared func(id, unit string) float64) map[string]string {
	out := map[string]string{}
	in := p.object(obj, "", "signs")
	for _, k := range sortedKeys(in) {
		at := "/signs/" + pointer(k)
		g := m.Sign(k)
		if g == nil {
			p.bad(at, show(in[k]), "name one of: "+ids(m.Signs, func(s *trouble.Sign) string { return s.ID }))
			continue
		}
		answers := ids(g.Answers, func(a *trouble.Answer) string { return a.ID })
		switch v := in[k].(type) {
		case nil: // the same as not asked
		case string:
			if g.Answer(v) < 0 && v != trouble.Unknown {
				p.bad(at, show(v), "give one of: "+answers+", unknown")
				continue
			}
			out[k] = v
		case json.Number:
			x, err := v.Float64()
			if len(g.Edges) == 0 || err != nil || math.IsInf(x, 0) || x < 0 {
				remedy := "give one of: " + answers + ", unknown"
				if len(g.Edges) > 0 {
					remedy += "; or a number from 0 in " + g.Unit
				}
				p.bad(at, show(v), remedy)
				continue
			}
			out[k], _ = g.Band(x, shared)
		default:
			p.bad(at, show(v), "give one of: "+answers+", unknown")
		}
	}
	return out
}

func callChecks(p *fluidParser, m *trouble.Model, obj map[string]any) (out []trouble.Outcome) {
	results := []string{trouble.Fixed, trouble.NotFixed, trouble.CouldNotDo, trouble.Said}
	for i, r := range p.list(obj, "checks") {
		if r == nil {
			continue
		}
		at := fmt.Sprintf("/checks/%d", i)
		p.unknown(at, r, "check", "result")
		check, _ := r["check"].(string)
		result, _ := r["result"].(string)
		care, isCare := trouble.CareOf(check)
		if m.Check(check) == nil && !(isCare && m.Danger(care) != nil) && check != trouble.FillerOut {
			p.bad(at+"/check", show(r["check"]), "name one of: "+ids(m.Checks, func(c *trouble.Check) string { return c.ID })+", filler-out, or patient: or look: with a danger")
		}
		known := false
		for _, x := range results {
			known = known || x == result
		}
		if !known {
			p.bad(at+"/result", show(r["result"]), "give one of: "+strings.Join(results, ", "))
		}
		out = append(out, trouble.Outcome{Check: check, Result: result})
	}
	return out
}

// mostCounted bounds counts, so that sums stay whole numbers.
const mostCounted = 10_000_000

// callTally reads the local counts: how often each cause was found.
func callTally(p *fluidParser, m *trouble.Model, obj map[string]any) (t trouble.Tally) {
	in := p.object(obj, "", "tally")
	t.Found = map[string]int{}
	for _, k := range sortedKeys(in) {
		if m.Cause(k) == nil {
			p.bad("/tally/"+pointer(k), show(in[k]), "name one of: "+ids(m.Causes, func(c *trouble.Cause) string { return c.ID }))
			continue
		}
		n := p.number(in, "/tally", k, 0, mostCounted)
		if n != math.Trunc(n) {
			p.bad("/tally/"+pointer(k), show(in[k]), "give a whole number of calls")
			continue
		}
		t.Found[k], t.Calls = int(n), t.Calls+int(n)
	}
	return t
}
