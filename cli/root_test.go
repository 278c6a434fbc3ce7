package cli

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestWrongCalls: a wrong call says what to type, once and by the whole name of the command, and ends with code 2.
func TestWrongCalls(t *testing.T) {
	dir := t.TempDir()
	for _, c := range []struct {
		says string
		args []string
	}{
		{"type: lowtide review FILE", []string{"review"}},
		{"type: lowtide rules explain ID", []string{"rules", "explain"}},
		{"type: lowtide key identity --help", []string{"key", "identity", "--out", "x"}},
		{"name the case to write", []string{"export", "--with-files", "--store", filepath.Join(dir, "s.db")}},
		{"unknown command", []string{"reviev"}},
		{"--listen 127.0.0.1:7433", []string{"serve", "--listen", "127.0.0.1:99999", "--store", filepath.Join(dir, "t.db")}},
	} {
		code, out, errOut := call(t, c.args...)
		if code != 2 || out != "" || !strings.Contains(errOut, c.says) || strings.Contains(errOut, "lowtide lowtide") {
			t.Errorf("%v: code %d\n%s%s", c.args, code, out, errOut)
		}
	}
	says(t, 1, []string{"there is no store", "check the name"}, "check", filepath.Join(dir, "none.db"))
	says(t, 1, []string{"it is a folder"}, "check", dir)
	db, _ := filledStore(t)
	says(t, 1, []string{"it begins with the first lowtide serve"}, "access", "--store", db)
}

// TestProblemsAsJSON: with --json a list of problems is JSON and nothing beside it.
func TestProblemsAsJSON(t *testing.T) {
	dir := t.TempDir()
	bad, local := filepath.Join(dir, "bad.json"), filepath.Join(dir, "local")
	if err := os.Mkdir(local, 0o700); err != nil {
		t.Fatal(err)
	}
	for path, text := range map[string]string{bad: `{"format":"lowtide.case"}`, filepath.Join(local, "protocol.toml"): "colour = 1\n"} {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for _, args := range [][]string{
		{"review", bad, "--json"}, {"import", bad, "--json", "--store", filepath.Join(dir, "s.db")}, {"rules", "test", local, "--json"}, {"rules", "list", "--local", local, "--json"},
	} {
		code, out, errOut := call(t, args...)
		var got struct{ Problems []map[string]any }
		if err := json.Unmarshal([]byte(errOut), &got); code != 2 || out != "" || err != nil || len(got.Problems) == 0 {
			t.Errorf("%v: code %d, %v\n%s%s", args, code, err, out, errOut)
		}
	}
}

// TestRulesTestBuiltIn: without a local protocol nothing is called local.
func TestRulesTestBuiltIn(t *testing.T) {
	if out := says(t, 0, []string{" 0 failed."}, "rules", "test"); strings.Contains(out, "local") {
		t.Error(out)
	}
}
