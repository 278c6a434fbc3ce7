package cli

import (
	"os"
	"path/filepath"
	"testing"
)

// TestOwnFiles: a phone gets every file of the local protocol and the equipment, under the names that it looks for.
func TestOwnFiles(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{"protocol.toml": "a", "value/off.toml": "b"} {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	files, err := ownFiles(frameFlags{local: dir, equipment: filepath.Join(dir, "protocol.toml")})
	if err != nil || len(files) != 3 || string(files["local/value/off.toml"]) != "b" || string(files["local/protocol.toml"]) != "a" || string(files["equipment.toml"]) != "a" {
		t.Errorf("%q, %v", files, err)
	}
	if err := os.WriteFile(filepath.Join(dir, "huge"), make([]byte, mostOwn+1), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := ownFiles(frameFlags{local: dir}); err == nil {
		t.Error("a folder that is too large for a phone was taken")
	}
}
