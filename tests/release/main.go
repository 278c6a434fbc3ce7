// Command release checks a folder that make release filled: a program for every system, its bill of materials, the
// licences of what it holds, and the checksums.
//
//	go run ./tests/release dist
package main

import (
	"bufio"
	"crypto/sha256"
	"debug/buildinfo"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"

	"lowtide/licence"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "release needs a folder: go run ./tests/release dist")
		os.Exit(2)
	}
	problems, parts := check(os.Args[1])
	for _, p := range problems {
		fmt.Fprintln(os.Stderr, "release:", p)
	}
	if len(problems) > 0 {
		os.Exit(1)
	}
	fmt.Printf("%d programs, each with its checksum; their bills of materials name the same %d parts as go version -m, and every part's licence is printed by lowtide about --licences\n", len(licence.Targets), parts)
}

// name is the file of a system's program.
func name(target string) string {
	goos, goarch, _ := strings.Cut(target, "/")
	file := "lowtide_" + goos + "_" + goarch
	if goos == "windows" {
		file += ".exe"
	}
	return file
}

// check lists what is wrong in the folder, and counts the parts over all systems.
func check(dir string) (problems []string, parts int) {
	bad := func(format string, args ...any) { problems = append(problems, fmt.Sprintf(format, args...)) }
	want := map[string]bool{"SHA256SUMS": true}
	names := map[string]bool{}
	for _, target := range licence.Targets {
		file := name(target)
		want[file], want[file+".cdx.json"] = true, true
		linked, err := modules(filepath.Join(dir, file), target)
		if err != nil {
			bad("%s: %v", file, err)
			continue
		}
		text, err := os.ReadFile(filepath.Join(dir, file+".cdx.json"))
		if err != nil {
			bad("%v", err)
			continue
		}
		for _, d := range billOfMaterials(text, target, linked) {
			bad("%s.cdx.json: %s", file, d)
		}
		for _, m := range linked {
			names[m.path] = true
			if m.path != "lowtide" && m.path != "std" && len(licence.Parts().Of(m.path, m.version).Files) == 0 {
				bad("%s: the licence of %s %s is not printed: go generate ./licence", file, m.path, m.version)
			}
		}
	}
	for _, d := range sums(dir, want) {
		bad("%s", d)
	}
	return problems, len(names)
}

// module is one line of go version -m. Sum is the hash of its source in hex, as a bill of materials gives it.
type module struct{ path, version, sum string }

// modules is what go version -m says of a program; it must be for the target, without C, stripped and without paths.
func modules(file, target string) ([]module, error) {
	out, err := exec.Command("go", "version", "-m", file).Output()
	if err != nil {
		return nil, fmt.Errorf("go version -m: %w", err)
	}
	first, rest, _ := strings.Cut(string(out), "\n")
	info, err := buildinfo.ReadFile(file)
	if err != nil {
		return nil, err
	}
	settings := map[string]string{}
	for _, s := range info.Settings {
		settings[s.Key] = s.Value
	}
	if got := settings["GOOS"] + "/" + settings["GOARCH"]; got != target {
		return nil, fmt.Errorf("it is for %s", got)
	}
	if settings["CGO_ENABLED"] != "0" || settings["-trimpath"] != "true" || settings["vcs.modified"] != "false" {
		return nil, fmt.Errorf("it must be built without C, with -trimpath, of a commit: %v", settings)
	}
	_, goVersion, _ := strings.Cut(first, ": ")
	all := []module{{"std", goVersion, ""}}
	for lines := bufio.NewScanner(strings.NewReader(rest)); lines.Scan(); {
		f := strings.Fields(lines.Text())
		switch {
		case len(f) >= 3 && f[0] == "mod":
			all = append(all, module{f[1], f[2], ""})
		case len(f) == 4 && f[0] == "dep":
			sum, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(f[3], "h1:"))
			if err != nil {
				return nil, fmt.Errorf("%s has the sum %s", f[1], f[3])
			}
			all = append(all, module{f[1], f[2], hex.EncodeToString(sum)})
		case len(f) >= 1 && f[0] == "dep":
			return nil, fmt.Errorf("a part without a sum, or another in its place: %s", lines.Text())
		}
	}
	return all, nil
}

// billOfMaterials compares a CycloneDX document with what is linked in, part by part.
func billOfMaterials(text []byte, target string, linked []module) []string {
	type component struct {
		Name, Version, Purl string
		Hashes              []struct{ Alg, Content string }
	}
	var doc struct {
		BOMFormat   string
		SpecVersion string
		Metadata    struct{ Component component }
		Components  []component
	}
	if err := json.Unmarshal(text, &doc); err != nil {
		return []string{err.Error()}
	}
	var problems []string
	bad := func(format string, args ...any) { problems = append(problems, fmt.Sprintf(format, args...)) }
	if doc.BOMFormat != "CycloneDX" || doc.SpecVersion == "" {
		bad("it is no CycloneDX document")
	}
	goos, goarch, _ := strings.Cut(target, "/")
	if p := doc.Metadata.Component.Purl; !strings.Contains(p, "goos="+goos) || !strings.Contains(p, "goarch="+goarch) {
		bad("it is of %s", p)
	}
	have := map[string]module{}
	for _, c := range append(doc.Components, doc.Metadata.Component) {
		m := module{path: c.Name, version: c.Version}
		for _, h := range c.Hashes {
			if h.Alg == "SHA-256" {
				m.sum = h.Content
			}
		}
		if _, twice := have[m.path]; twice {
			bad("it names %s twice", m.path)
		}
		have[m.path] = m
	}
	for _, m := range linked {
		if h, ok := have[m.path]; !ok {
			bad("it does not name %s %s", m.path, m.version)
		} else if h != m {
			bad("it says %v, the program %v", h, m)
		}
		delete(have, m.path)
	}
	for _, m := range have {
		bad("it names %s %s, which is not linked in", m.path, m.version)
	}
	slices.Sort(problems)
	return problems
}

// sums compares the checksums with the files, of which there must be these and no others.
func sums(dir string, want map[string]bool) []string {
	var problems []string
	bad := func(format string, args ...any) { problems = append(problems, fmt.Sprintf(format, args...)) }
	listed := map[string]string{}
	text, err := os.ReadFile(filepath.Join(dir, "SHA256SUMS"))
	if err != nil {
		bad("%v", err)
	}
	for line := range strings.Lines(string(text)) {
		if f := strings.Fields(line); len(f) == 2 {
			listed[f[1]] = f[0]
		} else {
			bad("SHA256SUMS: %q", line)
		}
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		bad("%v", err)
	}
	for _, e := range entries {
		if !want[e.Name()] {
			bad("%s is none of a release's files", e.Name())
		}
		if e.Name() == "SHA256SUMS" {
			continue
		}
		raw, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			bad("%v", err)
			continue
		}
		if sum := sha256.Sum256(raw); listed[e.Name()] != hex.EncodeToString(sum[:]) {
			bad("%s has the checksum %x, and SHA256SUMS says %q", e.Name(), sum, listed[e.Name()])
		}
		delete(listed, e.Name())
	}
	for file := range listed {
		bad("SHA256SUMS names %s, which is not there", file)
	}
	return problems
}
