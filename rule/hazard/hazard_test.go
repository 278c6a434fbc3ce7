package hazard

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"lowtide/rule"
)

const top = "../.."

// least is how many hazards there are at least: a list that shrinks is looked at.
const least = 80

// sources reads the files of the tree that match, joined: what a name has to be found in.
func sources(t *testing.T, want func(path string) bool) string {
	t.Helper()
	var b strings.Builder
	err := filepath.WalkDir(top, func(path string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == "node_modules" || d.Name() == ".git") {
			return filepath.SkipDir
		}
		if d.IsDir() || !want(path) {
			return nil
		}
		raw, err := os.ReadFile(path)
		b.Write(raw)
		b.WriteByte('\n')
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// TestControlsExist: every control and test that a hazard names is there under that name.
func TestControlsExist(t *testing.T) {
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	known := map[string]bool{}
	for _, r := range rules.Rules() {
		known[r.ID] = r.Withdrawn == nil
	}
	tests := sources(t, func(p string) bool { return strings.HasSuffix(p, "_test.go") })
	browser := sources(t, func(p string) bool { return strings.HasSuffix(p, ".test.mjs") })
	routes := sources(t, func(p string) bool { return strings.HasSuffix(p, "web/routes.go") })
	stories := sources(t, func(p string) bool {
		return strings.HasPrefix(filepath.Base(p), "story_") && strings.HasSuffix(p, "_test.go")
	})
	for _, h := range All() {
		for _, id := range h.Rules {
			if !known[id] {
				t.Errorf("%s: there is no rule %s", h.ID, id)
			} else if !strings.Contains(stories, `"`+id+`"`) && id != "CAN-BLEED-01" { // TestBleedLimit tells that one
				t.Errorf("%s: rule %s has no story", h.ID, id)
			}
		}
		for _, name := range h.Tests {
			if words, ok := strings.CutPrefix(name, "browser: "); ok {
				if !strings.Contains(browser, "test('"+strings.ReplaceAll(words, "'", `\'`)) {
					t.Errorf("%s: no browser test is called %q", h.ID, words)
				}
			} else if !strings.Contains(tests, "func "+name+"(") {
				t.Errorf("%s: there is no test %s", h.ID, name)
			}
		}
		for _, name := range h.Code {
			i := strings.LastIndex(name, ".")
			if i < 0 {
				t.Errorf("%s: %s is not package.Name", h.ID, name)
				continue
			}
			dir := filepath.Join(top, name[:i])
			src := sources(t, func(p string) bool {
				return filepath.Dir(p) == dir && strings.HasSuffix(p, ".go") && !strings.HasSuffix(p, "_test.go")
			})
			if !regexp.MustCompile(`(?m)^(func (\([^)]*\) )?|type |\t|var |const )` + regexp.QuoteMeta(name[i+1:]) + `\b`).MatchString(src) {
				t.Errorf("%s: there is no %s", h.ID, name)
			}
		}
		for _, page := range h.Pages {
			if !strings.Contains(routes, `"`+page+`"`) {
				t.Errorf("%s: there is no page %s", h.ID, page)
			}
		}
	}
}

// TestEveryUrgentRuleIsAControl: a rule that can say Act now stands against some hazard.
func TestEveryUrgentRuleIsAControl(t *testing.T) {
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, r := range rules.Rules() {
		if r.Level != rule.ActNow && r.UnknownLevel != rule.ActNow {
			continue
		}
		if n++; len(OfRule(r.ID)) == 0 {
			t.Errorf("%s can say Act now and is a control of no hazard", r.ID)
		}
	}
	t.Logf("%d hazards; %d rules that can say Act now, each a control of one", len(All()), n)
	if len(All()) < least {
		t.Errorf("%d hazards, want at least %d", len(All()), least)
	}
}

// TestLoadRefuses: a hazard that says less than it must is refused, with all that is wrong.
func TestLoadRefuses(t *testing.T) {
	dir := os.DirFS(filepath.Join("testdata", "bad"))
	_, err := Load(dir)
	if err == nil {
		t.Fatal("taken")
	}
	for _, part := range []string{"HAZ-001: harm is missing", "HAZ-002: is more likely", "HAZ-003: has no control", "HAZ-004: death harm may not stay at times", "HAZ-005: severity", "colour is no key", "HAZ-001 stands twice"} {
		if !strings.Contains(err.Error(), part) {
			t.Errorf("does not say %q:\n%v", part, err)
		}
	}
}
