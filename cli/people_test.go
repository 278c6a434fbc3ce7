package cli

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/seal"
)

// staffedStore is a sealed store with an administrator and one line in its access log.
func staffedStore(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "ward.db")
	s, err := sqlite.Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	keys, err := seal.Source{File: path + ".key", Prefer: seal.FromFile, Random: random}.Begin(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := keys.KeyChain(t.Context()); err != nil {
		t.Fatal(err)
	}
	_, err = account.NewDirectory(casebook.Book{Store: s, Sealer: keys}, random).Change(t.Context(), now(), "setup", "", func(set *account.Set) ([]casebook.Body, error) {
		b, err := set.Create("mara.holt", "Mara Holt", []account.Role{account.Admin}, []string{"Eastside"})
		return []casebook.Body{b, account.PasswordSet{Name: "mara.holt", Hash: "$argon2id$secret"}, account.CodeSet{Name: "mara.holt", Secret: "SECRETCODE"}}, err
	})
	if err != nil {
		t.Fatal(err)
	}
	book, err := accessBook(t.Context(), path, keys)
	if err != nil {
		t.Fatal(err)
	}
	defer book.Store.Close()
	if err := accesslog.New(book, random).Note(t.Context(), now(), accesslog.Noted{Account: "mara.holt", What: accesslog.Read, Case: "case-one", Why: "covering tonight"}); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestAccountCommands(t *testing.T) {
	path := staffedStore(t)
	code, out, errOut := call(t, "account", "list", "--json", "--store", path)
	var list []accountInfo
	if err := json.Unmarshal([]byte(out), &list); code != 0 || err != nil || len(list) != 1 || list[0].Name != "mara.holt" || !list[0].SecondFactor || strings.Contains(out, "argon2id") || strings.Contains(out, "SECRETCODE") {
		t.Errorf("code %d, %v, %s%s", code, err, out, errOut)
	}
	if code, _, errOut := call(t, "account", "link", "nobody", "--store", path); code != 2 || !strings.Contains(errOut, "nobody") {
		t.Errorf("nobody: code %d, %s", code, errOut)
	}
	code, out, errOut = call(t, "account", "link", "mara.holt", "--second", "--json", "--store", path)
	var link struct{ Name, Path string }
	if err := json.Unmarshal([]byte(out), &link); code != 0 || err != nil || !strings.HasPrefix(link.Path, "/link?key=") {
		t.Errorf("code %d, %v, %s%s", code, err, out, errOut)
	}
	if _, out, _ = call(t, "account", "list", "--json", "--store", path); !strings.Contains(out, `"second_factor": false`) {
		t.Errorf("the second factor is still there: %s", out)
	}
}

func TestAccessCommand(t *testing.T) {
	path := staffedStore(t)
	for _, args := range [][]string{{}, {"--json"}, {"--csv"}} {
		code, out, errOut := call(t, append([]string{"access", "--store", path}, args...)...)
		if code != 0 || !strings.Contains(out, "case-one") || !strings.Contains(out, "covering tonight") {
			t.Errorf("%v: code %d, %s%s", args, code, out, errOut)
		}
	}
	if code, out, _ := call(t, "access", "--store", path, "--json", "--case", "another"); code != 0 || strings.TrimSpace(out) != "[]" {
		t.Errorf("another case: %d %s", code, out)
	}
	if code, _, errOut := call(t, "access", "--store", path, "--from", "yesterday"); code != 2 || !strings.Contains(errOut, "--from") {
		t.Errorf("no day: %d %s", code, errOut)
	}
	code, out, errOut := call(t, "access", "--store", path, "--verify", "--json")
	var report casebook.Report
	if err := json.Unmarshal([]byte(out), &report); code != 0 || err != nil || !report.Sound() || report.Unopened != 0 {
		t.Errorf("verify: %d, %v, %s%s", code, err, out, errOut)
	}
}

// TestNothingInTheClear: neither the store nor the access log shows an account, a reason or a secret to somebody
// without the key.
func TestNothingInTheClear(t *testing.T) {
	path := staffedStore(t)
	files, err := filepath.Glob(path + "*")
	if err != nil {
		t.Fatal(err)
	}
	looked := 0
	for _, f := range files {
		if strings.HasSuffix(f, ".key") {
			continue
		}
		raw, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		looked++
		for _, word := range []string{"mara.holt", "Mara", "Eastside", "argon2id", "SECRETCODE", "covering", "case-one"} {
			if bytes.Contains(raw, []byte(word)) {
				t.Errorf("%s shows %q", filepath.Base(f), word)
			}
		}
	}
	if looked < 2 {
		t.Errorf("looked at %v", files)
	}
}
