package backup_test

import (
	"context"
	"os"
	"os/exec"
	"strings"
	"testing"

	"lowtide/casebook"
)

// TestCheckAgeAndTar: a backup opens with the tools age and tar alone, as docs/format/store.md says, and its files
// have the sums that its manifest names.
func TestCheckAgeAndTar(t *testing.T) {
	for _, tool := range []string{"age", "tar", "sha256sum", "bash"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skipf("%s is not installed", tool)
		}
	}
	k := newKept(t)
	k.add(t, "c1", casebook.NoteWritten{Text: "one"})
	if _, _, err := k.plan(true).Write(context.Background(), at(k.dir, "b.age"), morning); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(at(k.dir, "identity.txt"), []byte(k.id.String()+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	out := t.TempDir()
	cmd := exec.Command("bash", "-c", "set -o pipefail; age -d -i '"+at(k.dir, "identity.txt")+"' '"+at(k.dir, "b.age")+"' | tar x && sha256sum store.db store.key && cat manifest.json")
	cmd.Dir = out
	text, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	sums, manifest, _ := strings.Cut(string(text), "{")
	lines := strings.Split(strings.TrimSpace(sums), "\n")
	if len(lines) != 2 {
		t.Fatalf("%s", text)
	}
	for _, line := range lines {
		if sum, _, _ := strings.Cut(line, " "); !strings.Contains(manifest, sum) {
			t.Errorf("the manifest does not name %s", line)
		}
	}
	key, _ := os.ReadFile(at(out, "store.key"))
	if string(key) != k.keys.Key().Text() {
		t.Errorf("the key in the backup is %q", key)
	}
}
