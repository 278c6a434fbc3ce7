package cli

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/demo"
)

// openedStore opens, or makes, a sealed store for a test.
func openedStore(t *testing.T, path string) *opened {
	t.Helper()
	c := newImport()
	c.SetContext(context.Background())
	o, err := (&storeFlags{path: path}).write(c)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// demoStore fills a sealed store with the invented caseload, and finds a case with a photo and one with a pump log.
func demoStore(t *testing.T) (db, photoCase, logCase string) {
	t.Helper()
	db = filepath.Join(t.TempDir(), "a.db")
	o := openedStore(t, db)
	defer o.close()
	at := time.Now().Add(-time.Hour)
	if err := demo.Fill(t.Context(), o.book(), at, 1); err != nil {
		t.Fatal(err)
	}
	for _, e := range demo.Entries(at, 1) {
		switch {
		case len(e.Blobs) == 0:
		case e.Kind == casebook.KindPhotoTaken:
			photoCase = e.Case
		case e.Kind == casebook.KindLogImported:
			logCase = e.Case
		}
	}
	if photoCase == "" || logCase == "" {
		t.Fatal("the demonstration has no case with a photo, or none with a log")
	}
	return db, photoCase, logCase
}

// reviewed is what a review says, but for what depends on the clock of the call.
func reviewed(t *testing.T, file string) string {
	t.Helper()
	code, out, errOut := call(t, "review", file, "--as-of", time.Now().UTC().Truncate(time.Hour).Format(time.RFC3339), "--json")
	if code != 0 {
		t.Fatal(errOut)
	}
	return out
}

// TestCaseMovesWithItsFiles: an archive takes photos and logs to another store, whose keys and so whose names of files
// are others. Entries stay the same in both, an import again adds nothing, and the archive that the second store writes
// is the same to the byte.
func TestCaseMovesWithItsFiles(t *testing.T) {
	a, photoCase, logCase := demoStore(t)
	b := filepath.Join(t.TempDir(), "b.db")
	for _, id := range []string{photoCase, logCase} {
		dir := t.TempDir()
		one, two := filepath.Join(dir, "one.zip"), filepath.Join(dir, "two.zip")
		says(t, 0, nil, "export", id, "--with-files", "--out", one, "--store", a)
		if info, err := os.Stat(one); err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("the archive's rights: %v, %v", info, err)
		}
		says(t, 0, []string{"came along"}, "import", one, "--store", b)
		says(t, 0, []string{", 0 of them new.", "came along, 0 of them new"}, "import", one, "--store", b)
		says(t, 0, []string{", 0 of them new.", "came along, 0 of them new"}, "import", one, "--store", a)
		says(t, 0, nil, "export", id, "--with-files", "--out", two, "--store", b)
		first, err1 := os.ReadFile(one)
		second, err2 := os.ReadFile(two)
		if err1 != nil || err2 != nil || !bytes.Equal(first, second) {
			t.Errorf("%v %v: the second store writes another archive (%d and %d bytes)", err1, err2, len(first), len(second))
		}
	}
	out := says(t, 0, []string{"0 defects"}, "check", b)
	if strings.Contains(out, "not brought along") {
		t.Error(out)
	}
	says(t, 0, []string{"0 defects"}, "check", a)
}

// TestCaseMovesWithoutItsFiles: a case file alone can be used; the check tells its photo from one that was lost, and an
// archive brings it later.
func TestCaseMovesWithoutItsFiles(t *testing.T) {
	a, id, _ := demoStore(t)
	dir := t.TempDir()
	b, plain, whole := filepath.Join(dir, "b.db"), filepath.Join(dir, "case.json"), filepath.Join(dir, "case.zip")
	says(t, 0, []string{"are not in the case file", "--with-files"}, "export", id, "--out", plain, "--store", a)
	says(t, 0, nil, "export", id, "--with-files", "--out", whole, "--store", a)

	says(t, 0, []string{"did not come along", "--with-files"}, "import", plain, "--store", b)
	says(t, 0, []string{"not brought along: entry", "0 defects"}, "check", b)
	says(t, 0, []string{"are not kept in this store"}, "export", id, "--with-files", "--out", filepath.Join(dir, "less.zip"), "--store", b)

	out := says(t, 0, nil, "import", whole, "--store", b, "--json")
	var res importResult
	if err := json.Unmarshal([]byte(out), &res); err != nil || res.New != 0 || res.NewFiles == 0 || res.NewFiles != res.Files || len(res.NotBrought) != 0 {
		t.Errorf("%v: %s", err, out)
	}
	if out := says(t, 0, []string{"0 defects"}, "check", b); strings.Contains(out, "not brought along") {
		t.Error(out)
	}
	// Erasing the case takes along how its files are kept.
	says(t, 0, []string{"is erased"}, "erase", id, "--store", b, "--by", "A. Admin", "--reason", "test patient", "--confirm", id)
	o := openedStore(t, b)
	keys, err := o.store.CaseKeys(t.Context())
	o.close()
	for _, k := range keys {
		if gone := k.Case == id || k.Case == casebook.BroughtTo(id); err != nil || gone != (k.Wrapped == nil) {
			t.Errorf("the key of %s: gone %v, %v", k.Case, k.Wrapped == nil, err)
		}
	}
	says(t, 0, []string{"0 defects"}, "check", b)
	says(t, 1, []string{"was erased"}, "import", whole, "--store", b)
}

// TestReviewOfArchive: the logs of an archive count in the review, and a case file alone says that they are not there.
func TestReviewOfArchive(t *testing.T) {
	a, _, id := demoStore(t)
	dir := t.TempDir()
	plain, whole := filepath.Join(dir, "case.json"), filepath.Join(dir, "case.zip")
	says(t, 0, nil, "export", id, "--out", plain, "--store", a)
	says(t, 0, nil, "export", id, "--with-files", "--out", whole, "--store", a)
	with, without := reviewed(t, whole), reviewed(t, plain)
	if with == without {
		t.Error("the log of the archive makes no difference to the review")
	}
	raw, err := os.ReadFile(whole)
	if err != nil {
		t.Fatal(err)
	}
	var o, e bytes.Buffer
	if code := Main([]string{"review", "-", "--as-of", time.Now().UTC().Truncate(time.Hour).Format(time.RFC3339), "--json"}, bytes.NewReader(raw), &o, &e); code != 0 || o.String() != with {
		t.Errorf("from standard input: code %d, %s", code, e.String())
	}
}

// TestBadArchives: an archive that was cut, changed or is something else is refused with all its problems, and nothing of
// it is imported.
func TestBadArchives(t *testing.T) {
	a, id, _ := demoStore(t)
	dir := t.TempDir()
	whole := filepath.Join(dir, "case.zip")
	says(t, 0, nil, "export", id, "--with-files", "--out", whole, "--store", a)
	raw, err := os.ReadFile(whole)
	if err != nil {
		t.Fatal(err)
	}
	for name, bad := range map[string]struct {
		content []byte
		says    string
	}{
		"cut":               {raw[:len(raw)/2], "cannot be opened as one"},
		"another zip":       {rezip(t, raw, func(string, []byte) []byte { return nil }), "has no case.json"},
		"photo taken out":   {rezip(t, raw, leaveOut("files/")), "is listed, and is not in the archive"},
		"list taken out":    {rezip(t, raw, leaveOut("contents.json")), "has no contents.json"},
		"photo exchanged":   {rezip(t, raw, swap("files/", []byte("another"))), "give another hash"},
		"list of a later":   {rezip(t, raw, swap("contents.json", []byte(`{"format":"lowtide.case-archive","version":2,"files":[]}`))), "newer Lowtide"},
		"case file broken":  {rezip(t, raw, swap("case.json", []byte(`{"format":`))), "syntax"},
		"list with no JSON": {rezip(t, raw, swap("contents.json", []byte("\x00"))), "is not a list of files"},
	} {
		path := filepath.Join(dir, "bad.zip")
		if err := os.WriteFile(path, bad.content, 0o600); err != nil {
			t.Fatal(err)
		}
		b := filepath.Join(t.TempDir(), "b.db")
		t.Run(name, func(t *testing.T) {
			says(t, 2, []string{bad.says}, "import", path, "--store", b)
			says(t, 2, []string{bad.says}, "review", path)
			code, _, errOut := call(t, "review", path, "--json")
			var got struct{ Problems []map[string]any }
			if err := json.Unmarshal([]byte(errOut), &got); code != 2 || err != nil || len(got.Problems) == 0 {
				t.Errorf("with --json: code %d, %v: %s", code, err, errOut)
			}
			if code, out, _ := call(t, "export", "--store", b); code == 0 && out != "" {
				t.Errorf("something was imported: %s", out)
			}
		})
	}
}

// rezip writes an archive again with each member as change makes it; nil leaves it out.
func rezip(t *testing.T, raw []byte, change func(name string, content []byte) []byte) []byte {
	t.Helper()
	r, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range r.File {
		in, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		content, err := io.ReadAll(in)
		if err != nil {
			t.Fatal(err)
		}
		if content = change(f.Name, content); content == nil {
			continue
		}
		m, err := w.Create(f.Name)
		if err == nil {
			_, err = m.Write(content)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func leaveOut(prefix string) func(string, []byte) []byte { return swap(prefix, nil) }

func swap(prefix string, by []byte) func(string, []byte) []byte {
	return func(name string, content []byte) []byte {
		if strings.HasPrefix(name, prefix) {
			return by
		}
		return content
	}
}
