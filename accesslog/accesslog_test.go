package accesslog

import (
	"bytes"
	"crypto/rand"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/memory"
)

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

func note(t *testing.T, l *Log, at time.Time, n Noted) {
	t.Helper()
	if err := l.Note(t.Context(), at, n); err != nil {
		t.Fatal(err)
	}
}

func filled(t *testing.T) *Log {
	l := New(casebook.Book{Store: memory.New()}, rand.Reader)
	note(t, l, noon, Noted{Account: "m.holt", What: Read, Case: "c1", Page: "/case/{case}"})
	note(t, l, noon.Add(time.Minute), Noted{Account: "m.holt", What: Sent, Case: "c1"})
	note(t, l, noon.Add(2*time.Minute), Noted{Account: "j.okafor", What: Read, Case: "c1", Outside: true, Why: "on call"})
	note(t, l, noon.AddDate(0, 0, 1), Noted{Account: "m.holt", What: Read, Case: "c2"})
	note(t, l, noon.AddDate(0, 0, 2), Noted{Account: "m.holt", What: Listed})
	return l
}

func TestFind(t *testing.T) {
	l := filled(t)
	for _, c := range []struct {
		name string
		q    Query
		want int
		more bool
	}{{"all", Query{}, 5, false}, {"case", Query{Case: "c1"}, 3, false}, {"account", Query{Account: "j.okafor"}, 1, false}, {"what", Query{What: Read}, 3, false},
		{"day", Query{From: noon, To: noon}, 3, false}, {"from", Query{From: noon.AddDate(0, 0, 1)}, 2, false}, {"to", Query{To: noon.AddDate(0, 0, 1)}, 4, false},
		{"both", Query{Case: "c1", Account: "m.holt"}, 2, false}, {"limit", Query{Limit: 2}, 2, true}, {"limit just right", Query{Limit: 5}, 5, false}, {"none", Query{Case: "c9"}, 0, false}} {
		lines, more, err := l.Find(t.Context(), c.q)
		if err != nil || len(lines) != c.want || more != c.more {
			t.Errorf("%s: %d lines, more %v, %v", c.name, len(lines), more, err)
		}
		for i := 1; i < len(lines); i++ {
			if lines[i].At.After(lines[i-1].At) {
				t.Errorf("%s: line %d is newer than the one before", c.name, i)
			}
		}
	}
	lines, _, _ := l.Find(t.Context(), Query{Account: "j.okafor"})
	if !lines[0].Outside || lines[0].Why != "on call" || lines[0].Case != "c1" || !lines[0].At.Equal(noon.Add(2*time.Minute)) {
		t.Errorf("%+v", lines[0])
	}
}

// TestTwoWriters: two processes and many goroutines write the same day; nothing is lost and the chain holds.
func TestTwoWriters(t *testing.T) {
	book := casebook.Book{Store: memory.New()}
	a, b := New(book, rand.Reader), New(book, rand.Reader)
	var wg sync.WaitGroup
	for i := range 40 {
		wg.Add(1)
		go func() {
			defer wg.Done()
			l := []*Log{a, b}[i%2]
			if err := l.Note(t.Context(), noon, Noted{Account: fmt.Sprint("n", i), What: Read}); err != nil {
				t.Error(err)
			}
		}()
	}
	wg.Wait()
	lines, _, err := a.Find(t.Context(), Query{})
	if err != nil || len(lines) != 40 {
		t.Errorf("%d lines, %v", len(lines), err)
	}
	r, err := b.Verify(t.Context())
	if err != nil || !r.Sound() || r.Unread != 0 || r.Records != 40 {
		t.Errorf("%+v, %v", r, err)
	}
}

func TestExport(t *testing.T) {
	l := filled(t)
	note(t, l, noon, Noted{Account: "m.holt", What: Read, Case: "c3", Outside: true, Why: "=HYPERLINK(\"x\"), \"quoted\"\nnext"})
	note(t, l, noon, Noted{Account: "m.holt", What: Read, Case: "c3", Outside: true, Why: "＝1+1"})
	lines, _, err := l.Find(t.Context(), Query{})
	if err != nil {
		t.Fatal(err)
	}
	var buf bytes.Buffer
	if err := WriteCSV(&buf, lines); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&buf).ReadAll()
	if err != nil || len(rows) != 8 || rows[0][0] != "at" {
		t.Fatal(len(rows), err)
	}
	found := 0
	for _, r := range rows {
		if strings.HasPrefix(r[5], "'=HYPERLINK") || strings.HasPrefix(r[5], "'＝1") {
			found++
		}
	}
	if found != 2 {
		t.Error("a formula stands in the table as it is")
	}
	buf.Reset()
	if err := WriteJSON(&buf, lines); err != nil {
		t.Fatal(err)
	}
	var back []Line
	if err := json.Unmarshal(buf.Bytes(), &back); err != nil || len(back) != 7 || back[0] != lines[0] {
		t.Errorf("%d lines, %v", len(back), err)
	}
}

// TestNoFormReachesTheLog: the book's own Append, which forms and imports use, refuses the log's days.
func TestNoFormReachesTheLog(t *testing.T) {
	book := casebook.Book{Store: memory.New()}
	e := casebook.Entry{ID: "x", Case: dayCase(noon), Kind: KindNoted, Version: 1, At: noon, Recorded: noon, Body: Noted{}}
	if _, err := book.Append(t.Context(), "", e); err == nil {
		t.Error("written")
	}
}
