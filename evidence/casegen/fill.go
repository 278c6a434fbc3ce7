package casegen

import (
	"encoding/json"
	"math"
	"reflect"
	"strings"
	"sync"
	"time"

	"lowtide/casebook"
	"lowtide/intake"
)

// shape is a body's type with the fields that its tags describe.
type shape struct {
	zero   any
	fields []place
}

// place is a field and how to reach it.
type place struct {
	intake.Field
	index []int
	inner []place
	elem  reflect.Type
}

// shapes are the bodies of all kinds.
var shapes = sync.OnceValue(func() map[casebook.Kind]shape {
	out := map[casebook.Kind]shape{}
	for _, k := range casebook.Kinds() {
		t := reflect.TypeOf(casebook.NewBody(k)).Elem()
		out[k] = shape{reflect.Zero(t).Interface(), places(t, intake.FieldsOf(k))}
	}
	return out
})

// places joins the fields that intake reads from the tags with the Go fields that hold them.
func places(t reflect.Type, fields []intake.Field) []place {
	byName := map[string]reflect.StructField{}
	for _, sf := range reflect.VisibleFields(t) {
		if name, _, _ := strings.Cut(sf.Tag.Get("json"), ","); name != "" && !sf.Anonymous {
			byName[name] = sf
		}
	}
	out := make([]place, len(fields))
	for i, f := range fields {
		sf := byName[f.Name]
		elem := sf.Type
		for elem.Kind() == reflect.Pointer || elem.Kind() == reflect.Slice && f.Type == intake.TypeRows {
			elem = elem.Elem()
		}
		out[i] = place{Field: f, index: sf.Index, elem: elem}
		if len(f.Fields) > 0 {
			out[i].inner = places(elem, f.Fields)
		}
	}
	return out
}

// body invents a body of the kind: each field by its tags, and then what must agree.
func (m *maker) body(kind casebook.Kind) casebook.Body {
	s := shapes()[kind]
	v := reflect.New(reflect.TypeOf(s.zero))
	m.fill(v.Elem(), s.fields)
	m.agree(v.Interface())
	return v.Elem().Interface().(casebook.Body)
}

func (m *maker) fill(v reflect.Value, fields []place) {
	for i := range fields {
		f := &fields[i]
		if !f.Required && !m.chance(m.full) {
			continue
		}
		to := v.FieldByIndex(f.index)
		if to.Kind() == reflect.Pointer && f.Type != intake.TypeEntry {
			to.Set(reflect.New(to.Type().Elem()))
			to = to.Elem()
		}
		m.set(to, f)
	}
}

func (m *maker) set(to reflect.Value, f *place) {
	switch f.Type {
	case intake.TypeText:
		to.SetString(m.text(f))
	case intake.TypeDate:
		to.SetString(m.at.Add(-time.Duration(m.rnd.IntN(400)) * day).Format(time.DateOnly))
	case intake.TypeNumber:
		to.SetFloat(m.number(f))
	case intake.TypeCount:
		to.SetInt(int64(math.Round(m.number(f))))
	case intake.TypeYesNo:
		to.SetBool(m.chance(0.5))
	case intake.TypeTime:
		to.Set(reflect.ValueOf(m.at.Add(time.Duration(m.between(-6, 6) * float64(time.Hour))).Truncate(time.Minute)))
	case intake.TypeWords:
		to.Set(reflect.ValueOf(m.list(f)))
	case intake.TypeAnswers:
		to.Set(reflect.ValueOf(m.answers()))
	case intake.TypeGroup:
		m.fill(to, f.inner)
	case intake.TypeRows:
		n := max(f.MinItems, 1+m.rnd.IntN(3))
		if f.MaxItems > 0 {
			n = min(n, f.MaxItems)
		}
		rows := reflect.MakeSlice(to.Type(), n, n)
		for i := range n {
			m.fill(rows.Index(i), f.inner)
		}
		to.Set(rows)
	case intake.TypeJSON, intake.TypeEntry:
		// Only corrections have them, and they are made by hand.
	}
}

// text is a word of the list, one that the field's name asks for, or something said.
func (m *maker) text(f *place) string {
	if len(f.Enum) > 0 {
		return m.pick(f.Enum)
	}
	s := ""
	if say := m.words.named[f.Name]; say != nil {
		s = m.pick(say)
	} else {
		s = m.pick(m.words.said)
	}
	if len(s) < f.MinLength {
		s += " and more"
	}
	if runes := []rune(s); f.MaxLength > 0 && len(runes) > f.MaxLength {
		s = string(runes[:f.MaxLength])
	}
	if f.MinLength == f.MaxLength && f.MinLength > 0 {
		s = strings.Repeat("0123456789abcdef", f.MinLength/16+1)[:f.MinLength]
	}
	return s
}

func (m *maker) pick(from []string) string { return from[m.rnd.IntN(len(from))] }

// number is one that the trade knows for such a field, or any that its tags allow, their ends included.
func (m *maker) number(f *place) float64 {
	lo, hi := 0.0, 100.0
	if f.Min != nil {
		lo = *f.Min
	}
	if f.Max != nil {
		hi = *f.Max
	}
	usual, ok := usualNumbers[f.Name]
	switch r := m.rnd.Float64(); {
	case ok && r > m.odd:
		lo, hi = max(lo, usual[0]), min(hi, usual[1])
	case r < m.odd/8:
		return lo
	case r < m.odd/4:
		return hi
	}
	x := m.between(lo, hi)
	if hi > 100*max(1, lo) && lo >= 0 {
		x = math.Exp(m.between(math.Log(max(lo, 0.1)), math.Log(hi)))
	}
	if hi-lo > 20 {
		return math.Round(x)
	}
	return min(hi, max(lo, math.Round(10*x)/10))
}

// list is some of the allowed words, or of those that the field's name asks for, none of them twice.
func (m *maker) list(f *place) []string {
	from := f.Enum
	if len(from) == 0 {
		from = m.words.lists[f.Name]
	}
	if f.Name == "wounds" {
		from = m.woundNames()
	}
	if len(from) == 0 {
		from = m.words.said
	}
	n := max(f.MinItems, 1+m.rnd.IntN(3))
	if m.chance(m.odd / 4) {
		n = len(from)
	}
	if f.MaxItems > 0 {
		n = min(n, f.MaxItems)
	}
	var out []string
	for _, i := range m.rnd.Perm(len(from))[:min(n, len(from))] {
		// "none" stands alone: see Seen.Signs.
		if from[i] == "none" || len(out) == 0 && f.Name == "signs" && m.chance(0.6) {
			if len(out) == 0 {
				return []string{"none"}
			}
			continue
		}
		out = append(out, from[i])
	}
	return out
}

// answers answers the questions of the screening, most with no.
func (m *maker) answers() map[string]string {
	out := map[string]string{}
	worry := pick(m.rnd, 0, 0, 0.03, 0.2)
	for _, q := range casebook.Questions {
		switch {
		case m.chance(worry):
			out[q.ID] = casebook.AnswerYes
		case m.chance(0.03):
			out[q.ID] = casebook.AnswerUnknown
		case m.chance(0.6 + 0.4*m.full):
			out[q.ID] = casebook.AnswerNo
		}
	}
	return out
}

// correct corrects an entry of the case, perhaps one that was corrected before, or a correction.
func (m *maker) correct() {
	if len(m.entries) == 0 {
		return
	}
	i := m.rnd.IntN(len(m.entries))
	if m.chance(0.5) { // rather a late one
		i = len(m.entries) - 1 - m.rnd.IntN(min(5, len(m.entries)))
	}
	target := m.entries[i]
	b := casebook.EntryCorrected{Action: pick(m.rnd, "withdraw", "withdraw", "replace", "replace", "replace", "moved out", "moved in")}
	corrects := target.ID
	other := m.newID(m.start.Add(-day))
	switch b.Action {
	case "replace":
		_, again := target.Body.(casebook.EntryCorrected)
		if !again && m.chance(0.8) {
			raw, err := json.Marshal(m.body(target.Kind))
			if err != nil {
				panic("casegen: " + err.Error()) // bodies always marshal
			}
			b.Body = raw
		}
		if b.Body == nil || m.chance(0.3) {
			b.At = target.At.Add(-time.Duration(m.rnd.IntN(600)) * time.Minute).Format(time.RFC3339)
		}
	case "moved out":
		b.OtherCase = other
	case "moved in":
		kind := casebook.Kinds()[m.rnd.IntN(len(casebook.Kinds()))]
		if kind == casebook.KindEntryCorrected || kind == casebook.KindPhotoTaken || kind == casebook.KindLogImported || kind == casebook.KindOutlineTraced || len(m.wounds) == 0 {
			kind = casebook.KindNoteWritten
		}
		e := casebook.Entry{ID: m.newID(m.at), Case: other, Kind: kind, Version: casebook.Version(kind), At: m.at, Recorded: m.at, Author: m.pick(m.words.nurses), Body: m.body(kind)}
		b.OtherCase, b.Original, corrects = other, &e, e.ID
	}
	e := m.add(b)
	e.Corrects, e.Reason = corrects, m.pick(m.words.said)
}
