package intake

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
)

var update = flag.Bool("update", false, "write the golden problem lists again")

// now is when the bad files are read: after everything in them but what is meant to be in the future.
var now = time.Date(2026, 3, 10, 12, 0, 0, 0, time.UTC)

// TestBadFiles reads each bad file and compares every problem, as text, with the list beside it.
func TestBadFiles(t *testing.T) {
	files, err := filepath.Glob("testdata/bad/*.json")
	if err != nil || len(files) < 20 {
		t.Fatalf("%d bad files, %v", len(files), err)
	}
	for _, name := range files {
		t.Run(filepath.Base(name), func(t *testing.T) {
			raw, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			_, problems := ReadCaseFile(raw, now)
			if problems.Err() == nil && !strings.Contains(name, "unknown-kinds") {
				t.Error("the file was accepted")
			}
			got := problems.Error() + "\n"
			golden := strings.TrimSuffix(name, ".json") + ".txt"
			if *update {
				if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			if got != string(want) {
				t.Errorf("got\n%s\nwant\n%s", got, want)
			}
		})
	}
}

// TestIssueExamples holds the four impossible values that the work was asked for, without a golden between.
func TestIssueExamples(t *testing.T) {
	for name, want := range map[string]Problem{
		"01-depth-40-cm":         {Pointer: "/entries/2/body/depth_cm", Code: CodeRange, Value: "40"},
		"02-tissue-130":          {Pointer: "/entries/2/body/tissue", Code: CodeTissueSum, Value: "130 %"},
		"03-visit-in-the-future": {Pointer: "/entries/2/at", Code: CodeFuture, Value: "2026-03-20T10:00:00+01:00"},
		"04-change-before-wound": {Pointer: "/entries/2/body/wounds/0/wound", Code: CodeBeforeWound, Value: "A"},
	} {
		raw, err := os.ReadFile("testdata/bad/" + name + ".json")
		if err != nil {
			t.Fatal(err)
		}
		file, ps := ReadCaseFile(raw, now)
		if len(ps) != 1 {
			t.Errorf("%s: %d problems, want 1:\n%v", name, len(ps), ps)
			continue
		}
		p := ps[0]
		if p.Pointer != want.Pointer || p.Code != want.Code || p.Value != want.Value || p.Remedy == "" || p.Line != 8 {
			t.Errorf("%s: got %+v, want %+v in line 8", name, p, want)
		}
		if len(file.Entries) != 2 {
			t.Errorf("%s: %d good entries kept, want 2", name, len(file.Entries))
		}
	}
}

func TestDefaults(t *testing.T) {
	raw := []byte(`{"format":"lowtide.case","version":1,"case":"c1","entries":[{"kind":"note.written","at":"2026-03-02T10:00:00+01:00","body":{"text":"x"}}]}`)
	one, ps := ReadCaseFile(raw, now)
	two, _ := ReadCaseFile(raw, now.Add(time.Hour))
	if ps != nil || len(one.Entries) != 1 {
		t.Fatal(ps)
	}
	e := one.Entries[0]
	if e.Author != Imported || e.Version != 1 || e.Case != "c1" || !e.Recorded.Equal(e.At) || !isUUID(e.ID) {
		t.Errorf("%+v", e)
	}
	if two.Entries[0].Hash() != e.Hash() {
		t.Error("reading twice gives two different entries")
	}
}

// TestCanonical writes, reads and writes again: the bytes must be the same.
func TestCanonical(t *testing.T) {
	raw, err := os.ReadFile("testdata/bad/26-unknown-kinds.json")
	if err != nil {
		t.Fatal(err)
	}
	file, ps := ReadCaseFile(raw, now)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	if len(file.Entries) != 5 {
		t.Fatalf("%d entries, want 5: the same note twice is kept once", len(file.Entries))
	}
	if _, ok := file.Entries[2].Body.(casebook.Unknown); !ok {
		t.Errorf("unknown kind became %T", file.Entries[2].Body)
	}
	first := write(t, file)
	again, ps := ReadCaseFile(first, now)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	if second := write(t, again); !bytes.Equal(first, second) {
		t.Errorf("first\n%s\nsecond\n%s", first, second)
	}
}

func write(t testing.TB, f CaseFile) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := WriteCaseFile(&b, f); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestLimits(t *testing.T) {
	entry := `{"kind":"note.written","at":"2026-03-02T10:00:00+01:00","body":{"text":"x"}}`
	file := func(n int) []byte {
		return []byte(`{"format":"lowtide.case","version":1,"case":"c1","entries":[` + strings.TrimSuffix(strings.Repeat(entry+",", n), ",") + `]}`)
	}
	l := Limits{Bytes: 2000, Entries: 10, Depth: 10, Values: 60, Problems: 5}
	for name, tt := range map[string]struct {
		raw  []byte
		code Code
	}{
		"bytes":    {file(100), CodeSize},
		"entries":  {file(11), CodeSize},
		"values":   {file(15), CodeSize},
		"problems": {bytes.ReplaceAll(file(10), []byte(`"x"`), []byte("1")), CodeMore},
	} {
		_, ps := Read(tt.raw, Options{Now: now, Limits: l})
		if len(ps) == 0 || ps[len(ps)-1].Code != tt.code && ps[0].Code != tt.code {
			t.Errorf("%s: %v", name, ps)
		}
	}
	l.Problems = 10 // nine notices: the entries are the same
	if _, ps := Read(file(10), Options{Now: now, Limits: l}); ps.Err() != nil {
		t.Errorf("a file at the limits is refused: %v", ps)
	}
}
