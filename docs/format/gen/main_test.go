package main

import (
	"bytes"
	"os"
	"path/filepath"
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

func schema(t *testing.T) *validate.Schema {
	t.Helper()
	c := validate.NewCompiler()
	c.AssertFormat()
	raw, err := os.ReadFile("../case.schema.json")
	if err != nil {
		t.Fatal(err)
	}
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
		for _, k := range casebook.Kinds {
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
