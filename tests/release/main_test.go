package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestBillOfMaterials: whatever a bill of materials says that the program does not, shows.
func TestBillOfMaterials(t *testing.T) {
	linked := []module{{"std", "go1.26.8", ""}, {"lowtide", "v0.0.0-1", ""}, {"example.org/a", "v1.2.3", "0a"}}
	const good = `{"bomFormat":"CycloneDX","specVersion":"1.6","metadata":{"component":{"name":"lowtide","version":"v0.0.0-1","purl":"pkg:golang/lowtide@v0.0.0-1?goarch=arm64&goos=darwin"}},
		"components":[{"name":"std","version":"go1.26.8"},{"name":"example.org/a","version":"v1.2.3","hashes":[{"alg":"SHA-256","content":"0a"}]}]}`
	if got := billOfMaterials([]byte(good), "darwin/arm64", linked); len(got) > 0 {
		t.Errorf("a good one: %q", got)
	}
	for name, c := range map[string]struct{ old, new, want string }{
		"another version":  {"v1.2.3", "v1.2.4", "it says {example.org/a v1.2.4 0a}"},
		"another source":   {`"0a"`, `"0b"`, "it says {example.org/a v1.2.3 0b}"},
		"a part missing":   {`,{"name":"example.org/a","version":"v1.2.3","hashes":[{"alg":"SHA-256","content":"0a"}]}`, "", "does not name example.org/a"},
		"a part too many":  {`{"name":"std"`, `{"name":"example.org/b","version":"v1"},{"name":"std"`, "example.org/b v1, which is not linked in"},
		"a part twice":     {`{"name":"std"`, `{"name":"std","version":"go1.26.8"},{"name":"std"`, "std twice"},
		"another compiler": {"go1.26.8", "go1.26.7", "it says {std go1.26.7 }"},
		"another commit":   {`"version":"v0.0.0-1"`, `"version":"v0.0.0-2"`, "it says {lowtide v0.0.0-2 }"},
		"another system":   {"goos=darwin", "goos=linux", "it is of"},
		"another format":   {"CycloneDX", "Other", "no CycloneDX"},
		"cut":              {good, good[:100], "unexpected end"},
	} {
		got := strings.Join(billOfMaterials([]byte(strings.Replace(good, c.old, c.new, 1)), "darwin/arm64", linked), "; ")
		if !strings.Contains(got, c.want) {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}

// TestSums: a file that was changed, is missing or was put beside shows.
func TestSums(t *testing.T) {
	const sum = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad" // of "abc": FIPS 180-2, appendix B.1
	for name, c := range map[string]struct {
		files map[string]string
		want  string
	}{
		"good":        {map[string]string{"a": "abc", "SHA256SUMS": sum + "  a\n"}, ""},
		"changed":     {map[string]string{"a": "abd", "SHA256SUMS": sum + "  a\n"}, "a has the checksum"},
		"not listed":  {map[string]string{"a": "abc", "SHA256SUMS": ""}, "a has the checksum"},
		"missing":     {map[string]string{"SHA256SUMS": sum + "  a\n"}, "names a, which is not there"},
		"beside":      {map[string]string{"a": "abc", "b": "", "SHA256SUMS": sum + "  a\n"}, "b is none"},
		"no sums":     {map[string]string{"a": "abc"}, "no such file"},
		"broken line": {map[string]string{"a": "abc", "SHA256SUMS": sum + "  a\nx\n"}, `"x\n"`},
	} {
		dir := t.TempDir()
		for file, text := range c.files {
			if err := os.WriteFile(filepath.Join(dir, file), []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		got := strings.Join(sums(dir, map[string]bool{"a": true, "SHA256SUMS": true}), "; ")
		if (c.want == "") != (got == "") || !strings.Contains(got, c.want) {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}

// TestNoProgram: what is not a program of the release is refused.
func TestNoProgram(t *testing.T) {
	if _, err := modules("main.go", "linux/amd64"); err == nil {
		t.Error("a text passed for a program")
	}
	if problems, _ := check(t.TempDir()); len(problems) < 6 {
		t.Errorf("an empty folder: %q", problems)
	}
}
