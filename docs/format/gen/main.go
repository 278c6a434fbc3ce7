// Command gen writes what docs/format says about the case file from the Go types: case.schema.json (JSON
// Schema, draft 2020-12) and kinds.md (the fields of each kind). Run it from the top of the tree:
//
//	go run ./docs/format/gen
package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"

	"github.com/invopop/jsonschema"

	"lowtide/casebook"
	"lowtide/intake"
)

func main() {
	files, err := generate()
	for name, content := range files {
		if err == nil {
			err = os.WriteFile(filepath.Join("docs", "format", name), content, 0o644)
		}
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "gen:", err)
		os.Exit(1)
	}
}

// generate returns the files by name. It reads the doc comments of the types from the sources below the
// working directory, which must be the top of the tree.
func generate() (map[string][]byte, error) {
	r := &jsonschema.Reflector{RequiredFromJSONSchemaTags: true, Anonymous: true, Mapper: mapped, Namer: named}
	for _, dir := range []string{"./casebook", "./intake"} {
		if err := r.AddGoComments("lowtide", dir, jsonschema.WithFullComment()); err != nil {
			return nil, err
		}
	}
	root := r.ReflectFromType(reflect.TypeFor[intake.FileShape]())
	root.Title = "Case file of Lowtide"
	root.Ref, root.AllOf = "", []*jsonschema.Schema{{Ref: "#/$defs/File"}}
	for _, kind := range casebook.Kinds() {
		for name, def := range r.ReflectFromType(bodyType(kind)).Definitions {
			root.Definitions[name] = def
		}
	}
	refineAll(root.Definitions)
	byKind(root.Definitions["Entry"])
	corrections(root.Definitions["EntryCorrected"])
	raw, err := json.MarshalIndent(root, "", "  ")
	if err != nil {
		return nil, err
	}
	return map[string][]byte{"case.schema.json": append(raw, '\n'), "kinds.md": kindsPage()}, nil
}

func bodyType(kind casebook.Kind) reflect.Type {
	return reflect.TypeOf(casebook.NewBody(kind)).Elem()
}

// mapped gives types whose JSON form is another type's.
func mapped(t reflect.Type) *jsonschema.Schema {
	if t == reflect.TypeFor[casebook.Entry]() {
		return &jsonschema.Schema{Ref: "#/$defs/Entry"}
	}
	return nil
}

func named(t reflect.Type) string {
	return strings.TrimSuffix(t.Name(), "Shape")
}

// refineAll adds to each definition what Lowtide's own tags say.
func refineAll(defs jsonschema.Definitions) {
	types := map[string][]intake.Field{}
	var note func(name string, t reflect.Type, fields []intake.Field)
	note = func(name string, t reflect.Type, fields []intake.Field) {
		types[name] = fields
		for _, f := range fields {
			sf, ok := byName(t, f.Name)
			if !ok || len(f.Fields) == 0 {
				continue
			}
			inner := sf.Type
			for inner.Kind() != reflect.Struct {
				inner = inner.Elem()
			}
			note(named(inner), inner, f.Fields)
		}
	}
	for _, kind := range casebook.Kinds() {
		t := bodyType(kind)
		note(t.Name(), t, intake.FieldsOf(kind))
	}
	for name, fields := range types {
		for _, f := range fields {
			if p, ok := defs[name].Properties.Get(f.Name); ok {
				refine(p, f)
			}
		}
	}
	for name, pattern := range map[string]string{"id": uuid, "corrects": uuid} {
		p, _ := defs["Entry"].Properties.Get(name)
		p.Pattern = pattern
	}
	blobs, _ := defs["Entry"].Properties.Get("blobs")
	blobs.Items.Pattern = "^[0-9a-f]{64}$"
}

const uuid = "^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$"

// byName finds the Go field of a JSON name, through embedded structs.
func byName(t reflect.Type, name string) (reflect.StructField, bool) {
	for _, sf := range reflect.VisibleFields(t) {
		if tag, _, _ := strings.Cut(sf.Tag.Get("json"), ","); tag == name {
			return sf, true
		}
	}
	return reflect.StructField{}, false
}

func refine(p *jsonschema.Schema, f intake.Field) {
	p.Title = f.Words
	if f.Unit != "" {
		p.Extras = map[string]any{"x-unit": f.Unit}
	}
	switch f.Type {
	case intake.TypeWords:
		p.Items = &jsonschema.Schema{Type: "string"}
		if f.Enum == nil {
			one, most := uint64(1), uint64(intake.MaxItemLength)
			p.Items.MinLength, p.Items.MaxLength = &one, &most
		}
		for _, w := range f.Enum {
			p.Items.Enum = append(p.Items.Enum, w)
		}
	case intake.TypeAnswers:
		p.PropertyNames = &jsonschema.Schema{}
		for _, q := range casebook.Questions {
			p.PropertyNames.Enum = append(p.PropertyNames.Enum, q.ID)
		}
		p.AdditionalProperties = &jsonschema.Schema{Enum: []any{casebook.AnswerYes, casebook.AnswerNo, casebook.AnswerUnknown}}
	}
}

// byKind says which body each kind has. Kinds and versions that are not listed may have any.
func byKind(entry *jsonschema.Schema) {
	for _, kind := range casebook.Kinds() {
		when := jsonschema.NewProperties()
		when.Set("kind", &jsonschema.Schema{Const: kind})
		when.Set("version", &jsonschema.Schema{Const: casebook.Version(kind)})
		then := jsonschema.NewProperties()
		then.Set("body", &jsonschema.Schema{Ref: "#/$defs/" + bodyType(kind).Name()})
		s := &jsonschema.Schema{If: &jsonschema.Schema{Properties: when, Required: []string{"kind"}}, Then: &jsonschema.Schema{Properties: then}}
		for _, f := range intake.FieldsOf(kind) {
			if f.Required {
				s.Then.Required = []string{"body"}
			}
		}
		if kind == casebook.KindEntryCorrected {
			s.Then.Required = append(s.Then.Required, "reason")
		} else {
			then.Set("corrects", jsonschema.FalseSchema)
			then.Set("reason", jsonschema.FalseSchema)
		}
		entry.AllOf = append(entry.AllOf, s)
	}
}

// corrections says what each action needs.
func corrections(def *jsonschema.Schema) {
	for action, needs := range map[string][]string{"moved out": {"other_case"}, "moved in": {"other_case", "original"}} {
		when := jsonschema.NewProperties()
		when.Set("action", &jsonschema.Schema{Const: action})
		def.AllOf = append(def.AllOf, &jsonschema.Schema{If: &jsonschema.Schema{Properties: when}, Then: &jsonschema.Schema{Required: needs}})
	}
	if def.AllOf[0].Then.Required[len(def.AllOf[0].Then.Required)-1] == "original" {
		def.AllOf[0], def.AllOf[1] = def.AllOf[1], def.AllOf[0] // maps have no order, files do
	}
}

// kindsPage lists the fields of every kind.
func kindsPage() []byte {
	var b bytes.Buffer
	b.WriteString("# The kinds of entries and their fields\n\nGenerated from the Go types by `go run ./docs/format/gen`; do not edit. [case.md](case.md) explains the file as a whole.\n" +
		"A field is optional unless it is marked as needed. Numbers are in the unit given, which the field's name repeats.\n")
	for _, k := range casebook.Table {
		fmt.Fprintf(&b, "\n## %s, version %d\n\n%s. Since %s.\n\n| field | what | value |\n|---|---|---|\n", k.Name, k.Version, k.Title, k.Since)
		rows(&b, "", intake.FieldsOf(k.Name))
	}
	b.WriteString("\n## Questions of the screening\n\n| question | group | \"yes\" means |\n|---|---|---|\n")
	for _, q := range casebook.Questions {
		fmt.Fprintf(&b, "| `%s` | %s | %s |\n", q.ID, q.Group, q.Words)
	}
	return b.Bytes()
}

func rows(b *bytes.Buffer, prefix string, fields []intake.Field) {
	for _, f := range fields {
		name := prefix + f.Name
		fmt.Fprintf(b, "| `%s` | %s | %s |\n", name, f.Words, value(f))
		switch f.Type {
		case intake.TypeGroup:
			rows(b, name+".", f.Fields)
		case intake.TypeRows:
			rows(b, name+"[].", f.Fields)
		}
	}
}

func value(f intake.Field) string {
	parts := []string{string(f.Type)}
	if f.Required {
		parts = append(parts, "needed")
	}
	if f.Min != nil && f.Max != nil {
		parts = append(parts, strings.TrimSpace(fmt.Sprintf("%g to %g %s", *f.Min, *f.Max, f.Unit)))
	}
	if len(f.Enum) > 0 {
		parts = append(parts, "of: "+strings.Join(f.Enum, ", "))
	}
	if f.MaxLength > 0 {
		parts = append(parts, fmt.Sprintf("%d to %d characters", f.MinLength, f.MaxLength))
	}
	if f.MaxItems > 0 {
		parts = append(parts, fmt.Sprintf("%d to %d items", f.MinItems, f.MaxItems))
	}
	return strings.Join(parts, "; ")
}
