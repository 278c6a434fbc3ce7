package intake

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strings"

	"lowtide/casebook"
	"lowtide/unit"
)

// entryValue reads an entry. caseID is the file's case, "" for an entry that moved in from another case,
// which must name its own id and case. ok is false when a problem was reported.
func (d *decoder) entryValue(n *node, caseID string) (e casebook.Entry, ok bool) {
	before, outer := len(d.out.list)+d.out.more, d.entry
	notices := 0
	defer func() {
		d.entry = outer
		ok = !n.bad && before+notices == len(d.out.list)+d.out.more
	}()
	if id := n.get("id"); id != nil && id.kind == nodeText && isUUID(id.text) {
		d.entry = id.text
	}
	var s EntryShape
	fields := fieldsOf(reflect.TypeFor[EntryShape]())
	if body := n.get("body"); n.kind == nodeObject {
		d.misplaced(n, fields, body)
	}
	d.object(reflect.ValueOf(&s).Elem(), n, fields, "Entry")
	if n.kind != nodeObject || n.bad {
		return e, false
	}
	d.ids(n, &s)
	e = casebook.Entry{ID: s.ID, Case: s.Case, Kind: casebook.Kind(s.Kind), Version: s.Version, At: s.At, Recorded: s.At, Author: s.Author, Blobs: s.Blobs, Corrects: s.Corrects, Reason: s.Reason}
	if s.Recorded != nil {
		e.Recorded = *s.Recorded
	}
	if e.Version == 0 {
		e.Version = 1
	}
	if e.Author == "" {
		e.Author = Imported
	}
	if e.Case == "" {
		e.Case = caseID
	}
	if caseID == "" {
		d.movedIn(n, &e)
	}
	notices = d.body(n, &e)
	if e.ID == "" {
		// Only an Unknown with broken JSON has no ID then, and its problem is reported.
		e.ID, _ = contentID(e)
	}
	return e, true
}

// misplaced marks fields that belong into the body, so that the remedy can say so.
func (d *decoder) misplaced(n *node, fields []Field, body *node) {
	kind := n.get("kind")
	if kind == nil || kind.kind != nodeText {
		return
	}
	inner := FieldsOf(casebook.Kind(kind.text))
	rest := n.fields[:0:0]
	for _, m := range n.fields {
		if findField(fields, m.key) == nil && findField(inner, m.key) != nil {
			d.push(m.key)
			d.report(int(m.at), CodeUnknownField, m.value.show(), fmt.Sprintf("The field %q is not known here.", m.key), `It belongs inside "body".`)
			d.pop()
			if body != nil {
				body.cut = true // what is missing inside may be what lies outside
			}
			continue
		}
		rest = append(rest, m)
	}
	if len(rest) != len(n.fields) {
		if body == nil {
			rest = append(rest, member{"body", n.start, node{kind: nodeObject, cut: true, start: n.start, end: n.start}})
		}
		n.fields = rest
	}
}

// movedIn asks an entry from another case for what the file cannot add.
func (d *decoder) movedIn(n *node, e *casebook.Entry) {
	if len(d.path) > 0 && d.path[len(d.path)-1] != "original" {
		return
	}
	for _, f := range []struct{ name, value string }{{"id", e.ID}, {"case", e.Case}} {
		if f.value == "" && !n.cut && absent(n.get(f.name)) {
			d.push(f.name)
			d.report(int(n.start), CodeMissing, "", fmt.Sprintf("An entry that moved in names its %s.", f.name), "Copy the whole entry as the other case has it.")
			d.pop()
		}
	}
}

// ids checks the form of IDs and hashes.
func (d *decoder) ids(n *node, s *EntryShape) {
	for _, f := range []struct {
		name  string
		value *string
	}{{"id", &s.ID}, {"corrects", &s.Corrects}} {
		if *f.value == "" || isUUID(*f.value) {
			continue
		}
		remedy := "Leave id out, and one is made from the content; or write a UUID."
		if f.name == "corrects" {
			remedy = "Write the id of the corrected entry."
		}
		if low := strings.ToLower(*f.value); isUUID(low) {
			remedy = fmt.Sprintf("Write %q.", low)
		}
		d.push(f.name)
		d.report(int(n.get(f.name).start), CodeFormat, *f.value, fmt.Sprintf("%q is not a UUID in lower case.", shorten(*f.value)), remedy)
		d.pop()
		*f.value = ""
	}
	for i, b := range s.Blobs {
		if b == "" || isSHA256(b) {
			continue
		}
		d.push("blobs")
		d.push(fmt.Sprint(i))
		d.report(int(n.get("blobs").items[i].start), CodeFormat, b, "This is not a SHA-256 in lower-case hexadecimal.", "Write the 64 digits of the blob's hash.")
		d.pop()
		d.pop()
	}
}

// body reads the body by its kind. It returns the number of notices given.
func (d *decoder) body(n *node, e *casebook.Entry) (notices int) {
	b := n.get("body")
	if b == nil || b.kind == nodeNull && !b.bad {
		b = &node{kind: nodeObject, start: n.start, end: n.start, cut: n.cut}
	}
	d.push("body")
	defer d.pop()
	kind := casebook.Find(e.Kind)
	if kind == nil || e.Version != kind.Version {
		e.Body = casebook.Unknown{Of: e.Kind, Raw: d.raw(b)}
		if b.start == b.end {
			e.Body = casebook.Unknown{Of: e.Kind, Raw: json.RawMessage("{}")}
		}
		if e.Kind == "" {
			return 0
		}
		return d.unknownKind(n, e, kind != nil)
	}
	into := reflect.ValueOf(kind.New()).Elem()
	d.object(into, b, fieldsOf(into.Type()), "Content")
	e.Body = into.Interface().(casebook.Body)
	return 0
}

// unknownKind gives the notice that an entry is kept but not used.
func (d *decoder) unknownKind(n *node, e *casebook.Entry, known bool) int {
	message := fmt.Sprintf("This program does not know the kind %q: the entry is kept and shown, and nothing is concluded from it.", e.Kind)
	remedy := "Nothing to do if another program wrote it."
	at := int(n.get("kind").start)
	if known {
		message = fmt.Sprintf("This program does not know version %d of %s: the entry is kept and shown, and nothing is concluded from it.", e.Version, e.Kind)
	} else {
		var names []string
		for _, k := range casebook.Kinds() {
			names = append(names, string(k))
		}
		if near := unit.Nearest(string(e.Kind), names); near != "" {
			remedy = fmt.Sprintf("Write %q if that is meant: it does not count as it is.", near)
		}
	}
	d.out.add(Problem{Pointer: strings.TrimSuffix(d.pointer(), "/body") + "/kind", Entry: d.entry, Code: CodeUnknownKind, Value: string(e.Kind), Message: message, Remedy: remedy, Notice: true, at: at})
	return 1
}

// isSHA256 tells whether s has the form of a SHA-256 in lower-case hexadecimal.
func isSHA256(s string) bool { return len(s) == 64 && strings.Trim(s, "0123456789abcdef") == "" }
