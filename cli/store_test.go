package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"net/http/cookiejar"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/demo"
	"lowtide/intake"
)

// call runs one command line.
func call(t *testing.T, args ...string) (code int, out, errOut string) {
	t.Helper()
	var o, e bytes.Buffer
	code = Main(args, strings.NewReader(""), &o, &e)
	return code, o.String(), e.String()
}

// caseFile writes one invented case to a file.
func caseFile(t *testing.T, at time.Time) (path, id string) {
	t.Helper()
	all := demo.Entries(at, 1)
	f := intake.CaseFile{Format: intake.Format, Version: intake.FormatVersion, Case: all[0].Case}
	for _, e := range all {
		if e.Case == f.Case {
			f.Entries = append(f.Entries, e)
		}
	}
	path = filepath.Join(t.TempDir(), "case.json")
	w, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	if err := intake.WriteCaseFile(w, f); err != nil {
		t.Fatal(err)
	}
	return path, f.Case
}

var morning = time.Date(2026, 3, 4, 8, 30, 0, 0, time.UTC)

// TestReviewFile: the same file and time give the same review, in words and as JSON, without a store.
func TestReviewFile(t *testing.T) {
	path, id := caseFile(t, morning)
	args := []string{"review", path, "--as-of", "2026-03-04T08:30:00Z"}
	code, text, _ := call(t, args...)
	if code != 0 || !strings.Contains(text, "Edda Farrow") || !strings.Contains(text, "Rule ") {
		t.Errorf("code %d\n%s", code, text)
	}
	code, first, _ := call(t, append(args, "--json")...)
	_, second, _ := call(t, append(args, "--json")...)
	if code != 0 || first != second {
		t.Errorf("code %d, or two runs differ", code)
	}
	var r struct {
		Case     string `json:"case"`
		Hash     string `json:"hash"`
		Findings []struct{ Rule, Level, Headline, Do, Source string }
		Figures  []struct{ ID, Text string }
	}
	if err := json.Unmarshal([]byte(first), &r); err != nil {
		t.Fatal(err)
	}
	if r.Case != id || len(r.Hash) != 64 || len(r.Figures) == 0 {
		t.Errorf("%+v", r)
	}
	for _, f := range r.Findings {
		if f.Rule == "" || f.Level == "" || f.Headline == "" || f.Do == "" || f.Source == "" {
			t.Errorf("an incomplete finding: %+v", f)
		}
	}
}

// TestReviewRefuses: every problem is listed with its place and remedy, and the code is 2.
func TestReviewRefuses(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bad.json")
	os.WriteFile(path, []byte(`{"format":"lowtide.case","version":1,"case":"c","entries":[
	 {"kind":"wound.found","at":"2026-03-01T08:00:00Z","body":{"wound":"A","site":"heel","type":"pressure"}},
	 {"kind":"wound.measured","at":"2026-03-02T08:00:00Z","body":{"wound":"A","method":"ruler","depth_cm":40}},
	 {"kind":"wound.measured","at":"2026-03-02T08:00:00Z","body":{"wound":"A","method":"ruler","tissue":{"granulation_pct":100,"slough_pct":30}}}]}`), 0o600)
	code, out, errOut := call(t, "review", path, "--as-of", "2026-03-04T08:30:00Z")
	if code != 2 || out != "" {
		t.Errorf("code %d, output %q", code, out)
	}
	for _, want := range []string{"/entries/1/body/depth_cm", "40", "/entries/2/body/tissue", "130"} {
		if !strings.Contains(errOut, want) {
			t.Errorf("%q is not among the problems:\n%s", want, errOut)
		}
	}
	for _, args := range [][]string{{"review"}, {"review", "nowhere.json"}, {"review", path, "--as-of", "yesterday"}, {"review", path, "--local", "nowhere"}, {"no-such-command"}} {
		if code, _, errOut := call(t, args...); code == 0 || errOut == "" {
			t.Errorf("%v: code %d, %q", args, code, errOut)
		}
	}
}

// TestStoreRoundTrip: import, import again, check, export: the same entries come out.
func TestStoreRoundTrip(t *testing.T) {
	path, id := caseFile(t, time.Now().Add(-time.Hour))
	db := filepath.Join(t.TempDir(), "s.db")
	code, out, errOut := call(t, "import", path, "--store", db)
	if code != 0 || !strings.Contains(out, "new") {
		t.Fatalf("code %d\n%s%s", code, out, errOut)
	}
	var again struct{ New int }
	_, out, _ = call(t, "import", path, "--store", db, "--json")
	if json.Unmarshal([]byte(out), &again); again.New != 0 {
		t.Errorf("importing again wrote %d entries", again.New)
	}
	if code, out, _ = call(t, "check", "--store", db); code != 0 || !strings.Contains(out, "0 defects") {
		t.Errorf("code %d\n%s", code, out)
	}
	if code, out, _ = call(t, "export", "--store", db); code != 0 || !strings.Contains(out, id) {
		t.Errorf("code %d\n%s", code, out)
	}
	exported := filepath.Join(t.TempDir(), "out.json")
	if code, _, errOut = call(t, "export", id, "--store", db, "--out", exported); code != 0 {
		t.Fatalf("%s", errOut)
	}
	if code, _, _ = call(t, "export", id, "--store", db, "--out", exported); code != 2 {
		t.Error("an existing file was overwritten")
	}
	a, _ := os.ReadFile(path)
	b, _ := os.ReadFile(exported)
	fa, _ := intake.ReadCaseFile(a, time.Now())
	fb, pb := intake.ReadCaseFile(b, time.Now())
	if pb.Err() != nil || casebook.Fold(id, fa.Entries).Head != casebook.Fold(id, fb.Entries).Head {
		t.Errorf("the exported case differs: %v", pb)
	}
	if code, _, errOut = call(t, "export", "nobody", "--store", db); code != 2 || !strings.Contains(errOut, "nobody") {
		t.Errorf("code %d, %s", code, errOut)
	}
}

// lines hands on what is printed, line by line.
type lines struct{ ch chan string }

func (l lines) Write(p []byte) (int, error) {
	for _, s := range strings.Split(strings.TrimSpace(string(p)), "\n") {
		l.ch <- s
	}
	return len(p), nil
}

// TestDemo: the program prints a link, the link opens Rounds once, and nothing opens without it.
func TestDemo(t *testing.T) {
	ctx, stop := context.WithCancel(t.Context())
	out := lines{make(chan string, 100)}
	root := newRoot()
	root.SetArgs([]string{"demo", "--listen", "127.0.0.1:0"})
	root.SetOut(out)
	root.SetErr(out)
	ended := make(chan error, 1)
	go func() { ended <- root.ExecuteContext(ctx) }()
	link := ""
	for link == "" {
		select {
		case s := <-out.ch:
			link = regexp.MustCompile(`http://\S+`).FindString(s)
		case err := <-ended:
			t.Fatal("the demo ended:", err)
		case <-time.After(30 * time.Second):
			t.Fatal("no link")
		}
	}
	origin := link[:strings.Index(link, "/open")]
	jar, _ := cookiejar.New(nil)
	inside := &http.Client{Jar: jar}
	get := func(c *http.Client, url string) int {
		res, err := c.Get(url)
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		return res.StatusCode
	}
	if got := get(http.DefaultClient, origin+"/"); got != http.StatusUnauthorized {
		t.Errorf("Rounds without the link: %d", got)
	}
	if got := get(inside, link); got != http.StatusOK {
		t.Errorf("the link: %d", got)
	}
	if got := get(http.DefaultClient, link); got != http.StatusForbidden {
		t.Errorf("the link a second time: %d", got)
	}
	if got := get(inside, origin+"/rules"); got != http.StatusOK {
		t.Errorf("the rulebook inside: %d", got)
	}
	stop()
	select {
	case err := <-ended:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(20 * time.Second):
		t.Error("the demo does not stop")
	}
	for t.Failed() { // what the program said tells why
		select {
		case line := <-out.ch:
			t.Log(line)
		default:
			return
		}
	}
}
