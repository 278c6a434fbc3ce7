package suction

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"sort"
	"strconv"
	"strings"

	"lowtide/therapy"
	"lowtide/unit"
)

const (
	mostBytes         = 1 << 20
	mostProgramStages = 500
	mostProblems      = 1000
)

// Input is what a bench file holds: the setup, and the ranges over which a band is wanted.
type Input struct {
	Setup  Setup
	Ranges []Range
}

// Parse reads a bench file. Everything but stages may be missing; the equipment class fills it in. On any problem
// it returns all of them (after 1000 only their number) and no usable Input. It never panics, whatever the bytes.
func Parse(raw []byte) (Input, []Problem) {
	if len(raw) > mostBytes {
		return Input{}, []Problem{{"", "too long", "give at most 1 MiB"}}
	}
	raw = bytes.TrimPrefix(raw, []byte("\xef\xbb\xbf")) // the byte-order mark of some editors
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.UseNumber()
	var doc any
	if err := dec.Decode(&doc); err != nil {
		return Input{}, []Problem{{"", "not JSON", "correct this: " + jsonTrouble(err)}}
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return Input{}, []Problem{{"", "more than one value", "give one JSON object and nothing behind it"}}
	}
	top, ok := doc.(map[string]any)
	if !ok {
		return Input{}, []Problem{{"", show(doc), `give a JSON object such as {"stages":[{"suction_mmHg":125,"hold_min":60}]}`}}
	}
	r := reader{}
	r.problems = repeated(raw)
	in := r.input(top)
	if n := len(r.problems) - mostProblems; n > 0 {
		r.problems = append(r.problems[:mostProblems], Problem{"", fmt.Sprintf("%d more problems", n), "correct those above first"})
	}
	if len(r.problems) > 0 {
		return Input{}, r.problems
	}
	return in, nil
}

func jsonTrouble(err error) string {
	var syn *json.SyntaxError
	if errors.As(err, &syn) {
		return fmt.Sprintf("%v at byte %d", err, syn.Offset)
	}
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return "the text ends too early"
	}
	return err.Error()
}

// reader collects problems while it walks the document.
type reader struct{ problems []Problem }

func (r *reader) say(place string, value any, remedy string) {
	r.problems = append(r.problems, Problem{place, show(value), remedy})
}

// miss notes something that has to be given and is not there; a null that was written is a value and is said so.
func (r *reader) miss(place, remedy string) {
	r.problems = append(r.problems, Problem{place, "missing", remedy})
}

func (r *reader) input(top map[string]any) Input {
	class := "portable"
	if v, given := top["class"]; given {
		if s, ok := v.(string); ok {
			class = s
		} else {
			r.say("/class", v, "write one of "+strings.Join(Classes, ", ")+", or leave it out")
		}
	}
	setup, ok := Class(class)
	if !ok {
		r.say("/class", class, "write one of "+strings.Join(Classes, ", "))
		setup, _ = Class("portable")
	}
	in := Input{Setup: setup}
	known := map[string]bool{"class": true, "stages": true, "pump": true, "tube": true, "filler": true, "ranges": true}
	pump, tube := r.object(top, "pump"), r.object(top, "tube")
	for _, f := range Fields {
		from, key := top, f.Name
		if group, rest, nested := strings.Cut(f.Name, "/"); nested {
			key, from = rest, map[string]map[string]any{"pump": pump, "tube": tube}[group]
		} else {
			known[key] = true
		}
		if v, given := from[key]; given {
			if x, ok := r.number("/"+f.Name, v, f.Min, f.Max, f.Unit); ok {
				f.Set(&in.Setup, x)
			}
		}
	}
	if v, given := pump["sensor"]; given {
		s, _ := v.(string)
		if s != "canister" && s != "wound" {
			r.say("/pump/sensor", v, `write "canister" or "wound"`)
		} else {
			in.Setup.Pump.Sensor = s
		}
	}
	r.unknown("", top, known)
	r.unknown("/pump", pump, map[string]bool{"free_flow_mL_min": true, "deepest_mmHg": true, "band_mmHg": true, "sensor": true, "vent_mL_min_mmHg": true})
	r.unknown("/tube", tube, map[string]bool{"length_m": true, "bore_mm": true})
	r.filler(top, &in.Setup)
	in.Setup.Stages = r.stages(top)
	in.Ranges = r.ranges(top, in.Setup)
	r.runnable(in.Setup)
	return in
}

// runnable notes what is wrong with numbers that are each within their limits.
func (r *reader) runnable(s Setup) {
	cycle := s.Stages.CycleS()
	switch {
	case r.wrongIn("/stages"):
	case !(cycle > 0):
		r.problems = append(r.problems, Problem{"/stages", "a cycle of 0 min", "give at least one hold_min above 0"})
	case s.tooManyStages():
		r.problems = append(r.problems, Problem{"/hours", unit.Number(s.Hours, 4), fmt.Sprintf("a cycle of %s s comes up too often in this time, more than 200000 stages in all; shorten the run or lengthen the holds", unit.Number(cycle, 4))})
	}
	if air := AmbientMmHg(s.AltitudeM); s.StartMmHg >= air {
		r.problems = append(r.problems, Problem{"/start_mmHg", unit.Number(s.StartMmHg, 1), fmt.Sprintf("write a suction below the pressure of the room, which is %s mmHg at this altitude", unit.Number(air, 0))})
	}
	if len(r.problems) > 0 {
		return
	}
	if why := unusable(s); why != "" {
		r.problems = append(r.problems, Problem{"", "not runnable", why})
	}
}

// wrongIn tells that something was noted at a place or below it.
func (r *reader) wrongIn(place string) bool {
	for _, p := range r.problems {
		if p.Place == place || strings.HasPrefix(p.Place, place+"/") {
			return true
		}
	}
	return false
}

func (r *reader) object(top map[string]any, key string) map[string]any {
	v, given := top[key]
	if !given {
		return nil
	}
	m, ok := v.(map[string]any)
	if !ok {
		r.say("/"+key, v, "write an object in braces, or leave it out")
	}
	return m
}

func (r *reader) number(place string, v any, lo, hi float64, unitName string) (float64, bool) {
	if unitName != "" && unitName != "1" {
		unitName = " (" + unitName + ")"
	} else {
		unitName = ""
	}
	remedy := fmt.Sprintf("write a number from %s to %s%s, without quotes", unit.Number(lo, 4), unit.Number(hi, 4), unitName)
	if v == nil {
		remedy += "; a null is none: where a default will do, leave the name out"
	}
	n, ok := v.(json.Number)
	if !ok {
		r.say(place, v, remedy)
		return 0, false
	}
	x, err := strconv.ParseFloat(string(n), 64)
	if err != nil || math.IsNaN(x) || x < lo || x > hi {
		r.say(place, v, remedy)
		return 0, false
	}
	return x, true
}

func (r *reader) unknown(place string, m map[string]any, known map[string]bool) {
	var extra, names []string
	for k := range m {
		if !known[k] {
			extra = append(extra, k)
		}
	}
	for k := range known {
		names = append(names, k)
	}
	sort.Strings(extra)
	sort.Strings(names)
	for _, k := range extra {
		remedy := "this name is not known here; known are " + strings.Join(names, ", ")
		if near := unit.Nearest(k, names); near != "" {
			remedy = "this name is not known here; write " + near + " if that is meant"
		}
		r.say(place+"/"+escape(k), m[k], remedy)
	}
}

func (r *reader) filler(top map[string]any, s *Setup) {
	m := r.object(top, "filler")
	if m == nil {
		return
	}
	r.unknown("/filler", m, map[string]bool{"volume_mL": true, "porosity": true, "compression": true})
	if _, both := top["void_mL"]; both {
		r.say("/filler", m, "give void_mL or filler, not both")
	}
	var f Filler
	for _, part := range []struct {
		name string
		max  float64
		unit string
		to   *float64
	}{{"volume_mL", 20000, "mL", &f.VolumeML}, {"porosity", 1, "share", &f.Porosity}, {"compression", 1, "share", &f.Compression}} {
		v, given := m[part.name]
		if !given {
			r.miss("/filler/"+part.name, "give all of volume_mL, porosity and compression")
			continue
		}
		if x, ok := r.number("/filler/"+part.name, v, 0, part.max, part.unit); ok {
			*part.to = x
		}
	}
	s.VoidML = f.VoidML()
}

func (r *reader) stages(top map[string]any) therapy.Program {
	v, given := top["stages"]
	list, ok := v.([]any)
	if !given {
		r.miss("/stages", `give 1 to 500 stages, each {"suction_mmHg":number,"hold_min":number}`)
		return nil
	}
	if !ok || len(list) == 0 {
		r.say("/stages", v, `give 1 to 500 stages, each {"suction_mmHg":number,"hold_min":number}`)
		return nil
	}
	if len(list) > mostProgramStages {
		r.problems = append(r.problems, Problem{"/stages", fmt.Sprintf("a list of %d stages", len(list)),
			"give 1 to 500 stages; they repeat from the start, so a cycle need be written only once"})
	}
	var out therapy.Program
	for i, e := range list {
		place := fmt.Sprintf("/stages/%d", i)
		m, ok := e.(map[string]any)
		if !ok {
			r.say(place, e, `write {"suction_mmHg":number,"hold_min":number}`)
			continue
		}
		r.unknown(place, m, map[string]bool{"suction_mmHg": true, "hold_min": true, "ramp_min": true})
		var st therapy.Stage
		for _, part := range []struct {
			name string
			max  float64
			unit string
			must bool
			to   *float64
		}{{"suction_mmHg", 700, "mmHg below ambient", true, &st.SuctionMmHg}, {"hold_min", 44640, "minutes", true, &st.HoldMin}, {"ramp_min", 1440, "minutes", false, &st.RampMin}} {
			v, given := m[part.name]
			if !given {
				if part.must {
					r.miss(place+"/"+part.name, "give this number; every stage has a suction and a hold")
				}
				continue
			}
			if x, ok := r.number(place+"/"+part.name, v, 0, part.max, part.unit); ok {
				*part.to = x
			}
		}
		out = append(out, st)
	}
	return out
}

func (r *reader) ranges(top map[string]any, s Setup) []Range {
	m := r.object(top, "ranges")
	var names []string
	for k := range m {
		names = append(names, k)
	}
	sort.Strings(names)
	var out []Range
	for _, k := range names {
		place := "/ranges/" + escape(k)
		f, ok := FieldNamed(k)
		if !ok || k == "hours" {
			r.say(place, m[k], `name a number of the input, such as leak_mL_min or pump/free_flow_mL_min`)
			continue
		}
		pair, ok := m[k].([]any)
		if !ok || len(pair) != 2 {
			r.say(place, m[k], "write two numbers [lowest, highest]")
			continue
		}
		lo, okLo := r.number(place+"/0", pair[0], f.Min, f.Max, f.Unit)
		hi, okHi := r.number(place+"/1", pair[1], f.Min, f.Max, f.Unit)
		if okLo && okHi && lo > hi {
			r.say(place, m[k], "write the lower number first")
		} else if okLo && okHi {
			out = append(out, Range{Field: k, Low: lo, High: hi})
		}
	}
	return out
}
