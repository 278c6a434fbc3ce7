package fhir

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"sort"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/intake"
)

// Limits of what is read from outside.
const (
	mostBytes     = 20 << 20
	mostResources = 20000
)

// Proposal is an entry that a Bundle of somebody else suggests. It is no entry before a nurse accepts it.
type Proposal struct {
	Kind casebook.Kind `json:"kind"`
	// At is when it happened; zero is not told.
	At time.Time `json:"at,omitzero"`
	// Recorded and Author are known when the Bundle was written by Lowtide.
	Recorded time.Time `json:"recorded,omitzero"`
	Author   string    `json:"author,omitempty"`
	// Entry is the ID of the entry in a Bundle that Lowtide wrote.
	Entry string `json:"entry,omitempty"`
	// Body holds what was understood, by the names of the case file.
	Body json.RawMessage `json:"body"`
	// From names the resources that it was read from, such as "Observation/123".
	From []string `json:"from"`
	// Missing are fields that the kind needs and the Bundle does not tell; a nurse fills them in.
	Missing []string `json:"missing,omitempty"`
	// Unsure says in words what was read with doubt.
	Unsure []string `json:"unsure,omitempty"`
}

// Unread is a resource that became no proposal, and why.
type Unread struct {
	From string `json:"from"`
	Why  string `json:"why"`
}

// Reading is what a Bundle says.
type Reading struct {
	Proposals []Proposal `json:"proposals"`
	Unread    []Unread   `json:"unread,omitempty"`
}

// Read reads a Bundle or a single resource. It fails only when the bytes are no FHIR JSON at all; what is not
// understood within is listed.
func Read(raw []byte) (Reading, error) {
	if len(raw) > mostBytes {
		return Reading{}, fmt.Errorf("the file has %d bytes; at most %d are read: export fewer resources", len(raw), mostBytes)
	}
	var top struct {
		ResourceType string `json:"resourceType"`
		Timestamp    string `json:"timestamp"`
		Entry        []struct {
			FullURL  string          `json:"fullUrl"`
			Resource json.RawMessage `json:"resource"`
		} `json:"entry"`
	}
	dec := json.NewDecoder(bytes.NewReader(raw))
	if err := dec.Decode(&top); err != nil {
		return Reading{}, fmt.Errorf("this is not FHIR JSON: %w: export it again as FHIR R4 in JSON", err)
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return Reading{}, errors.New("something stands behind the first JSON value: export one Bundle a file")
	}
	if top.ResourceType == "" {
		return Reading{}, errors.New("resourceType is missing: this is not a FHIR resource")
	}
	r := &reader{resources: map[string]*read{}, told: map[string]*own{}}
	if top.ResourceType != "Bundle" {
		r.take("", raw)
	} else {
		if len(top.Entry) > mostResources {
			return Reading{}, fmt.Errorf("the Bundle has %d resources; at most %d are read", len(top.Entry), mostResources)
		}
		for _, e := range top.Entry {
			if len(e.Resource) > 0 {
				r.take(e.FullURL, e.Resource)
			}
		}
	}
	r.ownEntries()
	r.foreign()
	sort.SliceStable(r.out.Proposals, func(i, j int) bool { return order[r.out.Proposals[i].Kind] < order[r.out.Proposals[j].Kind] })
	if r.out.Proposals == nil {
		r.out.Proposals = []Proposal{}
	}
	return r.out, nil
}

// order puts a person before the wounds and both before what names them.
var order = map[casebook.Kind]int{casebook.KindPersonRegistered: -2, casebook.KindWoundFound: -1}

// read is one resource with what it is called by.
type read struct {
	kind, name string
	raw        json.RawMessage
	done       bool
}

// own is an entry in a Bundle that Lowtide wrote: its Observation and the natural resource that takes the rest.
type own struct {
	observation *observation
	natural     []*read
	from        []string
}

type reader struct {
	list      []*read
	resources map[string]*read // by every name that a reference may use
	told      map[string]*own
	ids       []string // keys of told in order
	out       Reading
	letter    int
}

func (r *reader) take(fullURL string, raw json.RawMessage) {
	var h struct {
		ResourceType string `json:"resourceType"`
		ID           string `json:"id"`
	}
	if err := json.Unmarshal(raw, &h); err != nil || h.ResourceType == "" {
		r.unread("entry "+fullURL, "it is no resource")
		return
	}
	x := &read{kind: h.ResourceType, name: h.ResourceType + "/" + h.ID, raw: raw}
	r.list = append(r.list, x)
	r.resources[x.name] = x
	if fullURL != "" {
		r.resources[fullURL] = x
	}
}

func (r *reader) unread(from, why string) {
	r.out.Unread = append(r.out.Unread, Unread{clip(from), why})
}

func clip(s string) string {
	if len(s) > 120 {
		return strings.ToValidUTF8(s[:120], "") + "…"
	}
	return s
}

// entryOf is the entry that a resource belongs to, if Lowtide wrote it.
func entryOf(ids []identifier) string {
	for _, id := range ids {
		if id.System == systemEntry {
			return id.Value
		}
	}
	return ""
}

func into[T any](x *read) (T, error) {
	var v T
	dec := json.NewDecoder(bytes.NewReader(x.raw))
	dec.UseNumber()
	err := dec.Decode(&v)
	return v, err
}

// ownEntries reads the entries of a Bundle that Lowtide wrote.
func (r *reader) ownEntries() {
	for _, x := range r.list {
		if x.kind != "Observation" {
			continue
		}
		o, err := into[observation](x)
		if err != nil {
			continue // foreign says so
		}
		id := entryOf(o.Identifier)
		if id == "" || kindOf(o.Code) == "" {
			continue
		}
		if _, twice := r.told[id]; twice {
			x.done = true
			r.unread(x.name, "the same entry stands in the Bundle twice")
			continue
		}
		x.done = true
		w := &own{observation: &o, from: []string{x.name}}
		for _, ref := range slices.Concat(o.Focus, o.PartOf, o.DerivedFrom) {
			if n := r.resources[ref.Reference]; n != nil {
				w.natural = append(w.natural, n)
			}
		}
		r.told[id] = w
		r.ids = append(r.ids, id)
	}
	for _, id := range r.ids {
		r.ownEntry(id, r.told[id])
	}
}

func kindOf(c concept) casebook.Kind {
	for _, k := range c.Coding {
		if k.System == systemKind {
			return casebook.Kind(k.Code)
		}
	}
	return ""
}

func (r *reader) ownEntry(id string, w *own) {
	o := w.observation
	p := Proposal{Kind: kindOf(o.Code), Entry: id, From: w.from}
	var doubt []string
	t := func(field, s string) time.Time {
		at, err := time.Parse(time.RFC3339Nano, s)
		if err != nil && s != "" {
			doubt = append(doubt, fmt.Sprintf("%s is no time with an offset: %q", field, clip(s)))
		}
		return at
	}
	p.At, p.Recorded = t("effectiveDateTime", o.EffectiveDateTime), t("issued", o.Issued)
	if len(o.Performer) > 0 {
		p.Author = o.Performer[0].Display
	}
	tree := map[string]any{}
	set := func(path string, v any) {
		if v == nil || v == "" {
			return
		}
		if err := put(tree, path, v); err != nil {
			doubt = append(doubt, err.Error())
		}
	}
	if p.Kind == casebook.KindCanisterRead && o.ValueQuantity != nil {
		set("volume_mL", o.ValueQuantity.Value)
	}
	if p.Kind == casebook.KindWoundMeasured && o.Method != nil {
		set("method", o.Method.Text)
	}
	if len(o.Note) > 0 {
		set("note", o.Note[0].Text)
	}
	for i := range o.Component {
		c := &o.Component[i]
		if path, ok := pathOf(p.Kind, c.Code); ok {
			set(path, c.value())
		} else {
			doubt = append(doubt, "a component without a field of ours: "+clip(c.Code.Text))
		}
	}
	for _, n := range w.natural {
		if ownNatural(p.Kind, n, set) {
			n.done = true
			p.From = append(p.From, n.name)
		}
	}
	p.Unsure = doubt
	if o.ValueString != "" && json.Valid([]byte(o.ValueString)) && len(tree) == 0 {
		p.Body = json.RawMessage(o.ValueString)
		r.out.Proposals = append(r.out.Proposals, p)
		return
	}
	r.propose(p, tree)
}

func pathOf(kind casebook.Kind, c concept) (string, bool) {
	for _, k := range c.Coding {
		if k.System == systemField {
			if path, ok := strings.CutPrefix(k.Code, string(kind)+"/"); ok {
				return path, true
			}
		}
	}
	return "", false
}

// propose keeps a proposal with the body of the tree and says what is missing.
func (r *reader) propose(p Proposal, tree map[string]any) {
	raw, err := json.Marshal(plainTree(tree))
	if err != nil {
		r.unread(strings.Join(p.From, ", "), "a value in it is no number")
		return
	}
	p.Body = raw
	for _, f := range intake.FieldsOf(p.Kind) {
		if _, has := tree[f.Name]; f.Required && !has {
			p.Missing = append(p.Missing, f.Name)
		}
	}
	r.out.Proposals = append(r.out.Proposals, p)
}
