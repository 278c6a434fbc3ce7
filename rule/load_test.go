package rule

import (
	"errors"
	"io/fs"
	"os"
	"strings"
	"testing"
	"testing/fstest"
	"time"
)

// folder reads a folder of testdata into memory, so that tests can edit it.
func folder(t testing.TB, name string) fstest.MapFS {
	t.Helper()
	out := fstest.MapFS{}
	root := os.DirFS("testdata/" + name)
	err := fs.WalkDir(root, ".", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		raw, err := fs.ReadFile(root, p)
		out[p] = &fstest.MapFile{Data: raw}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func edit(t *testing.T, fsys fstest.MapFS, file, old, new string) {
	t.Helper()
	text := string(fsys[file].Data)
	if strings.Count(text, old) == 0 {
		t.Fatalf("%s does not hold %q", file, old)
	}
	fsys[file] = &fstest.MapFile{Data: []byte(strings.Replace(text, old, new, 1))}
}

func mustLoad(t testing.TB, fsys fs.FS) *Set {
	t.Helper()
	s, err := Load(fsys)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func clockText(t time.Time) string { return t.Format("Mon 2 Jan 15:04") }

func TestLoad(t *testing.T) {
	s := mustLoad(t, folder(t, "pack"))
	var ids []string
	for _, r := range s.Rules() {
		ids = append(ids, r.ID)
	}
	if got := strings.Join(ids, " "); got != "ORD-DEEP-01 CAN-AGE-01 VIS-CHANGE-01" {
		t.Errorf("rules in the order %s, want by area and without the withdrawn one", got)
	}
	if w := s.Withdrawn(); len(w) != 1 || w[0].ID != "CAN-OLD-01" || w[0].Explain() == "" {
		t.Errorf("withdrawn: %v", w)
	}
	for _, c := range s.Test() {
		if !c.OK() || c.Got != c.WithLocal {
			t.Errorf("%s %s: got %s, want %s", c.Rule.ID, c.Case.Name, c.Got, c.Case.Want)
		}
	}
	if got := s.Rule("CAN-AGE-01").StatementText(); got != "A canister stays at most 7 days." {
		t.Errorf("statement: %s", got)
	}
	if got := s.Rule("ORD-DEEP-01").Basis(); got != "common practice, no published source; from memory" {
		t.Errorf("basis: %s", got)
	}
	if again := mustLoad(t, folder(t, "pack")); again.Hash() != s.Hash() || len(s.Hash()) != 64 {
		t.Errorf("hashes %s and %s of the same pack", s.Hash(), again.Hash())
	}
}

// TestLoadLayout: the layout of TOML and of folders does not enter the hash; content does.
func TestLoadLayout(t *testing.T) {
	want := mustLoad(t, folder(t, "pack")).Hash()
	fsys := folder(t, "pack")
	edit(t, fsys, "data/CAN-AGE-01.toml", "[[value]]", "# a comment\n\n[[value]]")
	fsys["data/canister/CAN-AGE-01.toml"] = fsys["data/CAN-AGE-01.toml"]
	delete(fsys, "data/CAN-AGE-01.toml")
	if got := mustLoad(t, fsys).Hash(); got != want {
		t.Error("a comment or a folder changed the hash")
	}
	edit(t, fsys, "data/canister/CAN-AGE-01.toml", "p. 3", "p. 4")
	if got := mustLoad(t, fsys).Hash(); got == want {
		t.Error("a changed locator did not change the hash")
	}
}

const (
	age    = "data/CAN-AGE-01.toml"
	deep   = "data/ORD-DEEP-01.toml"
	change = "data/VIS-CHANGE-01.toml"
	note   = "source/maker-2001-note.toml"
)

// TestLoadRefuses edits one thing of a good pack; each must be refused with the key and a sentence.
func TestLoadRefuses(t *testing.T) {
	for _, c := range []struct{ name, file, old, new, key, what string }{
		{"no source", age, `source = "maker-2001-note"`, ``, "source", "is missing"},
		{"wrong source", age, `"maker-2001-note"`, `"other-2001-note"`, "source", "there is no source other-2001-note"},
		{"no locator", age, `locator = "p. 3"`, ``, "locator", "is missing"},
		{"empty locator", age, `"p. 3"`, `""`, "locator", "is missing"},
		{"no unit", age, `unit = "hours"`, ``, "value[1].unit", "is missing for a number"},
		{"empty unit is a count", age, `"hours"`, `""`, "when", "counts hours"},
		{"unknown unit", age, `"hours"`, `"fortnights"`, "value[1].unit", "is not a unit"},
		{"unit of a text", deep, `words = "fillers`, "unit = \"h\"\nwords = \"fillers", "value[2].unit", "has no unit"},
		{"no words", age, `words = "longest time with one canister"`, ``, "value[1].words", "is missing"},
		{"value twice", deep, `name = "usual"`, `name = "deep"`, "value[2].name", "named twice"},
		{"value unused", age, "{limit_h}.\"\nlevel", "x\"\nlevel", "", ""}, // still used elsewhere: loads
		{"value never used", change, "2 * early", "6", "value[1].name", "early is used nowhere"},
		{"value named as a term", age, `name = "limit_h"`, `name = "canister"`, "value[1].name", "cannot name a value"},
		{"value not finite", age, "value = 168", "value = inf", "value[1].value", "not a finite number"},
		{"value outside its dates", age, `words = "longest`, "until = 2010-01-01\nwords = \"longest", "value[1].from", "never judged with a value outside its dates"},
		{"unknown term", age, "since(canister.changed_at)", "since(canister.changed)", "when", "no term canister.changed"},
		{"unknown value", age, "> limit_h", "> limit", "when", "there is no value limit"},
		{"unknown placeholder", age, "{canister.full_pct}", "{canister.fill_pct}", "headline", "no term canister.fill_pct"},
		{"unknown value placeholder", age, `"Change it."`, `"Change it in {hurry}."`, "do", "no value {hurry}"},
		{"open brace", age, `"Change it."`, `"Change it {now."`, "do", "a brace without its partner"},
		{"term of a wound", age, "applies = \"therapy.open\"", "applies = \"wound.found\"", "applies", "belongs to a wound"},
		{"id is not the file", age, `id = "CAN-AGE-01"`, `id = "CAN-AGE-02"`, "id", "is not the name of the file"},
		{"id form", age, `id = "CAN-AGE-01"`, `id = "age"`, "id", "is not of the form"},
		{"id twice", deep, `id = "ORD-DEEP-01"`, `id = "CAN-AGE-01"`, "id", "is also in"},
		{"no unknown level", age, `unknown_level = "Plan"`, ``, "unknown_level", "is missing"},
		{"no cannot tell", age, `cannot_tell = "Cannot tell how old the canister is: no change is recorded."`, ``, "cannot_tell", "is missing"},
		{"no case of cannot tell", age, `want = "cannot tell"`, `want = "no"`, "case", `no case wants "cannot tell"`},
		{"no case of yes", age, `want = "yes"`, `want = "no"`, "case", `no case wants "yes"`},
		{"no case of no", age, `want = "no"`, `want = "yes"`, "case", `no case wants "no"`},
		{"case twice", age, `name = "just above"`, `name = "just below"`, "case[2].name", "named twice"},
		{"case wants nonsense", age, `want = "no"`, `want = "perhaps"`, "case[1].want", "is not known"},
		{"case of no term", age, `"therapy.open" = true`, `"therapy.opened" = true`, "case[1].facts.therapy.opened", "is not a term"},
		{"case of a wrong type", age, `"therapy.open" = true`, `"therapy.open" = 1`, "case[1].facts.therapy.open", "the term is a yes/no"},
		{"case of a wound", age, `"therapy.open" = true`, `"wound.found" = true`, "case[1].facts.wound.found", "belongs to a wound"},
		{"compares unlike", deep, "order.deepest_mmHg > deep", "order.filler > deep", "when", "needs a number and has a text"},
		{"compares unlike 2", deep, "order.deepest_mmHg > deep", "order.filler == deep", "when", "compares a text with a number"},
		{"not yes or no", deep, "order.deepest_mmHg > deep", "order.deepest_mmHg", "when", "not yes or no"},
		{"units apart", deep, `unit = "mmHg"`, `unit = "kPa"`, "when", "puts mmHg against kPa"},
		{"clock in days", age, `"hours"`, `"d"`, "when", "counts hours"},
		{"clock in arithmetic", age, "since(canister.changed_at) >", "since(canister.changed_at) + 1 >", "when", "inside a larger expression"},
		{"clock reversed", age, "since(canister.changed_at) > limit_h", "limit_h < since(canister.changed_at)", "when", "inside a larger expression"},
		{"clock equal", age, "since(canister.changed_at) >", "since(canister.changed_at) ==", "when", "can only be compared"},
		{"clock of two", age, "> limit_h", "> limit_h - until(visit.next_at)", "when", "inside a larger expression"},
		{"clock of a number", age, "since(canister.changed_at)", "since(canister.full_pct)", "when", "is a number"},
		{"clock of a text", age, "> limit_h", "> 'long'", "when", "is compared with a text"},
		{"bare time", age, "since(canister.changed_at) >", "canister.changed_at >", "when", "cannot be used by itself"},
		{"known inside", age, "since(canister.changed_at) > limit_h", "known(visit.pain) == true or since(canister.changed_at) > limit_h", "when", "inside a larger expression"},
		{"ternary", age, "applies = \"therapy.open\"", "applies = \"therapy.open ? true : false\"", "applies", "not part of the language"},
		{"function", age, "applies = \"therapy.open\"", "applies = \"len(order.goal) > 3\"", "applies", "not part of the language"},
		{"power", deep, "order.deepest_mmHg > deep", "order.deepest_mmHg ** 2 > deep", "when", "not part of the language"},
		{"division", deep, "order.deepest_mmHg > deep", "deep / order.stages > 3", "when", "divides by something that can be zero"},
		{"division by zero", deep, "order.deepest_mmHg > deep", "order.deepest_mmHg / 0 > deep", "when", "divides by something that can be zero"},
		{"pattern", deep, "'^none'", "'(none'", "when", "pattern of matches cannot be read"},
		{"syntax", age, "> limit_h", "> limit_h and", "when", "cannot be read"},
		{"due of a number", age, "due = \"canister.changed_at", "due = \"canister.full_pct", "due", "is a number"},
		{"due nonsense", age, "canister.changed_at + limit_h\"", "canister.changed_at + limit_h + limit_h\"", "due", "is not a due time"},
		{"due in mmHg", deep, `clears =`, "due = \"order.written_at + deep\"\nclears =", "due", "is not a span of time"},
		{"no from", age, "from = 2001-01-01", "", "from", "is missing"},
		{"from as text", age, "from = 2001-01-01", `from = "2001-01-01"`, "from", "not a date"},
		{"until before from", age, "from = 2001-01-01", "from = 2001-01-01\nuntil = 2000-01-01", "until", "is not after from"},
		{"unknown key", age, `level = "Today"`, "level = \"Today\"\nurgency = 1", "urgency", "is not a key"},
		{"unknown key in a value", age, `unit = "hours"`, "unit = \"hours\"\nunits = 1", "value[1].units", "is not a key"},
		{"unknown area", age, `"Canister"`, `"Bucket"`, "area", "is not known"},
		{"number for a text", age, `title = "Canister age"`, `title = 4`, "title", "not a text"},
		{"not TOML", age, `title = "Canister age"`, `title = `, "", "not TOML"},
		{"withdrawn without reason", "data/CAN-OLD-01.toml", `reason = "It was never right."`, ``, "withdrawn.reason", "is missing"},
		{"source id", note, `id = "maker-2001-note"`, `id = "maker-2001-notes"`, "id", "is not the name of the file"},
		{"source kind", note, `"handbook"`, `"blog"`, "kind", "is not known"},
		{"source year", note, `year = 2001`, ``, "year", "is missing"},
		{"source unused", "source/common-practice.toml", `"common-practice"`, `"common-practise"`, "", "no rule and no value rests on this source"},
	} {
		t.Run(c.name, func(t *testing.T) {
			fsys := folder(t, "pack")
			edit(t, fsys, c.file, c.old, c.new)
			_, err := Load(fsys)
			if c.what == "" {
				if err != nil {
					t.Fatal(err)
				}
				return
			}
			var found Problems
			if !errors.As(err, &found) {
				t.Fatalf("loaded; want a problem at %s", c.key)
			}
			for _, p := range found {
				if p.Key == c.key && strings.Contains(p.What, c.what) {
					if p.Do == "" || p.File == "" {
						t.Errorf("no file or remedy: %v", p)
					}
					return
				}
			}
			t.Errorf("want %s: %s; got %v", c.key, c.what, err)
		})
	}
}

// TestLoadAll: one problem never hides another.
func TestLoadAll(t *testing.T) {
	fsys := folder(t, "pack")
	edit(t, fsys, age, `title = "Canister age"`, `title = 4`)
	edit(t, fsys, age, `unit = "hours"`, ``)
	edit(t, fsys, age, `> limit_h`, `> limit or visit.pains > 3`)
	edit(t, fsys, change, `locator = "p. 4"`, ``)
	edit(t, fsys, note, `by = "Nobody"`, ``)
	_, err := Load(fsys)
	for _, want := range []string{"title", "value[1].unit", "no value limit", "no term visit.pains", "locator", "by: is missing"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("missing %q in %v", want, err)
		}
	}
}

func TestNeverUnknown(t *testing.T) {
	for _, c := range []struct {
		applies, when string
		want          bool
	}{
		{"", "visit.pain > 3", true},
		{"known(visit.pain)", "visit.pain > 3", false},
		{"", "known(visit.pain) and visit.pain > 3", false},
		{"", "not known(visit.pain) or visit.pain > 3", false},
		{"", "known(visit.pain) or visit.pain > 3", true},
		{"therapy.open", "not therapy.open", false},
		{"therapy.open", "therapy.off", true},
		{"visit.pain > 3", "visit.pain > 5", false},
		{"known(visit.pain)", "visit.pain > 3 or since(visit.last_at) > 3", true},
		{"", "known(visit.pain)", false},
		{"", "true", false},
		{"", "since(visit.last_at) > order.change_every_h", true},
		{"known(visit.last_at) and known(order.change_every_h)", "since(visit.last_at) > order.change_every_h", false},
	} {
		r := &Rule{Scope: ScopeCase, Applies: c.applies, When: c.when}
		var found Problems
		ed := r.editionOf(nil, time.Time{}, &found)
		if len(found) > 0 {
			t.Fatal(found)
		}
		if got := ed.mayBeUnknown(); got != c.want {
			t.Errorf("applies %q, when %q: may be unknown = %v, want %v", c.applies, c.when, got, c.want)
		}
	}
}
