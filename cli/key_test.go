package cli

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lowtide/casebook/sqlite"
)

// filledStore imports one invented case into a new store.
func filledStore(t *testing.T) (db, id string) {
	t.Helper()
	path, id := caseFile(t, time.Now().Add(-time.Hour))
	db = filepath.Join(t.TempDir(), "s.db")
	if code, _, errOut := call(t, "import", path, "--store", db); code != 0 {
		t.Fatal(errOut)
	}
	return db, id
}

// says runs a command and wants its code and each of the words.
func says(t *testing.T, code int, words []string, args ...string) string {
	t.Helper()
	got, out, errOut := call(t, args...)
	if got != code {
		t.Errorf("%v: code %d, want %d\n%s%s", args, got, code, out, errOut)
	}
	for _, w := range words {
		if !strings.Contains(out+errOut, w) {
			t.Errorf("%v: %q is not in\n%s%s", args, w, out, errOut)
		}
	}
	return out
}

func TestKeyAndErase(t *testing.T) {
	db, id := filledStore(t)
	content, err := os.ReadFile(db)
	if err != nil || bytes.Contains(content, []byte("Edda Farrow")) {
		t.Errorf("the store shows the name (%v)", err)
	}
	if info, err := os.Stat(db + ".key"); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the key file: %v, %v", info, err)
	}
	says(t, 0, []string{"is sealed with key", db + ".key"}, "key", "show-id", "--store", db)
	says(t, 2, []string{"say who and why"}, "key", "rotate", "--store", db)
	says(t, 0, []string{"is now sealed with key", ".old-"}, "key", "rotate", "--store", db, "--by", "A. Admin", "--reason", "a nurse has left")
	says(t, 0, []string{"Edda Farrow"}, "export", id, "--store", db)
	says(t, 0, []string{"0 defects"}, "check", db)

	says(t, 2, []string{"say who and why"}, "erase", id, "--store", db)
	says(t, 2, []string{"--confirm"}, "erase", id, "--store", db, "--by", "A. Admin", "--reason", "test patient")
	says(t, 2, []string{"there is no case"}, "erase", "nobody", "--store", db, "--by", "A. Admin", "--reason", "x", "--confirm", "nobody")
	says(t, 1, []string{"belong to the program itself"}, "erase", "~ledger", "--store", db, "--by", "A. Admin", "--reason", "x", "--confirm", "~ledger")
	says(t, 0, []string{"is erased"}, "erase", id, "--store", db, "--by", "A. Admin", "--reason", "test patient", "--confirm", id)
	says(t, 1, []string{"was erased on", "by A. Admin because: test patient"}, "export", id, "--store", db)
	says(t, 0, []string{"erased"}, "export", "--store", db)
	says(t, 0, []string{"0 defects", "nobody can read them again"}, "check", db)

	// A key that others may read, a wrong one, none.
	os.Chmod(db+".key", 0o644)
	says(t, 1, []string{"open to others", "chmod 600"}, "export", id, "--store", db)
	os.Chmod(db+".key", 0o600)
	other, _ := filledStore(t)
	says(t, 1, []string{"wrong key", "nothing was changed"}, "export", id, "--store", db, "--key", other+".key")
	os.Rename(db+".key", db+".away")
	says(t, 1, []string{"not at hand", "Put the key file back"}, "export", id, "--store", db)
	says(t, 0, []string{"the contents were not read"}, "check", db)
	says(t, 0, nil, "check", db, "--key", db+".away")
}

func TestPassphraseStore(t *testing.T) {
	path, id := caseFile(t, time.Now().Add(-time.Hour))
	db := filepath.Join(t.TempDir(), "s.db")
	t.Setenv("LOWTIDE_PASSPHRASE", "too short")
	says(t, 1, []string{"has 9 characters and needs 15"}, "import", path, "--store", db, "--passphrase")
	t.Setenv("LOWTIDE_PASSPHRASE", "seven grey herons at low water")
	says(t, 0, nil, "import", path, "--store", db, "--passphrase")
	if _, err := os.Stat(db + ".key"); err == nil {
		t.Errorf("a key file was made")
	}
	says(t, 0, []string{"Edda Farrow"}, "export", id, "--store", db)
	t.Setenv("LOWTIDE_PASSPHRASE", "seven grey herons at high water")
	says(t, 1, []string{"wrong key"}, "export", id, "--store", db)
	os.Unsetenv("LOWTIDE_PASSPHRASE")
	says(t, 1, []string{"add --passphrase"}, "export", id, "--store", db)
	var o, e bytes.Buffer
	if code := Main([]string{"export", id, "--store", db, "--passphrase"}, strings.NewReader("seven grey herons at low water\n"), &o, &e); code != 0 || !strings.Contains(o.String(), "Edda Farrow") {
		t.Errorf("typed: %d %s", code, e.String())
	}
	says(t, 2, []string{"no passphrase came"}, "export", id, "--store", db, "--passphrase")
}

// TestSealOldStore: a plain store of the first schema is refused with what to do, and its sealed copy holds the same.
func TestSealOldStore(t *testing.T) {
	dir := t.TempDir()
	old, db := filepath.Join(dir, "old.db"), filepath.Join(dir, "new.db")
	content, err := os.ReadFile("../casebook/sqlite/testdata/store-v1.db")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(old, content, 0o600); err != nil {
		t.Fatal(err)
	}
	says(t, 1, []string{"holds plain entries", "lowtide seal"}, "serve", "--store", old, "--listen", "127.0.0.1:0")
	if _, err := os.Stat(old + ".key"); err == nil {
		t.Errorf("a refused store got a key file")
	}
	out := says(t, 0, nil, "seal", old, db, "--json")
	var res struct{ Entries, Blobs int }
	if err := json.Unmarshal([]byte(out), &res); err != nil || res.Entries != 3 || res.Blobs != 2 {
		t.Errorf("%+v, %v", res, err)
	}
	says(t, 0, []string{"140 mL in the canister"}, "export", "a", "--store", db)
	says(t, 0, []string{"0 defects"}, "check", db)
	says(t, 2, []string{"is there already"}, "seal", old, db)
	says(t, 2, []string{"is sealed already"}, "seal", db, filepath.Join(dir, "again.db"))
	sealed, _ := os.ReadFile(db)
	if bytes.Contains(sealed, []byte("140 mL")) || !bytes.Contains(content, []byte("140 mL")) {
		t.Errorf("the sealed copy shows an entry")
	}
	if left, _ := filepath.Glob(db + ".part*"); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestBackupCommands(t *testing.T) {
	db, id := filledStore(t)
	dir := t.TempDir()
	ids := filepath.Join(dir, "identity.txt")
	var made struct{ Recipient string }
	if err := json.Unmarshal([]byte(says(t, 0, nil, "key", "identity", ids, "--json")), &made); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "b.age")
	says(t, 2, []string{"--recipient"}, "backup", file, "--store", db)
	says(t, 2, []string{"neither a recipient"}, "backup", file, "--store", db, "--recipient", "nowhere")
	// Beside a program that has the store open for writing.
	s, err := sqlite.Open(t.Context(), db)
	if err != nil {
		t.Fatal(err)
	}
	says(t, 0, []string{"A restore needs"}, "backup", file, "--store", db, "--recipient", made.Recipient)
	says(t, 0, []string{"0 defects", "gained 0 entries"}, "drill", file, "--store", db, "--identity", ids)
	s.Close()
	says(t, 0, []string{"0 defects"}, "check", file, "--store", db, "--identity", ids)
	says(t, 2, []string{"--identity"}, "check", file)

	// On a new machine: without the key, then with it.
	place := filepath.Join(t.TempDir(), "r.db")
	says(t, 2, []string{"key    ", "head   ", "made   ", "nobody said yes"}, "restore", file, "--store", place, "--identity", ids)
	says(t, 0, []string{"the chain holds", "contents were not read", place + ".key", "erase them again"}, "restore", file, "--yes", "--store", place, "--identity", ids)
	key, _ := os.ReadFile(db + ".key")
	os.WriteFile(place+".key", key, 0o600)
	says(t, 0, []string{"Edda Farrow"}, "export", id, "--store", place)
	says(t, 1, []string{"not empty"}, "restore", file, "--yes", "--store", place, "--identity", ids)

	// The notes that the two commands left have reached the ledger of the store.
	says(t, 0, nil, "key", "rotate", "--store", db, "--by", "x", "--reason", "y")
	r, err := sqlite.OpenReader(t.Context(), db)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	if notes, err := r.Case(t.Context(), "~ledger"); err != nil || len(notes) != 4 {
		t.Errorf("the ledger has %d entries, want the import, the backup, the drill and the rotation (%v)", len(notes), err)
	}
	if left, _ := filepath.Glob(filepath.Join(db+".inbox", "*")); len(left) > 0 {
		t.Errorf("still in the inbox: %v", left)
	}
}
