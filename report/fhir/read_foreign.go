package fhir

import (
	"encoding/json"
	"fmt"
	"math"
	"regexp"
	"sort"
	"strconv"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/unit"
)

// foreign reads what others wrote: Patient, Condition, DeviceRequest, ServiceRequest and Observation.
func (r *reader) foreign() {
	for _, x := range r.list {
		if !x.done && x.kind == "Patient" {
			r.foreignPatient(x)
		}
	}
	wounds := map[string]string{} // reference -> short name
	for _, x := range r.list {
		if x.kind != "Condition" {
			continue
		}
		if name := r.foreignCondition(x); name != "" {
			for ref, y := range r.resources {
				if x == y {
					wounds[ref] = name
				}
			}
		}
	}
	sizes := map[string]*size{}
	for _, x := range r.list {
		if x.done {
			continue
		}
		switch x.kind {
		case "Patient", "Condition":
		case "DeviceRequest", "ServiceRequest":
			r.foreignOrder(x)
		case "Observation":
			r.foreignObservation(x, wounds, sizes)
		case "BodyStructure", "Device", "Procedure", "DeviceUseStatement", "CarePlan", "DetectedIssue", "Provenance", "DocumentReference", "Media":
			r.unread(x.name, "Lowtide makes no entry of a "+x.kind)
		default:
			r.unread(x.name, "Lowtide does not read "+clip(x.kind))
		}
	}
	keys := make([]string, 0, len(sizes))
	for k := range sizes {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	for _, k := range keys {
		s := sizes[k]
		s.p.Unsure = append(s.p.Unsure, "by which method and convention it was measured is not told: sizes of different methods are not one trend")
		r.propose(s.p, s.tree)
	}
}

func words(c *concept) string {
	if c == nil {
		return ""
	}
	if c.Text != "" {
		return c.Text
	}
	for _, k := range c.Coding {
		if k.Display != "" {
			return k.Display
		}
	}
	return ""
}

func (r *reader) foreignPatient(x *read) {
	p, err := into[patient](x)
	if err != nil {
		r.unread(x.name, "it does not fit FHIR R4: "+clip(err.Error()))
		return
	}
	for _, id := range p.Identifier {
		if id.System == systemCase {
			return // ours, of a Bundle without a registration
		}
	}
	tree := map[string]any{}
	if len(p.Name) > 0 {
		n := p.Name[0]
		if n.Text == "" {
			n.Text = strings.TrimSpace(strings.Join(append(n.Given, n.Family), " "))
		}
		set(tree, "name", n.Text)
	}
	set(tree, "born", fullDate(p.BirthDate))
	if len(p.Identifier) > 0 {
		set(tree, "record", p.Identifier[0].Value)
	}
	if len(p.Address) > 0 {
		a := p.Address[0]
		if a.Text == "" {
			a.Text = strings.Trim(strings.Join(append(a.Line, a.City), ", "), ", ")
		}
		set(tree, "address", a.Text)
	}
	if len(p.Communication) > 0 {
		set(tree, "language", words(&p.Communication[0].Language))
	}
	r.propose(Proposal{Kind: casebook.KindPersonRegistered, From: []string{x.name}}, tree)
}

// set keeps a value that is there.
func set(tree map[string]any, name string, v string) {
	if v != "" {
		tree[name] = v
	}
}

var day = regexp.MustCompile(`^\d{4}-\d{2}-\d{2}$`)

// fullDate is a date with its day; "2026-03" says less than the field needs.
func fullDate(s string) string {
	if len(s) >= 10 && day.MatchString(s[:10]) {
		return s[:10]
	}
	return ""
}

// whenTold reads a FHIR dateTime. A date alone has no time of day, so it is not told.
func whenTold(s string) (time.Time, bool) {
	t, err := time.Parse(time.RFC3339Nano, s)
	return t, err == nil
}

var (
	looksLikeWound = regexp.MustCompile(`(?i)wound|ulcer|pressure injury|dehiscence|decubitus`)
	woundTypes     = []struct {
		pattern *regexp.Regexp
		typ     string
	}{
		{regexp.MustCompile(`(?i)diabetic.*(foot|ulcer)|neuropathic`), "diabetic foot"},
		{regexp.MustCompile(`(?i)pressure|decubitus`), "pressure"},
		{regexp.MustCompile(`(?i)mixed`), "mixed leg"},
		{regexp.MustCompile(`(?i)venous`), "venous"},
		{regexp.MustCompile(`(?i)arterial|ischa?emic`), "arterial"},
		{regexp.MustCompile(`(?i)surgical|dehiscence|postoperative`), "surgical"},
		{regexp.MustCompile(`(?i)trauma`), "traumatic"},
	}
)

// foreignCondition proposes a wound and returns its short name; "" when the Condition is none.
func (r *reader) foreignCondition(x *read) string {
	c, err := into[condition](x)
	if err != nil {
		r.unread(x.name, "it does not fit FHIR R4: "+clip(err.Error()))
		return ""
	}
	if x.done {
		for _, id := range c.Identifier {
			if id.System == systemWound {
				return id.Value
			}
		}
		return ""
	}
	what := words(c.Code)
	if !looksLikeWound.MatchString(what) {
		r.unread(x.name, "it does not say that it is a wound: "+clip(what))
		return ""
	}
	p := Proposal{Kind: casebook.KindWoundFound, From: []string{x.name}}
	name := string(rune('A' + r.letter%26))
	r.letter++
	tree := map[string]any{"wound": name}
	p.Unsure = append(p.Unsure, "the short name "+name+" is Lowtide's; choose another if it is taken")
	for _, t := range woundTypes {
		if t.pattern.MatchString(what) {
			tree["type"] = t.typ
			p.Unsure = append(p.Unsure, fmt.Sprintf("type read from the words %q", clip(what)))
			break
		}
	}
	if len(c.BodySite) > 0 {
		set(tree, "site", words(&c.BodySite[0]))
	}
	set(tree, "since", fullDate(c.OnsetDateTime))
	if at, ok := whenTold(c.RecordedDate); ok {
		p.At = at
	}
	if len(c.Stage) > 0 {
		for stage, code := range snomedStage {
			for _, k := range c.Stage[0].Summary.codings() {
				if k.System == systemSNOMED && k.Code == code {
					tree["stage"] = stage
				}
			}
		}
	}
	r.propose(p, tree)
	return name
}

func (c *concept) codings() []coding {
	if c == nil {
		return nil
	}
	return c.Coding
}

var negativePressure = regexp.MustCompile(`(?i)negative[- ]pressure|npwt`)

func isNPWT(c *concept) bool {
	for _, k := range c.codings() {
		if k.System == systemSNOMED && k.Code == snomedPump || k.Code == "E2402" || negativePressure.MatchString(k.Display) {
			return true
		}
	}
	return c != nil && negativePressure.MatchString(c.Text)
}

// anyRequest has what DeviceRequest and ServiceRequest share.
type anyRequest struct {
	deviceRequest
	Code *concept `json:"code"`
}

func (r *reader) foreignOrder(x *read) {
	d, err := into[anyRequest](x)
	if err != nil {
		r.unread(x.name, "it does not fit FHIR R4: "+clip(err.Error()))
		return
	}
	if !isNPWT(d.CodeCodeableConcept) && !isNPWT(d.Code) {
		r.unread(x.name, "it does not say that it orders negative-pressure wound therapy")
		return
	}
	switch d.Status {
	case "entered-in-error", "revoked", "draft", "unknown":
		r.unread(x.name, "its status is "+d.Status)
		return
	}
	p := Proposal{Kind: casebook.KindOrderWritten, From: []string{x.name}}
	tree := map[string]any{}
	if d.Requester != nil {
		set(tree, "prescriber", d.Requester.Display)
	}
	if at, ok := whenTold(d.AuthoredOn); ok {
		p.At = at
	}
	for _, q := range d.Parameter {
		if q.ValueQuantity == nil {
			continue
		}
		v, ok := inUnit(q.ValueQuantity, "mmHg")
		if !ok {
			continue
		}
		if _, twice := tree["stages"]; twice {
			p.Unsure = append(p.Unsure, "more than one pressure is given; only the first was read: check the stages")
			continue
		}
		if v < 0 {
			p.Unsure = append(p.Unsure, "the pressure was written with a minus; Lowtide writes the depth below ambient")
			v = -v
		}
		tree["stages"] = []any{map[string]any{"suction_mmHg": number(v)}}
		p.Unsure = append(p.Unsure, "whether the pressure is held all the time or in stages is not told")
	}
	var notes []string
	for _, n := range d.Note {
		notes = append(notes, n.Text)
	}
	set(tree, "note", strings.Join(notes, "\n"))
	r.propose(p, tree)
}

// inUnit converts a quantity with a UCUM code, or with a unit that Lowtide prints, to the unit.
func inUnit(q *quantity, to string) (float64, bool) {
	x, err := strconv.ParseFloat(q.Value.String(), 64)
	if err != nil || math.IsInf(x, 0) {
		return 0, false
	}
	from := q.Code
	if from == "" || q.System != systemUCUM {
		from = q.Unit
	}
	v, err := unit.Convert(x, from, to)
	return v, err == nil
}

// size collects what is said of one wound at one time.
type size struct {
	p    Proposal
	tree map[string]any
}

// sizeFields are the LOINC codes of a size, with the field and the unit it is kept in.
var sizeFields = map[string]struct{ field, unit string }{
	"39126-8": {"length_cm", "cm"}, "39125-0": {"width_cm", "cm"}, "39127-6": {"depth_cm", "cm"}, "89260-4": {"area_cm2", "cm²"},
}

func (r *reader) foreignObservation(x *read, wounds map[string]string, sizes map[string]*size) {
	o, err := into[observation](x)
	if err != nil {
		r.unread(x.name, "it does not fit FHIR R4: "+clip(err.Error()))
		return
	}
	if o.Status == "entered-in-error" || o.Status == "cancelled" {
		r.unread(x.name, "its status is "+o.Status)
		return
	}
	start := o.EffectiveDateTime
	if start == "" && o.EffectivePeriod != nil {
		start = o.EffectivePeriod.End
	}
	at, timed := whenTold(start)
	type part struct {
		code concept
		q    *quantity
	}
	parts := []part{{o.Code, o.ValueQuantity}}
	for _, c := range o.Component {
		parts = append(parts, part{c.Code, c.ValueQuantity})
	}
	used := false
	for _, part := range parts {
		for _, k := range part.code.Coding {
			if k.System != systemLOINC || part.q == nil {
				continue
			}
			if k.Code == loincDrainage {
				used = true
				r.drainage(x, at, timed, part.q)
			}
			f, ok := sizeFields[k.Code]
			if !ok {
				continue
			}
			used = true
			v, fits := inUnit(part.q, f.unit)
			if !fits {
				r.unread(x.name, fmt.Sprintf("%s is in %q, which is no unit of it", f.field, clip(part.q.Unit+part.q.Code)))
				continue
			}
			r.sizeOf(x, &o, at, timed, start, wounds, sizes).put(x.name, f.field, v)
		}
	}
	if !used {
		r.unread(x.name, "Lowtide does not know what was observed: "+clip(words(&o.Code)))
	}
}

func (r *reader) drainage(x *read, at time.Time, timed bool, q *quantity) {
	v, ok := inUnit(q, "mL")
	if !ok {
		r.unread(x.name, fmt.Sprintf("the drainage is in %q, which is no volume", clip(q.Unit+q.Code)))
		return
	}
	p := Proposal{Kind: casebook.KindCanisterRead, From: []string{x.name}, Unsure: []string{"whether this is the level in the canister or what was collected since the last reading is not told"}}
	if timed {
		p.At = at
	}
	r.propose(p, map[string]any{"volume_mL": number(v)})
}

// sizeOf is the size that an Observation belongs to: one wound, one time.
func (r *reader) sizeOf(x *read, o *observation, at time.Time, timed bool, start string, wounds map[string]string, sizes map[string]*size) *size {
	wound := ""
	for _, f := range o.Focus {
		if w, ok := wounds[f.Reference]; ok {
			wound = w
		}
	}
	key := start + "|" + wound + "|" + words(o.BodySite)
	s := sizes[key]
	if s == nil {
		s = &size{p: Proposal{Kind: casebook.KindWoundMeasured}, tree: map[string]any{}}
		if timed {
			s.p.At = at
		}
		switch {
		case wound != "":
			s.tree["wound"] = wound
		case o.BodySite != nil:
			s.p.Unsure = append(s.p.Unsure, "the wound is only called "+strconv.Quote(clip(words(o.BodySite))))
		}
		sizes[key] = s
	}
	return s
}

func (s *size) put(from, field string, v float64) {
	if old, twice := s.tree[field]; twice && old != number(v) {
		s.p.Unsure = append(s.p.Unsure, fmt.Sprintf("%s is given twice, as %v and %v", field, old, number(v)))
		return
	}
	s.tree[field] = json.Number(number(v))
	for _, f := range s.p.From {
		if f == from {
			return
		}
	}
	s.p.From = append(s.p.From, from)
}
