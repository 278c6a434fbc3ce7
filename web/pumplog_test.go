package web_test

import (
	"bytes"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/web/page"
)

// sendLog sends a file with the fields of the form before it.
func (c *client) sendLog(to string, fields map[string]string, name, content string) *httptest.ResponseRecorder {
	c.t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for k, v := range fields {
		if err := m.WriteField(k, v); err != nil {
			c.t.Fatal(err)
		}
	}
	if name != "" {
		f, err := m.CreateFormFile("file", name)
		if err != nil {
			c.t.Fatal(err)
		}
		if _, err := f.Write([]byte(content)); err != nil {
			c.t.Fatal(err)
		}
	}
	m.Close()
	r := httptest.NewRequest("POST", "http://127.0.0.1"+to, &b)
	r.Header.Set("Content-Type", m.FormDataContentType())
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return c.do(r)
}

// twoDays is a log of a row a minute up to an hour before noon, off for three hours.
func twoDays(head, form string) string {
	var b strings.Builder
	b.WriteString(head)
	start := noon.Add(-49 * time.Hour)
	for i := range 48 * 60 {
		s := 125.0
		if i >= 1000 && i < 1180 {
			s = 0
		}
		fmt.Fprintf(&b, form, start.Add(time.Duration(i)*time.Minute).Format("2006-01-02T15:04:05Z"), s)
	}
	return b.String()
}

// TestPumpLogImport: a log is looked at, imported, shown, listed with its unused rows; the same form twice is one entry;
// its mapping is remembered; a file that asks something is not imported.
func TestPumpLogImport(t *testing.T) {
	c := newClient(t)
	patients(c)
	path := page.CasePath(oneCase, "pump-log")
	f := c.open(path)
	key := f.values.Get("-key")
	log := twoDays("time,suction_mmHg\n", "%s,%.0f\n") + "never,125\n"
	n := len(c.entries(oneCase))
	look := c.sendLog(path+"/look", map[string]string{"-key": key, "pump": "P-1"}, "C:\\logs\\p-1.csv", log)
	if body := look.Body.String(); look.Code != http.StatusOK || !strings.Contains(body, "What the columns mean") || !strings.Contains(body, "suction_mmHg") || len(c.entries(oneCase)) != n {
		t.Fatalf("look: %d %s", look.Code, said(look.Body.String()))
	}
	for range 2 {
		w := c.sendLog(path+"/import", map[string]string{"-key": key, "pump": "P-1", "ahead": "0", "note": "read at the bedside"}, "p-1.csv", log)
		if w.Code != http.StatusSeeOther || len(c.entries(oneCase)) != n+1 {
			t.Fatalf("import: %d %s", w.Code, said(w.Body.String()))
		}
	}
	e := c.entries(oneCase)[n]
	b, ok := e.Body.(casebook.LogImported)
	if !ok || len(e.Blobs) != 1 || b.Rows != 2881 || b.NotUsed != 1 || b.File != "p-1.csv" || b.Pump != "P-1" || b.Unused[0].Row != 2882 || b.Note == "" {
		t.Fatalf("%+v", e)
	}
	body := c.get(path).Body.String()
	for _, want := range []string{"3 h", "Day by day", "neither on nor off"} {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if len(body) > 100_000 {
		t.Errorf("the page has %d bytes", len(body))
	}
	if l := c.get(page.CasePath(oneCase, "log")).Body.String(); !strings.Contains(l, "the time cannot be read: never") {
		t.Error("the log does not list the row that was not used")
	}
	// Another kind of table: what was said of it once is remembered.
	odd := twoDays("", "%s;-%.0f;x\n")
	if w := c.sendLog(path+"/import", map[string]string{"-key": c.open(path).values.Get("-key"), "pump": "P-1"}, "odd.csv", odd); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "Say whether it is") {
		t.Errorf("a question was not asked: %d", w.Code)
	}
	answers := map[string]string{"-key": c.open(path).values.Get("-key"), "pump": "P-1", "looked": "yes", "means-1": "time", "means-2": "suction", "unit-2": "mmHg", "negative-2": "yes", "means-3": "", "delimiter": "semicolon", "decimal": "point", "header": "0"}
	if w := c.sendLog(path+"/import", answers, "odd.csv", odd); w.Code != http.StatusSeeOther {
		t.Errorf("answered: %d %s", w.Code, said(w.Body.String()))
	}
	if w := c.sendLog(path+"/look", map[string]string{"-key": key, "pump": "P-1"}, "odd.csv", odd); !strings.Contains(w.Body.String(), "in this case on") || strings.Contains(w.Body.String(), "Say whether it is") {
		t.Errorf("not remembered: %s", said(w.Body.String()))
	}
}

// TestPumpLogDrift: a clock that was right at the beginning and an hour ahead at the end stretches no time, is kept in
// the entry and said in the Log; what cannot be is refused with the form filled.
func TestPumpLogDrift(t *testing.T) {
	c := newClient(t)
	patients(c)
	path := page.CasePath(oneCase, "pump-log")
	n := len(c.entries(oneCase))
	log := twoDays("time,suction_mmHg\n", "%s,%.0f\n")
	send := func(fields map[string]string) *httptest.ResponseRecorder {
		fields["-key"], fields["pump"] = c.open(path).values.Get("-key"), "P-1"
		return c.sendLog(path+"/import", fields, "p-1.csv", log)
	}
	for _, x := range []struct {
		fields map[string]string
		want   string
	}{
		{map[string]string{"ahead": "600", "before": "0"}, "do not belong together"},
		{map[string]string{"before": "3"}, "not how much when the log was read out"},
		{map[string]string{"ahead": "3", "before-at": "2026-03-01T08:00"}, "not by how much the clock was ahead then"},
		{map[string]string{"ahead": "3", "before": "soon"}, "is no number"},
		{map[string]string{"ahead": "3", "before": "1", "before-at": "never"}, "cannot be read"},
	} {
		w := send(x.fields)
		if body := w.Body.String(); w.Code != http.StatusUnprocessableEntity || !strings.Contains(body, x.want) || x.fields["before"] != "" && !strings.Contains(body, `value="`+x.fields["before"]+`"`) {
			t.Errorf("%v: %d %s", x.fields, w.Code, said(body))
		}
	}
	if w := send(map[string]string{"ahead": "60", "before": "0,0"}); w.Code != http.StatusSeeOther {
		t.Fatalf("%d %s", w.Code, said(w.Body.String()))
	}
	b := c.entries(oneCase)[n].Body.(casebook.LogImported)
	start := noon.Add(-49 * time.Hour)
	if !b.From.Equal(start) || !b.To.Equal(start.Add(47*time.Hour-time.Minute)) || b.AheadMin == nil || *b.AheadMin != 60 || b.BeforeMin == nil || *b.BeforeMin != 0 || b.BeforeAt != nil {
		t.Errorf("%+v", b)
	}
	if l := c.get(page.CasePath(oneCase, "log")).Body.String(); !strings.Contains(l, "drifted by 30.0 min a day") || !strings.Contains(l, "Ahead earlier by") {
		t.Error("the Log does not say what the drift did")
	}
}

// TestPumpLogHostile: whatever is sent, the page answers and nothing is written.
func TestPumpLogHostile(t *testing.T) {
	c := newClient(t)
	patients(c)
	path := page.CasePath(oneCase, "pump-log")
	n := len(c.entries(oneCase))
	for name, content := range map[string]string{
		"empty": "", "one line": "time,suction_mmHg", "NULs": strings.Repeat("\x00", 5000), "10 MB without an end": strings.Repeat("x", 10<<20),
		"formulas": "time,suction_mmHg\n=1+1,=2\n@x,+3\n", "<script>": "<script>alert(1)</script>,suction_mmHg\n<img src=x>,1\n", "marks": strings.Repeat("\"", 99_999),
	} {
		for _, to := range []string{"/look", "/import"} {
			w := c.sendLog(path+to, map[string]string{"-key": c.open(path).values.Get("-key"), "pump": "P-1", "ahead": "x\x00", "means-1": "evil", "looked": "yes"}, name+".csv", content)
			if w.Code >= 500 || w.Code == http.StatusSeeOther || strings.Contains(w.Body.String(), "<script>alert") || strings.Contains(w.Body.String(), "<img src=x") {
				t.Errorf("%s %s: %d", to, name, w.Code)
			}
		}
	}
	if w := c.sendLog(path+"/import", map[string]string{"pump": "P-1"}, "", ""); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "No file was chosen") {
		t.Errorf("no file: %d", w.Code)
	}
	r := httptest.NewRequest("POST", "http://127.0.0.1"+path+"/import", strings.NewReader("x"))
	r.Header.Set("Content-Type", "multipart/form-data; boundary=x")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	r.ContentLength = 210 << 20
	if w := c.do(r); w.Code != http.StatusRequestEntityTooLarge || !strings.Contains(w.Body.String(), "lowtide log") {
		t.Errorf("more than 200 MB: %d %s", w.Code, said(w.Body.String()))
	}
	if len(c.entries(oneCase)) != n {
		t.Error("something was written")
	}
}
