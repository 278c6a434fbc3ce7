package intake

import (
	"encoding/json"
	"fmt"
	"math"
	"net/url"
	"reflect"
	"strconv"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/unit"
)

// ReadForm reads a body from a posted form. Field names are JSON pointers into the body without the leading
// slash (wounds/0/out/0/count, answers/eschar); the problems' pointers are the names of the fields.
//
//   - Empty text means absent. A list of words repeats its name. Rows may have holes in their numbers, and a
//     row without any value is dropped.
//   - Numbers may have a decimal comma and a unit ("16,7 kPa"). Yes and no are true, on, yes, 1 and false,
//     off, no, 0; a checkbox may follow a hidden false of the same name.
//   - Times without offset are read as clock times in zone (nil is UTC): one that daylight saving skips is a
//     problem, and of one that comes twice the earlier is taken.
//   - A name that ends in "?" is a preset: it counts only when another field of its row or group has a value.
//   - Names that start with "-" belong to the page and are passed over, as do at, author and reason when the body has none.
//
// The body is returned with what could be read, also beside problems; it is nil when the kind is not known.
func ReadForm(kind casebook.Kind, form url.Values, zone *time.Location) (casebook.Body, Problems) {
	fields := FieldsOf(kind)
	if fields == nil {
		return nil, Problems{{Code: CodeUnknownKind, Value: string(kind), Message: fmt.Sprintf("There is no form for the kind %q.", shorten(string(kind))), Remedy: "Go back and choose another form."}}
	}
	if zone == nil {
		zone = time.UTC
	}
	out := newCollector(maxFormProblems)
	r := formReader{out: out, zone: zone}
	tree := r.group(branch(form), fields, "")
	into := reflect.ValueOf(casebook.NewBody(kind)).Elem()
	d := &decoder{out: out, form: true}
	d.object(into, &tree, fields, "Content")
	body := into.Interface().(casebook.Body)
	checkBody(body, func(pointer string, code Code, value, message, remedy string) {
		at, labelled := tree.trace(pointer)
		out.add(Problem{Pointer: strings.TrimPrefix(labelled, "/"), Code: code, Value: value, Message: message, Remedy: remedy, at: at})
	})
	return body, out.done(nil)
}

// maxFormProblems bounds the list of problems of one form.
const maxFormProblems = 1000

// formReader makes the same tree of a form that scan makes of JSON, so that one decoder reads both.
type formReader struct {
	out  *collector
	zone *time.Location
	// seq numbers the fields in their order, as byte offsets do in a file.
	seq int32
}

func (r *formReader) report(name string, code Code, value, message, remedy string) {
	r.out.add(Problem{Pointer: name, Code: code, Value: value, Message: message, Remedy: remedy, at: int(r.seq)})
}

// entryNames are fields of the entry that a form may carry beside those of the body.
var entryNames = map[string]bool{"at": true, "author": true, "reason": true}

func (r *formReader) group(t *twig, fields []Field, name string) node {
	r.seq++
	n := node{kind: nodeObject, start: r.seq}
	for i := range fields {
		f := &fields[i]
		r.seq++
		if sub := t.sub[f.Name]; sub != nil {
			at := r.seq
			if v := r.field(sub, f); v.bad || v.kind != nodeNull {
				n.fields = append(n.fields, member{f.Name, at, v})
			}
		}
	}
	for _, key := range keysOf(t.sub) {
		sub := t.sub[key]
		if findField(fields, key) != nil || !sub.filled() || name == "" && entryNames[key] {
			continue
		}
		_, remedy, _ := unknownRemedy(key, &node{kind: nodeText, text: strings.Join(sub.values, ", ")}, fields)
		r.report(sub.name, CodeUnknownField, strings.Join(sub.values, ", "), fmt.Sprintf("The form field %q is not known.", shorten(sub.name)), remedy)
	}
	return n
}

func (r *formReader) field(t *twig, f *Field) node {
	bad := node{kind: nodeNull, bad: true, start: r.seq}
	switch parts := f.Type == TypeGroup || f.Type == TypeRows || f.Type == TypeAnswers; {
	case parts && len(t.values) > 0:
		r.report(t.name, CodeUnknownField, t.values[0], fmt.Sprintf("%s has parts and is no single value.", f.Words), "Name the fields "+t.name+"/ and the part.")
		return bad
	case !parts && f.Type != TypeWords && (&twig{sub: t.sub}).filled():
		r.report(t.name, CodeUnknownField, "", fmt.Sprintf("%s is one value and has no parts.", f.Words), "Name the field "+t.name+".")
		return bad
	}
	switch f.Type {
	case TypeGroup:
		if !t.filled() {
			return node{}
		}
		return r.group(t, f.Fields, t.name)
	case TypeRows:
		return r.rows(t, f)
	case TypeWords:
		return r.wordList(t)
	case TypeAnswers:
		n := node{kind: nodeObject, start: r.seq}
		for _, key := range keysOf(t.sub) {
			sub := t.sub[key]
			switch {
			case len(sub.sub) > 0 && sub.filled():
				r.report(sub.name, CodeUnknownField, "", fmt.Sprintf("The form field %q is not known.", shorten(sub.name)), "Name it answers/ and the question.")
			case len(sub.values) > 0:
				n.fields = append(n.fields, member{key, r.seq, node{kind: nodeText, text: sub.values[len(sub.values)-1], start: r.seq}})
			}
		}
		return n
	case TypeJSON, TypeEntry:
		if t.filled() {
			r.report(t.name, CodeUnknownField, "", fmt.Sprintf("%s cannot be typed into a form.", f.Words), "Fill in the form of the corrected entry's kind.")
		}
		return node{}
	}
	if len(t.values) == 0 {
		return node{}
	}
	if f.Type != TypeYesNo {
		for _, v := range t.values[1:] {
			if v != t.values[0] {
				r.report(t.name, CodeTwice, strings.Join(t.values, ", "), fmt.Sprintf("%s was sent twice.", f.Words), "Fill it in once.")
				return bad
			}
		}
	}
	return r.leaf(t, f)
}

func (r *formReader) rows(t *twig, f *Field) node {
	n := node{kind: nodeList, start: r.seq}
	for _, key := range keysOf(t.sub) {
		sub := t.sub[key]
		if !sub.filled() {
			continue
		}
		if !isIndex(key) {
			r.report(sub.name, CodeUnknownField, "", fmt.Sprintf("The form field %q is not known.", shorten(sub.name)), "Rows are numbered: "+t.name+"/0.")
			continue
		}
		n.items = append(n.items, r.group(sub, f.Fields, sub.name))
		n.labels = append(n.labels, key)
	}
	if len(n.items) == 0 {
		return node{}
	}
	return n
}

// wordList reads repeated values, and numbered ones too.
func (r *formReader) wordList(t *twig) node {
	n := node{kind: nodeList, flat: true, start: r.seq}
	for _, key := range keysOf(t.sub) {
		sub := t.sub[key]
		if !sub.filled() {
			continue
		}
		if !isIndex(key) || len(sub.sub) > 0 {
			r.report(sub.name, CodeUnknownField, "", fmt.Sprintf("The form field %q is not known.", shorten(sub.name)), "Repeat the name "+t.name+".")
			continue
		}
		t.values = append(t.values, sub.values...)
	}
	for _, v := range t.values {
		n.items = append(n.items, node{kind: nodeText, text: v, start: r.seq})
	}
	if len(n.items) == 0 {
		return node{}
	}
	return n
}

// leaf reads one typed value.
func (r *formReader) leaf(t *twig, f *Field) node {
	text := t.values[0]
	n := node{kind: nodeText, text: text, start: r.seq}
	bad := node{kind: nodeNull, bad: true, start: r.seq}
	switch f.Type {
	case TypeNumber, TypeCount:
		x, err := unit.Parse(text, f.unitOr1())
		if err != nil || math.IsInf(x, 0) {
			r.report(t.name, CodeType, strconv.Quote(text), fmt.Sprintf("%s: a number is needed here (%v).", f.Words, err), "Write a number"+f.inUnit(" in ")+".")
			return bad
		}
		n = node{kind: nodeNumber, text: strconv.FormatFloat(trim(x, text), 'f', -1, 64), start: r.seq}
	case TypeYesNo:
		n = node{kind: nodeBool, text: "false", start: r.seq}
		for _, v := range t.values {
			b, ok := yesNoWord(v)
			if !ok {
				r.report(t.name, CodeType, strconv.Quote(v), fmt.Sprintf("%s: yes or no is needed here.", f.Words), "Choose yes or no, or leave it open.")
				return bad
			}
			if b {
				n.text = "true"
			}
		}
	case TypeTime:
		when, problem := ReadClock(text, r.zone)
		if problem != nil {
			problem.Pointer, problem.at, problem.Message = t.name, int(r.seq), f.Words+": "+problem.Message
			r.out.add(*problem)
			return bad
		}
		n.text = when.Format(time.RFC3339Nano)
	}
	return n
}

// trim rounds a number that was converted from another unit to three decimals: conversion leaves digits that
// nobody measured (16.7 kPa is 125.26 mmHg, not 125.2600952…). A number without unit stays as it was typed.
func trim(x float64, text string) float64 {
	if isDigit(text[len(text)-1]) || math.Abs(x) > 1e9 {
		return x
	}
	return math.Round(x*1000) / 1000
}

// SubForm returns the part of a form under a prefix, with the prefix taken off: the fields of a replacing
// body in the form of a correction.
func SubForm(form url.Values, prefix string) url.Values {
	out := url.Values{}
	for name, values := range form {
		if rest, ok := strings.CutPrefix(name, prefix); ok {
			out[rest] = values
		}
	}
	return out
}

// Replacement reads the corrected content of an entry of the kind from the fields under body/, as the JSON
// that EntryCorrected.Body holds. Pointers of the problems keep the prefix.
func Replacement(kind casebook.Kind, form url.Values, zone *time.Location) (json.RawMessage, Problems) {
	body, ps := ReadForm(kind, SubForm(form, "body/"), zone)
	for i := range ps {
		ps[i].Pointer = "body/" + ps[i].Pointer
	}
	if body == nil {
		return nil, ps
	}
	raw, err := json.Marshal(body)
	if err != nil {
		// Bodies hold nothing that JSON cannot carry; numbers were checked.
		panic("intake: " + err.Error())
	}
	return raw, ps
}
