package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// TestFuzzTargets: every target is on the page with what must hold, has a corpus in the repository, and says why when it is
// slow; the page has no target that is not there.
func TestFuzzTargets(t *testing.T) {
	all, err := targets("../..")
	if err != nil {
		t.Fatal(err)
	}
	if len(all) < 28 {
		t.Errorf("only %d targets were found", len(all))
	}
	page, err := os.ReadFile("../../docs/fuzzing.md")
	if err != nil {
		t.Fatal(err)
	}
	rows := map[string][]string{}
	for _, m := range regexp.MustCompile(`(?m)^\| (\S+) \| (Fuzz\w+) \| (.*) \| ([\d,]+) \| (.*) \|$`).FindAllStringSubmatch(string(page), -1) {
		rows["./"+m[1]+" "+m[2]] = m[3:]
	}
	for _, target := range all {
		name := target.dir + " " + target.name
		row, ok := rows[name]
		delete(rows, name)
		if target.what == "" {
			t.Errorf("%s does not say in its comment what must hold", name)
		}
		if files, _ := filepath.Glob(filepath.Join("../..", target.corpus(), "*")); len(files) == 0 {
			t.Errorf("%s has no corpus: go run ./tests/fuzz -time 3s -keep -only '%s'", name, name)
		}
		if !ok {
			t.Errorf("%s is not in docs/fuzzing.md", name)
			continue
		}
		rate, err := strconv.Atoi(strings.ReplaceAll(row[1], ",", ""))
		if err != nil || (rate < enough && (row[2] == "" || strings.Contains(row[2], "no reason"))) {
			t.Errorf("%s runs %s times a second, and does not say why (%v)", name, row[1], err)
		}
	}
	for name := range rows {
		t.Errorf("docs/fuzzing.md has %s, which is not there", name)
	}
}

// TestThousands: a rate is printed with two digits that count.
func TestThousands(t *testing.T) {
	for x, want := range map[float64]string{0: "0", 7.9: "7", 42: "42", 485: "480", 999: "990", 1000: "1,000", 10726: "10,000", 98765: "98,000"} {
		if got := thousands(x); got != want {
			t.Errorf("%v: %s, want %s", x, got, want)
		}
	}
}
