package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/demo"
	"lowtide/evidence/casegen"
	"lowtide/intake"
)

// morning is the instant at which invented cases are looked at.
var morning = time.Date(2026, 3, 4, 8, 30, 0, 0, time.UTC)

// writeCases writes the demonstration's cases and invented ones into a folder, each as a case file, or as an archive when
// its entries name photos or logs.
func writeCases(dir string, n int, seed uint64) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	blobs := demo.Blobs(morning, 1)
	byCase := map[string][]casebook.Entry{}
	var order []string
	for _, e := range demo.Entries(morning, 1) {
		if byCase[e.Case] == nil {
			order = append(order, e.Case)
		}
		byCase[e.Case] = append(byCase[e.Case], e)
	}
	for i, id := range order {
		if err := writeCase(dir, fmt.Sprintf("demo-%02d", i+1), casegen.Made{ID: id, Entries: byCase[id], Blobs: blobs}); err != nil {
			return err
		}
	}
	for i := range n {
		if err := writeCase(dir, fmt.Sprintf("made-%06d", seed+uint64(i)), casegen.Case(seed+uint64(i), morning)); err != nil {
			return err
		}
	}
	return nil
}

func writeCase(dir, name string, c casegen.Made) error {
	file, _ := c.File(morning)
	var b bytes.Buffer
	ext := ".json"
	if len(intake.FilesNamed(file.Entries)) > 0 {
		ext = ".zip"
		if _, err := intake.WriteArchive(&b, file, func(name string) ([]byte, error) {
			if raw, ok := c.Blobs[name]; ok {
				return raw, nil
			}
			return nil, casebook.ErrNotBrought
		}); err != nil {
			return err
		}
	} else if err := intake.WriteCaseFile(&b, file); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(dir, name+ext), b.Bytes(), 0o644)
}

// subject is a case file with the instants at which it is looked at.
type subject struct {
	name, path string
	asOf       []time.Time
	// whole asks for papers, the Bundle and tables too, not only for reviews.
	whole bool
}

// subjects lists the case files of folders. Invented ones are looked at in the morning and two days later; every eighth
// of those from casegen is whole, all others are. A folder of cases made by hand tells its instants in a table with the
// columns file and as_of, or else they are looked at a day after their last entry.
func subjects(dirs []string) ([]subject, error) {
	var out []subject
	for _, dir := range dirs {
		told, err := instants(dir)
		if err != nil {
			return nil, err
		}
		found, err := os.ReadDir(dir)
		if err != nil {
			return nil, err
		}
		for _, f := range found {
			ext := filepath.Ext(f.Name())
			if ext != ".json" && ext != ".zip" {
				continue
			}
			s := subject{name: strings.TrimSuffix(f.Name(), ext), path: filepath.Join(dir, f.Name()), whole: true}
			switch {
			case told[s.name] != nil:
				s.asOf = told[s.name]
			case strings.HasPrefix(s.name, "demo-"), strings.HasPrefix(s.name, "made-"):
				s.asOf = []time.Time{morning, morning.Add(47 * time.Hour)}
				s.whole = strings.HasPrefix(s.name, "demo-") || len(out)%8 == 0
			default:
				last, err := lastEntry(s.path)
				if err != nil {
					return nil, err
				}
				s.asOf = []time.Time{last.Add(24 * time.Hour)}
			}
			out = append(out, s)
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].name < out[j].name })
	return out, nil
}

// instants reads file and as_of of every *.tsv in a folder.
func instants(dir string) (map[string][]time.Time, error) {
	tables, err := filepath.Glob(filepath.Join(dir, "*.tsv"))
	if err != nil {
		return nil, err
	}
	out := map[string][]time.Time{}
	for _, table := range tables {
		raw, err := os.ReadFile(table)
		if err != nil {
			return nil, err
		}
		lines := strings.Split(string(raw), "\n")
		head := strings.Split(strings.TrimSpace(lines[0]), "\t")
		file, asOf := slices.Index(head, "file"), slices.Index(head, "as_of")
		for _, line := range lines[1:] {
			cells := strings.Split(line, "\t")
			if file < 0 || asOf < 0 || len(cells) <= max(file, asOf) {
				continue
			}
			t, err := time.Parse(time.RFC3339, cells[asOf])
			if err != nil {
				return nil, fmt.Errorf("%s: %w", table, err)
			}
			out[cells[file]] = append(out[cells[file]], t)
		}
	}
	return out, nil
}

func lastEntry(path string) (time.Time, error) {
	raw, err := os.ReadFile(path)
	if err != nil {
		return time.Time{}, err
	}
	var f struct {
		Entries []struct {
			At time.Time `json:"at"`
		} `json:"entries"`
	}
	if err := json.Unmarshal(raw, &f); err != nil {
		return time.Time{}, fmt.Errorf("%s: %w", path, err)
	}
	var last time.Time
	for _, e := range f.Entries {
		if e.At.After(last) {
			last = e.At
		}
	}
	return last, nil
}

// job is one command line, and what it is about.
type job struct {
	about string // review, paper handover, ...
	name  string // of the case, and the instant
	args  []string
}

// papers are the kinds of paper that every version of the program has.
var papers = []string{"visit-note", "progress", "handover", "prescriber-message", "payer-month", "leaflet"}

func jobs(list []subject) []job {
	var out []job
	for _, s := range list {
		for i, t := range s.asOf {
			at := t.UTC().Format(time.RFC3339)
			add := func(about string, args ...string) {
				out = append(out, job{about, s.name + " at " + at, append(args, "--as-of", at)})
			}
			add("review", "review", "--json", s.path)
			if !s.whole || i > 0 {
				continue
			}
			add("review as text", "review", s.path)
			for _, p := range papers {
				add("paper "+p, "paper", p, s.path, "--json")
			}
			add("Bundle", "fhir", "write", s.path)
			for _, t := range []string{"visits", "wounds", "days"} {
				add("table "+t, "tables", t, s.path, "--json")
			}
		}
	}
	return out
}
