package intake

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io"
	"reflect"
	"strconv"
	"strings"
	"time"

	"lowtide/casebook"
)

// The name and version of the case file format.
const (
	Format        = "lowtide.case"
	FormatVersion = 1
)

// Imported is the author of entries that name none.
const Imported = "imported"

// CaseFile is one case with its entries, as a file holds it.
type CaseFile struct {
	// Format is "lowtide.case", Version 1.
	Format  string
	Version int
	Case    string
	Entries []casebook.Entry
}

// FileShape is the JSON form of a case file. Its tags, and those of EntryShape, describe the outer part of
// the format as those of the bodies describe the inner.
type FileShape struct {
	Format  string       `json:"format" jsonschema:"required,enum=lowtide.case" words:"Format"`
	Version int          `json:"version" jsonschema:"required,minimum=1,maximum=1" words:"Version of the format"`
	Case    string       `json:"case" jsonschema:"required,minLength=1,maxLength=60" words:"Case"`
	Entries []EntryShape `json:"entries" jsonschema:"required,maxItems=20000" words:"Entries"`
}

// EntryShape is the JSON form of an entry in a file: id, case, version, recorded and author may be left out.
type EntryShape struct {
	ID       string          `json:"id,omitempty" jsonschema:"maxLength=36" words:"ID"`
	Case     string          `json:"case,omitempty" jsonschema:"maxLength=60" words:"Case"`
	Kind     string          `json:"kind" jsonschema:"required,minLength=1,maxLength=60" words:"Kind"`
	Version  int             `json:"version,omitempty" jsonschema:"minimum=1,maximum=1000000" words:"Version of the kind"`
	At       time.Time       `json:"at" jsonschema:"required" words:"When it happened"`
	Recorded *time.Time      `json:"recorded,omitempty" words:"When it was written"`
	Author   string          `json:"author,omitempty" jsonschema:"maxLength=120" words:"Author"`
	Body     json.RawMessage `json:"body,omitempty" words:"Content"`
	Blobs    []string        `json:"blobs,omitempty" jsonschema:"maxItems=100" words:"Photos and logs"`
	Corrects string          `json:"corrects,omitempty" jsonschema:"maxLength=36" words:"Corrected entry"`
	Reason   string          `json:"reason,omitempty" jsonschema:"maxLength=1000" words:"Reason"`
}

// Limits bound what is read.
type Limits struct {
	// Bytes and Entries bound a file, Depth its nesting, Values its JSON values, Problems the list of problems.
	Bytes, Entries, Depth, Values, Problems int
}

// DefaultLimits fit the greatest case that a nurse could write by far: one entry an hour for two years.
var DefaultLimits = Limits{Bytes: 20 << 20, Entries: 20000, Depth: 64, Values: 2_000_000, Problems: 20_000}

// Options are what reading a file needs beside its bytes.
type Options struct {
	Now time.Time
	// Known are entries of the case that are already kept: wounds, corrected entries and canister sizes may
	// be among them.
	Known []casebook.Entry
	// Limits at zero are DefaultLimits.
	Limits Limits
}

// ReadCaseFile reads a case file that stands alone. See [Read].
func ReadCaseFile(raw []byte, now time.Time) (CaseFile, Problems) {
	return Read(raw, Options{Now: now})
}

// Read reads a case file and checks it as a whole. The file may be used when the problems' Err is nil; if
// not, Entries holds those that have no problem of their own. An entry may leave out recorded (then it is
// at), author ([Imported]), version (1), case (the file's) and id (then it is made from the content, so
// that reading the same file twice gives the same entries). The same entry twice is kept once, with a notice.
// Kinds and versions that are not known are kept as [casebook.Unknown], with a notice.
func Read(raw []byte, o Options) (CaseFile, Problems) {
	if o.Limits == (Limits{}) {
		o.Limits = DefaultLimits
	}
	out := newCollector(o.Limits.Problems)
	file := CaseFile{Format: Format, Version: FormatVersion}
	if len(raw) > o.Limits.Bytes {
		out.add(Problem{Code: CodeSize, Value: strconv.Itoa(len(raw)), Message: fmt.Sprintf("The file has %d bytes; %d are accepted.", len(raw), o.Limits.Bytes),
			Remedy: "Split it: one case a file. Photos do not belong into it."})
		return file, out.done(raw)
	}
	root, ok := scan(raw, o.Limits, out)
	if !ok {
		return file, out.done(raw)
	}
	d := &decoder{src: raw, out: out}
	if !d.isFile(&root) {
		return file, out.done(raw)
	}
	var shape FileShape
	d.object(reflect.ValueOf(&shape).Elem(), &root, fileFields(), "Case file")
	file.Case = shape.Case
	entries := d.entries(&root, file.Case, o.Limits)
	c := checker{out: out, known: o.Known, list: entries, now: o.Now, tree: &root, incomplete: root.cut}
	c.run()
	file.Entries = keep(entries, out)
	return file, out.done(raw)
}

// fileFields are the outer fields; entries are read by their own loop.
func fileFields() []Field {
	fields := append([]Field(nil), fieldsOf(reflect.TypeFor[FileShape]())...)
	findField(fields, "entries").index = nil
	return fields
}

// isFile tells whether the tree may be a case file, and says so if it is something else that is near.
func (d *decoder) isFile(root *node) bool {
	switch {
	case root.kind == nodeList:
		d.report(int(root.start), CodeType, root.show(), "The file is a list, and a case file is an object.", `Write { "format": "lowtide.case", "version": 1, "case": "…", "entries": [ … ] }.`)
	case root.kind != nodeObject:
		d.report(int(root.start), CodeType, root.show(), fmt.Sprintf("The file is %s, and a case file is an object.", root.kindWords()), `Write { "format": "lowtide.case", "version": 1, "case": "…", "entries": [ … ] }.`)
	default:
		return true
	}
	return false
}

// entries reads the list of entries. Positions are kept, also of entries with problems.
func (d *decoder) entries(root *node, caseID string, limits Limits) []casebook.Entry {
	n := root.get("entries")
	if absent(n) || n.bad {
		return nil
	}
	d.push("entries")
	defer d.pop()
	if n.kind != nodeList {
		d.report(int(n.start), CodeType, n.show(), fmt.Sprintf("Entries: a list is needed here, and this is %s.", n.kindWords()), "Write [ … ], also around a single entry.")
		return nil
	}
	items := n.items
	if len(items) > limits.Entries {
		d.report(int(n.start), CodeSize, strconv.Itoa(len(items)), fmt.Sprintf("The file has %d entries; %d are accepted.", len(items), limits.Entries), "Split it: one case a file.")
		items = items[:limits.Entries]
	}
	out := make([]casebook.Entry, len(items))
	for i := range items {
		d.push(strconv.Itoa(i))
		e, ok := d.entryValue(&items[i], caseID)
		if !ok {
			d.out.bad[i] = true
		}
		if e.Case != caseID && caseID != "" && e.Case != "" {
			d.entry = e.ID
			d.push("case")
			d.report(int(items[i].start), CodeOtherCase, e.Case, fmt.Sprintf("The entry belongs to case %q, and the file is case %q.", e.Case, caseID), "Leave case out, or put the entry into the other case's file.")
			d.pop()
			d.entry = ""
		}
		out[i] = e
		d.pop()
	}
	return out
}

// keep returns the entries without a problem, each once.
func keep(entries []casebook.Entry, out *collector) []casebook.Entry {
	var kept []casebook.Entry
	seen := map[string]bool{}
	for i, e := range entries {
		if out.bad[i] || seen[e.ID] {
			continue
		}
		seen[e.ID] = true
		kept = append(kept, e)
	}
	return kept
}

// WriteCaseFile writes the canonical form: two spaces of indent, fields in their fixed order, entries in the
// given order, a line feed at the end. The same file gives the same bytes.
func WriteCaseFile(w io.Writer, f CaseFile) error {
	entries := f.Entries
	if entries == nil {
		entries = []casebook.Entry{}
	}
	raw, err := json.Marshal(struct {
		Format  string           `json:"format"`
		Version int              `json:"version"`
		Case    string           `json:"case"`
		Entries []casebook.Entry `json:"entries"`
	}{Format, FormatVersion, f.Case, entries})
	if err != nil {
		return fmt.Errorf("intake: write case %s: %w", f.Case, err)
	}
	var b bytes.Buffer
	if err := json.Indent(&b, raw, "", "  "); err != nil {
		return fmt.Errorf("intake: write case %s: %w", f.Case, err)
	}
	b.WriteByte('\n')
	_, err = w.Write(b.Bytes())
	return err
}

// contentID makes an ID from everything in the entry but its ID: a UUID of version 8 (RFC 9562, section
// 5.8) from a SHA-256.
func contentID(e casebook.Entry) (string, error) {
	e.ID = ""
	raw, err := e.MarshalJSON()
	if err != nil {
		return "", err
	}
	return casebook.HashID(sha256.Sum256(append([]byte("lowtide.case entry\n"), raw...))), nil
}

// isUUID tells whether s has the form of a UUID in lower case.
func isUUID(s string) bool {
	if len(s) != 36 {
		return false
	}
	for i := 0; i < len(s); i++ {
		if i == 8 || i == 13 || i == 18 || i == 23 {
			if s[i] != '-' {
				return false
			}
		} else if strings.IndexByte("0123456789abcdef", s[i]) < 0 {
			return false
		}
	}
	return true
}
