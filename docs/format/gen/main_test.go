package main

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	validate "github.com/santhosh-tekuri/jsonschema/v6"

	"lowtide/casebook"
	"lowtide/intake"
)

var now = time.Date(2026, 3, 10, 12, 0, 0, 0, time.UTC)

// TestFresh: the files in docs/format are what the Go types say now.
func TestFresh(t *testing.T) {
	t.Chdir("../../..")
	files, err := generate()
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range files {
		got, err := os.ReadFile(filepath.Join("docs", "format", name))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("docs/format/%s is stale; run: go run ./docs/format/gen", name)
		}
	}
}

type tideSeen struct {
	HeightM float64 `json:"height_m" jsonschema:"required,minimum=0,maximum=50" unit:"m" words:"Height of the tide"`
}

func (tideSeen) Kind() casebook.Kind { return "tide.seen" }

// TestOneRowIsEnough: a row in the table of kinds is all that schema and page need.
func TestOneRowIsEnough(t *testing.T) {
	t.Chdir("../../..")
	before := casebook.Table
	t.Cleanup(func() { casebook.Table = before })
	casebook.Table = append(slices.Clone(before), casebook.Of(func(*casebook.Folding, *casebook.Line, tideSeen) {}, casebook.Row{Version: 2, Title: "Tide", Since: "2026-11-30"}))
	files, err := generate()
	if err != nil {
		t.Fatal(err)
	}
	if page := string(files["kinds.md"]); !strings.Contains(page, "## tide.seen, version 2\n\nTide. Since 2026-11-30.") || !strings.Contains(page, "| `height_m` | Height of the tide | number; needed; 0 to 50 m |") {
		t.Error("kinds.md does not have it")
	}
	s := compiled(t, files["case.schema.json"])
	for height, good := range map[string]bool{"50": true, "51": false, `"high"`: false} {
		raw := `{"format":"lowtide.case","version":1,"case":"c","entries":[{"kind":"tide.seen","version":2,"at":"2026-03-01T08:00:00Z","author":"n","body":{"height_m":` + height + `}}]}`
		if err := judge(s, []byte(raw)); (err == nil) != good {
			t.Errorf("a tide of %s m: %v", height, err)
		}
	}
}

func schema(t *testing.T) *validate.Schema {
	t.Helper()
	raw, err := os.ReadFile("../case.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	return compiled(t, raw)
}

func compiled(t *testing.T, raw []byte) *validate.Schema {
	t.Helper()
	c := validate.NewCompiler()
	c.AssertFormat()
	doc, err := validate.UnmarshalJSON(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	if err := c.AddResource("case.schema.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("case.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func judge(s *validate.Schema, raw []byte) error {
	doc, err := validate.UnmarshalJSON(bytes.NewReader(raw))
	if err != nil {
		return err
	}
	return s.Validate(doc)
}

// TestCheckGood: the reader and an independent validator of JSON Schema both accept the good files, the
// example in case.md, and what the reader writes of them.
func TestCheckGood(t *testing.T) {
	s := schema(t)
	page, err := os.ReadFile("../case.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(page), "```json\n")
	example, _, ok := strings.Cut(rest, "```")
	if !ok {
		t.Fatal("case.md has no example")
	}
	// The page shows what a depth of 40 cm gives.
	_, ps := intake.ReadCaseFile([]byte(strings.Replace(example, `"depth_cm": 20,`, `"depth_cm": 40,`, 1)), now)
	if len(ps) != 1 || !strings.Contains(string(page), ps[0].String()) {
		t.Errorf("case.md does not show: %v", ps)
	}
	good := map[string][]byte{"case.md": []byte(example)}
	names, _ := filepath.Glob("../../../intake/testdata/good/*.json")
	for _, name := range names {
		raw, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		good[filepath.Base(name)] = raw
	}
	if len(good) < 4 {
		t.Fatalf("only %d good files", len(good))
	}
	for name, raw := range good {
		file, ps := intake.ReadCaseFile(raw, now)
		if err := ps.Err(); err != nil {
			t.Errorf("%s: the reader refuses it: %v", name, err)
		}
		if err := judge(s, raw); err != nil {
			t.Errorf("%s: the schema refuses it: %v", name, err)
		}
		var b bytes.Buffer
		if err := intake.WriteCaseFile(&b, file); err != nil {
			t.Fatal(err)
		}
		if err := judge(s, b.Bytes()); err != nil {
			t.Errorf("%s: the schema refuses what is written of it: %v", name, err)
		}
		if name != "every-kind.json" {
			continue
		}
		seen := map[casebook.Kind]bool{}
		for _, e := range file.Entries {
			seen[e.Kind] = true
		}
		for _, k := range casebook.Kinds() {
			if !seen[k] {
				t.Errorf("%s has no %s", name, k)
			}
		}
	}
}

// beyond are the bad files whose problems a schema cannot express, with the reason.
var beyond = map[string]string{
	"02-tissue-130.json":          "a sum over fields",
	"03-visit-in-the-future.json": "depends on the clock",
	"04-change-before-wound.json": "compares two entries",
	"12-duplicate-keys.json":      "gone once the JSON is parsed",
	"19-encoding.json":            "gone once the JSON is parsed",
	"23-contradictions.json":      "compares fields",
	"25-canister.json":            "compares two entries",
	"26-unknown-kinds.json":       "only notices",
}

// TestCheckBad: the independent validator refuses exactly the bad files that a schema can tell.
func TestCheckBad(t *testing.T) {
	s := schema(t)
	names, _ := filepath.Glob("../../../intake/testdata/bad/*.json")
	if len(names) < 20 {
		t.Fatalf("only %d bad files", len(names))
	}
	for _, name := range names {
		raw, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		reason, passes := beyond[filepath.Base(name)]
		if err := judge(s, raw); (err == nil) != passes {
			t.Errorf("%s: schema says %v; expected to pass: %t (%s)", filepath.Base(name), err, passes, reason)
		}
	}
}
