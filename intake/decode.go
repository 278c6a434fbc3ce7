package intake

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"unicode/utf8"

	"lowtide/casebook"
	"lowtide/unit"
)

// decoder walks a tree against Go types. Values with a problem stay at their zero.
type decoder struct {
	src   []byte
	out   *collector
	path  []string
	entry string
	// form leaves the leading slash off pointers, so that they are names of form fields.
	form bool
}

func (d *decoder) pointer() string {
	var b strings.Builder
	for _, seg := range d.path {
		b.WriteString("/" + seg)
	}
	if d.form {
		return strings.TrimPrefix(b.String(), "/")
	}
	return b.String()
}

func (d *decoder) push(seg string) { d.path = append(d.path, escape(seg)) }
func (d *decoder) pop()            { d.path = d.path[:len(d.path)-1] }

func (d *decoder) report(at int, code Code, value, message, remedy string) {
	d.out.add(Problem{Pointer: d.pointer(), Entry: d.entry, Code: code, Value: value, Message: message, Remedy: remedy, at: at})
}

// object fills the struct v from the object n.
func (d *decoder) object(v reflect.Value, n *node, fields []Field, what string) {
	if n.bad {
		return
	}
	if n.kind != nodeObject {
		d.report(int(n.start), CodeType, n.show(), fmt.Sprintf("%s: an object is needed here, and this is %s.", what, n.kindWords()), `Write { "field": value, … }.`)
		return
	}
	meant := map[string]bool{}
	for i := range n.fields {
		m := &n.fields[i]
		d.push(m.key)
		if f := findField(fields, m.key); f == nil {
			d.unknown(m, fields, meant)
		} else if f.index != nil {
			d.value(v.FieldByIndex(f.index), &m.value, f)
		}
		d.pop()
	}
	if n.cut {
		return
	}
	for i := range fields {
		f := &fields[i]
		if f.Required && !meant[f.Name] && absent(n.get(f.Name)) {
			d.push(f.Name)
			d.report(int(n.start), CodeMissing, "", fmt.Sprintf("%s is missing.", f.Words), f.example())
			d.pop()
		}
	}
}

// absent tells whether a field has no value: not there, null, or blank text.
func absent(n *node) bool {
	return n == nil || (!n.bad && (n.kind == nodeNull || n.kind == nodeText && strings.TrimSpace(n.text) == ""))
}

func (d *decoder) unknown(m *member, fields []Field, meant map[string]bool) {
	if d.out.full() {
		d.report(int(m.at), CodeUnknownField, "", "", "")
		return
	}
	code, remedy, f := unknownRemedy(m.key, &m.value, fields)
	if f != nil {
		meant[f.Name] = true
	}
	d.report(int(m.at), code, m.value.show(), fmt.Sprintf("The field %q is not known here.", shorten(m.key)), remedy)
}

// value fills v, of the field's type or a pointer to it, from n. Null and blank text leave v as it is.
func (d *decoder) value(v reflect.Value, n *node, f *Field) {
	if n.bad || n.kind == nodeNull || absent(n) && f.Type == TypeText {
		return
	}
	to := v
	if v.Kind() == reflect.Pointer {
		to = reflect.New(v.Type().Elem()).Elem()
	}
	before := len(d.out.list) + d.out.more
	switch f.Type {
	case TypeText:
		d.text(to, n, f)
	case TypeDate:
		d.date(to, n, f)
	case TypeTime:
		d.time(to, n, f)
	case TypeNumber:
		d.number(to, n, f)
	case TypeCount:
		d.count(to, n, f)
	case TypeYesNo:
		d.yesNo(to, n, f)
	case TypeGroup:
		d.object(to, n, f.Fields, f.Words)
	case TypeWords, TypeRows:
		d.list(to, n, f)
	case TypeAnswers:
		d.answers(to, n, f)
	case TypeJSON:
		to.Set(reflect.ValueOf(d.raw(n)))
	case TypeEntry:
		e, _ := d.entryValue(n, "")
		to.Set(reflect.ValueOf(e))
	}
	// A value with a problem stays absent, a group with one too: half a group would only raise false problems.
	whole := f.Type == TypeEntry && n.kind == nodeObject || before == len(d.out.list)+d.out.more
	if v.Kind() == reflect.Pointer && whole {
		v.Set(to.Addr())
	}
}

// list fills a slice. Positions are kept: an item with a problem is at its zero.
func (d *decoder) list(v reflect.Value, n *node, f *Field) {
	if n.kind != nodeList {
		d.report(int(n.start), CodeType, n.show(), fmt.Sprintf("%s: a list is needed here, and this is %s.", f.Words, n.kindWords()), "Write [ … ], also around a single item.")
		return
	}
	if len(n.items) < f.MinItems && !n.cut {
		d.report(int(n.start), CodeItems, strconv.Itoa(len(n.items)), fmt.Sprintf("%s: at least %d is needed.", f.Words, f.MinItems), "Add what is missing.")
	}
	if f.MaxItems > 0 && len(n.items) > f.MaxItems {
		d.report(int(n.start), CodeItems, strconv.Itoa(len(n.items)), fmt.Sprintf("%s: %d items are more than the %d that fit.", f.Words, len(n.items), f.MaxItems), "Remove some, or split the entry.")
	}
	if len(n.items) == 0 {
		return
	}
	s := reflect.MakeSlice(v.Type(), len(n.items), len(n.items))
	item := Field{Name: f.Name, Words: f.Words, Enum: f.Enum, Type: TypeText, MinLength: 1, MaxLength: MaxItemLength}
	for i := range n.items {
		label := n.label(i)
		if label != "" {
			d.push(label)
		}
		it := &n.items[i]
		switch {
		case f.Type == TypeRows:
			d.object(s.Index(i), it, f.Fields, f.Words)
		case absent(it):
			d.report(int(it.start), CodeMissing, it.show(), fmt.Sprintf("%s: this item is empty.", f.Words), "Remove it, or write a word.")
		default:
			d.value(s.Index(i), it, &item)
		}
		if label != "" {
			d.pop()
		}
	}
	v.Set(s)
}

// MaxItemLength is the greatest length of a text in a list, in characters.
const MaxItemLength = 200

// answers fills the answers of a screening.
func (d *decoder) answers(v reflect.Value, n *node, f *Field) {
	if n.kind != nodeObject {
		d.report(int(n.start), CodeType, n.show(), fmt.Sprintf("%s: an object is needed here, and this is %s.", f.Words, n.kindWords()), `Write { "eschar": "no", … }.`)
		return
	}
	out := make(map[string]string, len(n.fields))
	for i := range n.fields {
		m := &n.fields[i]
		d.push(m.key)
		switch _, known := casebook.FindQuestion(m.key); {
		case !known:
			d.report(int(m.at), CodeQuestion, m.key, fmt.Sprintf("The screening has no question %q.", shorten(m.key)), nearestQuestion(m.key))
		case absent(&m.value) || m.value.bad:
		case m.value.kind == nodeText && isAnswer(m.value.text):
			out[m.key] = m.value.text
		default:
			d.report(int(m.value.start), CodeWord, m.value.show(), "An answer is yes, no or unknown.", answerRemedy(&m.value))
		}
		d.pop()
	}
	v.Set(reflect.ValueOf(out))
}

func isAnswer(s string) bool {
	return s == casebook.AnswerYes || s == casebook.AnswerNo || s == casebook.AnswerUnknown
}

func answerRemedy(n *node) string {
	if n.kind == nodeBool {
		return `Write "yes" for true and "no" for false.`
	}
	if near := unit.Nearest(n.text, []string{casebook.AnswerYes, casebook.AnswerNo, casebook.AnswerUnknown}); near != "" && n.kind == nodeText {
		return fmt.Sprintf("Write %q.", near)
	}
	return `Write "yes", "no" or "unknown"; unknown is never read as no.`
}

func nearestQuestion(id string) string {
	ids := make([]string, len(casebook.Questions))
	for i, q := range casebook.Questions {
		ids[i] = q.ID
	}
	if near := unit.Nearest(id, ids); near != "" {
		return fmt.Sprintf("Write %q if that is meant.", near)
	}
	return "Remove it; docs/format/kinds.md lists the questions."
}

// raw returns the canonical bytes of a value: no white space, and escaped as encoding/json escapes, so that
// writing and reading again gives the same bytes. Nil when they are not JSON, which is then already reported.
func (d *decoder) raw(n *node) json.RawMessage {
	var b, esc bytes.Buffer
	part := d.src[n.start:min(int(n.end), len(d.src))]
	if !utf8.Valid(part) || json.Compact(&b, part) != nil {
		return nil
	}
	json.HTMLEscape(&esc, b.Bytes())
	return esc.Bytes()
}

// show is the value as a problem shows it.
func (n *node) show() string {
	switch n.kind {
	case nodeText:
		return strconv.Quote(shorten(n.text))
	case nodeNumber, nodeBool:
		return n.text
	case nodeNull:
		return "null"
	case nodeList:
		return fmt.Sprintf("a list of %d", len(n.items))
	}
	return fmt.Sprintf("an object with %d fields", len(n.fields))
}

func (n *node) kindWords() string {
	return [...]string{"null", "true or false", "a number", "a text", "a list", "an object"}[n.kind]
}
