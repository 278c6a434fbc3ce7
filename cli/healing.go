package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"lowtide/healing"
	"lowtide/state"
)

func init() { commands = append(commands, newHealing) }

func newHealing() *cobra.Command {
	var asJSON bool
	var local string
	c := &cobra.Command{
		Use:   "healing FILE",
		Short: "Tell from a series of sizes whether a wound is closing, when, and how sure that is",
		Long: "Reads a wound's sizes as JSON from FILE, or from standard input when FILE is -.\n\n" +
			`{"wound_type":"surgical","as_of":"2026-03-29","ahead_days":[7,14,28],` + "\n" +
			` "sizes":[{"at":"2026-03-01","area_cm2":20.7,"method":"outline","se_cm2":0.6,"depth_cm":2.1,"volume_cm3":25}],` + "\n" +
			` "goals":[{"id":"bed level","measure":"depth_cm","below":0.3,"and":[{"id":"granulated","measure":"bare_pct","below":10}]}],` + "\n" +
			` "cohort":[{"sizes":[{"at":"2025-01-06","area_cm2":12},{"at":"2025-03-03","area_cm2":0}]}]}` + "\n\n" +
			"Only sizes is needed; \"past\":true adds the fitted curve. bare_pct is the share of the bed without granulation.\ndocs/format/healing.md explains every field. It supports and does not replace clinical judgement.",
		Args: exactly(1, "a file of sizes, or - for standard input"),
		RunE: func(c *cobra.Command, args []string) error { return runHealing(c, args[0], local, asJSON) },
	}
	c.Flags().BoolVar(&asJSON, "json", false, "write the whole answer as JSON")
	c.Flags().StringVar(&local, "local", "", "folder of a local protocol; its values are laid over the built-in numbers")
	return c
}

// mostHealingBytes is the largest file that is read, mostAheadDays the longest list of days.
const mostHealingBytes, mostAheadDays = 16 << 20, 1000

func runHealing(c *cobra.Command, name, local string, asJSON bool) error {
	rules, err := ruleSet(c, local)
	if err != nil {
		return err
	}
	raw, err := readInput(c.InOrStdin(), name, mostHealingBytes)
	if err != nil {
		return errUsage{fmt.Errorf("cannot read the sizes: %w", err)}
	}
	in, problems := parseHealing(raw)
	if len(problems) > 0 {
		for _, p := range problems {
			fmt.Fprintln(c.ErrOrStderr(), p)
		}
		return errUsage{fmt.Errorf("%d problems in %s; nothing was computed", len(problems), name)}
	}
	values := rules.Values(now())
	in.Limits = state.HealingLimits(values)
	a := healing.Assess(in)
	if asJSON {
		e := json.NewEncoder(c.OutOrStdout())
		e.SetIndent("", "  ")
		return e.Encode(a)
	}
	printHealing(c.OutOrStdout(), a, values)
	return nil
}

// healingReader walks decoded JSON and collects every problem with its place, value and remedy.
type healingReader struct {
	problems []string
	// latest is the last moment of which a size may be, in words latestIs.
	latest   time.Time
	latestIs string
}

// strangers refuses fields of an object that are none of those known: a slip in a name must not pass unseen.
func (r *healingReader) strangers(o map[string]any, at string, known ...string) {
	for _, name := range slices.Sorted(maps.Keys(o)) {
		if !slices.Contains(known, name) {
			r.problem(at+"/"+pointer(name), o[name], unknownKey(name, known))
		}
	}
}

func (r *healingReader) problem(at string, value any, remedy string) {
	text := "nothing"
	if value != nil {
		b, _ := json.Marshal(value)
		text = string(b)
		if len(text) > 60 {
			text = strings.ToValidUTF8(text[:60], "") + "..."
		}
	}
	if at == "" {
		at = "/"
	}
	r.problems = append(r.problems, fmt.Sprintf("%s: %s: %s", at, text, remedy))
}

// parseHealing reads the command's input. It lists every problem; with any, the input is not to be used.
func parseHealing(raw []byte) (in healing.Input, problems []string) {
	return (&healingReader{}).read(raw)
}

func (r *healingReader) read(raw []byte) (in healing.Input, problems []string) {
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.UseNumber()
	var doc any
	if err := dec.Decode(&doc); err != nil {
		r.problem("", nil, fmt.Sprintf("this is not JSON (%v, at byte %d); write one object as in: lowtide healing --help", err, dec.InputOffset()))
		return in, r.problems
	}
	if _, err := dec.Token(); err != io.EOF {
		r.problem("", nil, "something follows the object; give one wound a file")
	}
	o, ok := doc.(map[string]any)
	if !ok {
		r.problem("", doc, "write one object with a list named sizes")
		return in, r.problems
	}
	r.strangers(o, "", "wound_type", "as_of", "sizes", "ahead_days", "goals", "past", "cohort")
	in.WoundType = r.text(o, "", "wound_type")
	if t := r.date(o, "", "as_of"); t != nil {
		in.AsOf = *t
	}
	if in.AsOf.IsZero() {
		r.latest, r.latestIs = now().Add(14*time.Hour), "today" // it is tomorrow already in the farthest east
	} else {
		r.latest, r.latestIs = in.AsOf, "the day of the review, "+in.AsOf.Format(time.DateOnly)
	}
	in.Sizes = r.sizes(o, "")
	if l, ok := o["ahead_days"].([]any); ok && len(l) > mostAheadDays {
		r.problem("/ahead_days", len(l), fmt.Sprintf("ask for at most %d days", mostAheadDays))
		return in, r.problems
	}
	for i, v := range r.list(o, "", "ahead_days") {
		if x := r.num(v, fmt.Sprintf("/ahead_days/%d", i)); x != nil {
			in.AheadDays = append(in.AheadDays, *x)
		}
	}
	in.Goals = r.goals(o, "", "goals")
	if v, ok := o["past"].(bool); ok {
		in.Past = v
	} else if o["past"] != nil {
		r.problem("/past", o["past"], "write true for the fitted curve through the sizes, or leave it out")
	}
	r.cohort(o, &in)
	return in, r.problems
}

func (r *healingReader) sizes(o map[string]any, at string) []healing.Size {
	if _, there := o["sizes"]; !there {
		r.problem(at+"/sizes", nil, "give the sizes as a list; an empty one is allowed")
		return nil
	}
	var out []healing.Size
	for i, v := range r.list(o, at, "sizes") {
		p := fmt.Sprintf("%s/sizes/%d", at, i)
		m, ok := v.(map[string]any)
		if !ok {
			r.problem(p, v, `write a size as an object, {"at":"2026-03-01","area_cm2":20.7}`)
			continue
		}
		z := healing.Size{Method: r.text(m, p, "method")}
		if t := r.date(m, p, "at"); t != nil {
			if z.At = *t; healing.IsAfter(z.At, r.latest) {
				r.problem(p+"/at", m["at"], "this is after "+r.latestIs+": correct it, give a later as_of, or leave it out")
			}
		} else if m["at"] == nil {
			r.problem(p+"/at", nil, "say when the size was measured, as 2026-03-01")
		}
		r.strangers(m, p, "at", "method", "area_cm2", "se_cm2", "depth_cm", "depth_se_cm", "volume_cm3", "volume_se_cm3", "perimeter_cm", "length_cm", "width_cm", "bare_pct")
		for name, to := range map[string]**float64{"area_cm2": &z.AreaCm2, "se_cm2": &z.SECm2, "depth_cm": &z.DepthCm, "depth_se_cm": &z.DepthSECm,
			"volume_cm3": &z.VolumeCm3, "volume_se_cm3": &z.VolumeSECm3, "perimeter_cm": &z.PerimeterCm, "length_cm": &z.LengthCm, "width_cm": &z.WidthCm, "bare_pct": &z.BarePct} {
			x := r.num(m[name], p+"/"+name)
			if x != nil && *x == 0 && strings.Contains(name, "se_cm") {
				r.problem(p+"/"+name, m[name], "no measurement is without error: give one above 0, or leave it out")
			}
			*to = x
		}
		out = append(out, z)
	}
	return out
}

func (r *healingReader) goals(o map[string]any, at, name string) []healing.Goal {
	var out []healing.Goal
	for i, v := range r.list(o, at, name) {
		p := fmt.Sprintf("%s/%s/%d", at, name, i)
		m, ok := v.(map[string]any)
		if !ok {
			r.problem(p, v, `write a goal as an object, {"id":"bed level","measure":"depth_cm","below":0.3}`)
			continue
		}
		g := healing.Goal{ID: r.text(m, p, "id"), Measure: healing.Measure(r.text(m, p, "measure"))}
		if g.Measure != healing.Area && g.Measure != healing.Depth && g.Measure != healing.Volume && g.Measure != healing.Bare {
			r.problem(p+"/measure", m["measure"], "write area_cm2, depth_cm, volume_cm3 or bare_pct")
		}
		if x := r.num(m["below"], p+"/below"); x != nil && *x > 0 {
			g.Below = *x
		} else {
			r.problem(p+"/below", m["below"], "give the value to get under, above 0")
		}
		if at == "" {
			g.And = r.goals(m, p, "and")
		}
		out = append(out, g)
	}
	return out
}

func (r *healingReader) cohort(o map[string]any, in *healing.Input) {
	for i, v := range r.list(o, "", "cohort") {
		p := fmt.Sprintf("/cohort/%d", i)
		m, ok := v.(map[string]any)
		if !ok {
			r.problem(p, v, "write a closed case as an object with sizes")
			continue
		}
		in.Cohort = append(in.Cohort, healing.ClosedCase{WoundType: r.text(m, p, "wound_type"), Sizes: r.sizes(m, p)})
	}
}

func (r *healingReader) list(o map[string]any, at, name string) []any {
	v := o[name]
	if v == nil {
		return nil
	}
	l, ok := v.([]any)
	if !ok {
		r.problem(at+"/"+name, v, "write a list, [ ... ]")
	}
	return l
}

func (r *healingReader) text(o map[string]any, at, name string) string {
	v := o[name]
	if v == nil {
		return ""
	}
	s, ok := v.(string)
	if !ok {
		r.problem(at+"/"+name, v, "write text in quotes")
	}
	return s
}

func (r *healingReader) num(v any, at string) *float64 {
	if v == nil {
		return nil
	}
	n, ok := v.(json.Number)
	if !ok {
		r.problem(at, v, "write a number without quotes or unit, with a point for decimals")
		return nil
	}
	x, err := n.Float64()
	if err != nil || math.IsInf(x, 0) {
		r.problem(at, v, "the number is too large to be a measurement")
		return nil
	}
	return &x
}

func (r *healingReader) date(o map[string]any, at, name string) *time.Time {
	v := o[name]
	if v == nil {
		return nil
	}
	s, ok := v.(string)
	if ok {
		for _, layout := range []string{"2006-01-02", time.RFC3339, "2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04"} {
			if t, err := time.Parse(layout, s); err == nil && t.Year() >= 1900 && t.Year() < 2300 {
				// the offset stays: it says which day it was where the wound was measured
				return &t
			}
		}
	}
	r.problem(at+"/"+name, v, "write a date as 2026-03-01, or a time as 2026-03-01T14:30:00+01:00, between 1900 and 2300")
	return nil
}
