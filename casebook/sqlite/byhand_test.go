package sqlite_test

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"lowtide/casebook/sqlite"
	"lowtide/casebook/storetest"
)

// byHand takes the script out of docs/format/store.md. It computes the chain with the sqlite3 shell and
// sha256sum: two implementations that are not ours.
func byHand(t *testing.T) (run func(path string) string) {
	t.Helper()
	for _, tool := range []string{"bash", "sqlite3", "basenc", "sha256sum"} {
		if _, err := exec.LookPath(tool); err != nil {
			if os.Getenv("CI") != "" {
				t.Fatalf("CI must install %s", tool)
			}
			t.Skipf("%s is not installed", tool)
		}
	}
	page, err := os.ReadFile("../../docs/format/store.md")
	if err != nil {
		t.Fatal(err)
	}
	script := regexp.MustCompile("(?s)```bash\n(#!/bin/bash.*?)```").FindSubmatch(page)
	if script == nil {
		t.Fatal("the page has no script")
	}
	file := filepath.Join(t.TempDir(), "verify.sh")
	if err := os.WriteFile(file, script[1], 0o700); err != nil {
		t.Fatal(err)
	}
	return func(path string) string {
		out, err := exec.Command("bash", file, path).CombinedOutput()
		if err != nil {
			t.Errorf("%v: %s", err, out)
		}
		return string(out)
	}
}

// Source of the independent figures: the sqlite3 shell (Debian package sqlite3) and sha256sum (coreutils).
func TestCheckByHand(t *testing.T) {
	run := byHand(t)
	ctx := context.Background()
	path := filled(t)
	s := openAt(t, path)
	// IDs beyond ASCII, bytes that are no text, no bytes at all, a photo of no bytes.
	_, err := s.Append(ctx, "fall ä 例", "", storetest.NewRecord("fall ä 例", "ä' 例", "text"))
	if err == nil {
		_, err = s.PutBlob(ctx, nil)
	}
	if err != nil {
		t.Fatal(err)
	}
	head := storetest.CheckWhole(t, s).Head
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if got := run(path); got != "head "+head+"\n" {
		t.Errorf("by hand:\n%swant head %s", got, head)
	}
}

func TestCheckByHandFindsChanges(t *testing.T) {
	run := byHand(t)
	for _, c := range []struct {
		statements []string
		want       string
	}{
		{edit("record_no_update", "UPDATE record SET bytes = X'41' WHERE seq = 2"), "record 2: the hash does not hold\n"},
		{edit("record_no_delete", "DELETE FROM record WHERE seq = 2"), "records are missing\ncase b: the head does not hold\n"},
		{edit("record_no_delete", "DELETE FROM record WHERE seq = 3"), "case a: the head does not hold\n"},
		{edit("case_head_no_delete", "DELETE FROM case_head WHERE case_id = 'b'"), "case b: the head does not hold\n"},
		{edit("blob_no_update", "UPDATE blob SET bytes = X'41' WHERE bytes = CAST('another photo' AS BLOB)"), "the bytes do not give this hash\n"},
	} {
		path := filled(t)
		db := raw(t, path)
		for _, statement := range c.statements {
			if _, err := db.Exec(statement); err != nil {
				t.Fatalf("%s: %v", statement, err)
			}
		}
		db.Close()
		if got := run(path); !strings.Contains(got, c.want) {
			t.Errorf("%v: by hand\n%swant %q", c.statements, got, c.want)
		}
	}
}

// The fixture of version 1 verifies by hand as well.
func TestCheckFixtureByHand(t *testing.T) {
	run := byHand(t)
	content, err := os.ReadFile("testdata/store-v1.db")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "store.db")
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	before := run(path)
	// Opening to write upgrades the store; by hand it verifies before and after.
	s, err := sqlite.Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	want := "head " + storetest.CheckWhole(t, s).Head + "\n"
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if got := run(path); before != want || got != want {
		t.Errorf("by hand before:\n%safter:\n%swant %s", before, got, want)
	}
}
