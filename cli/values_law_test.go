package cli

import (
	"bytes"
	"context"
	"fmt"
	"html"
	"maps"
	"math/rand/v2"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/caseload"
	"lowtide/demo"
	"lowtide/equipment"
	"lowtide/evidence/casegen"
	"lowtide/intake"
	"lowtide/rule"
	"lowtide/rule/value"
	"lowtide/web"
)

// lawMorning is when the demonstration is looked at.
var lawMorning = time.Date(2026, 3, 4, 8, 30, 0, 0, time.UTC)

// protocolOf changes every shared value a little, so that each prints as nothing else does.
func protocolOf(t *testing.T, set *rule.Set) (text string, printed map[string][2]string) {
	t.Helper()
	var b strings.Builder
	b.WriteString("name = \"everything a little otherwise\"\n")
	printed = map[string][2]string{}
	for _, v := range set.Shared() {
		x, ok := v.Value.Value.(float64)
		if !ok { // empty until an agency sets it
			x = v.Example
		}
		for _, by := range []float64{0.93, 1.13, 0.87, 1.17, 0.83} {
			to := x * by
			if words := value.Print(to, v.Unit, true); words != value.Print(x, v.Unit, true) && !taken(printed, words) {
				fmt.Fprintf(&b, "[[change]]\nvalue = %q\nto = %v\nunit = %q\nreason = \"to see\"\nby = \"the test\"\nfrom = 2020-01-01\n", v.Name, to, v.Unit)
				printed[v.Name] = [2]string{value.Print(x, v.Unit, true), words}
				break
			}
		}
		if printed[v.Name][1] == "" {
			t.Errorf("%s cannot be changed so that it prints otherwise", v.Name)
		}
	}
	return b.String(), printed
}

func taken(printed map[string][2]string, words string) bool {
	for _, p := range printed {
		if p[0] == words || p[1] == words {
			return true
		}
	}
	return false
}

var (
	tag    = regexp.MustCompile(`(?s)<(script|style|svg)\b.*?</(script|style|svg)>|<[^>]*>`)
	anchor = regexp.MustCompile(`href="(/[^"#]*)`)
	block  = regexp.MustCompile(`</(p|li|td|th|h[1-6]|dd|dt|summary|caption|label|option|div|button|a)>`)
)

// sentencesOf are the lines of a page as somebody reads them.
func sentencesOf(page string) (out []string) {
	page = block.ReplaceAllString(page, "\n")
	for _, l := range strings.Split(html.UnescapeString(tag.ReplaceAllString(page, " ")), "\n") {
		if l = strings.Join(strings.Fields(l), " "); l != "" {
			out = append(out, l)
		}
	}
	return out
}

// crawled are all pages that links reach from Rounds, by path.
func crawled(t *testing.T, rules *rule.Set, most int) map[string]string {
	t.Helper()
	book := casebook.Book{Store: memory.New()}
	if err := demo.Fill(context.Background(), book, lawMorning, 1); err != nil {
		t.Fatal(err)
	}
	eq := equipment.BuiltIn()
	srv := &web.Server{Caseload: caseload.New(book, rules, eq), Rules: rules, Equipment: eq, Now: func() time.Time { return lawMorning },
		Random: rand.NewChaCha8([32]byte{1}), Author: "N. Test", Zone: time.UTC, Demo: true}
	h := srv.Handler()
	link, err := srv.NewLink()
	if err != nil {
		t.Fatal(err)
	}
	opened := httptest.NewRecorder()
	h.ServeHTTP(opened, httptest.NewRequest("GET", "http://127.0.0.1"+link, nil))
	cookie := opened.Result().Cookies()[0]
	pages, todo, seen := map[string]string{}, []string{"/"}, map[string]bool{"/": true}
	for len(todo) > 0 && len(pages) < most {
		path := todo[0]
		todo = todo[1:]
		r := httptest.NewRequest("GET", "http://127.0.0.1"+path, nil)
		r.AddCookie(cookie)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != 200 || !strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") {
			continue
		}
		pages[path] = w.Body.String()
		for _, m := range anchor.FindAllStringSubmatch(w.Body.String(), -1) {
			next := html.UnescapeString(m[1])
			if !seen[next] && !strings.HasPrefix(next, "/static/") && !strings.Contains(next, "/correct/") && !strings.Contains(next, "/photo/") && !strings.Contains(next, "entry=") {
				seen[next] = true
				todo = append(todo, next)
			}
		}
	}
	return pages
}

// commanded is what the commands say of the demonstration's cases and of a call, a series of sizes and a program.
func commanded(t *testing.T, dir, local string) map[string]string {
	t.Helper()
	out := map[string]string{}
	run := func(args ...string) {
		var o, e bytes.Buffer
		name := strings.Join(args, " ")
		if local != "" {
			args = append(args, "--local", local)
		}
		if code := Main(args, strings.NewReader(""), &o, &e); code > 1 {
			t.Fatalf("%s: %d %s", name, code, e.String())
		}
		out[name] = o.String()
	}
	cases, err := filepath.Glob(filepath.Join(dir, "*.json"))
	if err != nil {
		t.Fatal(err)
	}
	at := lawMorning.Format(time.RFC3339)
	for _, f := range cases {
		run("review", f, "--as-of", at)
		for _, p := range []string{"handover", "progress", "leaflet"} {
			run("paper", p, f, "--as-of", at, "--json")
		}
		run("fhir", "write", f, "--as-of", at)
	}
	write := func(name, text string) string {
		p := filepath.Join(dir, name)
		if err := os.WriteFile(p, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return p
	}
	run("call", write("call.txt", `{"as_of":"2026-03-04T08:00:00Z","off_since":"2026-03-04T07:30:00Z","signs":{"canister_expected_pct":80}}`))
	run("healing", write("sizes.txt", `{"wound_type":"surgical","as_of":"2026-05-29","sizes":[{"at":"2026-03-01","area_cm2":20},{"at":"2026-03-03","area_cm2":19}]}`))
	run("rules", "list")
	return out
}

// standing are sentences with a number that a shared value is in another place: by how they go on, with the reason.
var standing = []struct{ text, why string }{
	{"The next 3 days, day by day", "a filter of Rounds"}, {"Next 3 days", "a filter of Rounds"},
	{"ithout suction in the last 24 h", "a day, over which hours are counted"},
	{"the service level is", "the stores' own number"},
	{"held within 10 mmHg", "what a source found"}, {"g in 100 mL", "what a source found"}, {"g in # mL", "what a source found"}, {"g per cm² in 24 h", "what a source found"},
	{"off for no more than 2 h", "what a source says"},
	{"A chronic wound: present for at least", "the payer's text"},
	{"payer's coding guideline", "the range of a class of pumps"}, {"portable pump, ", "the range of a class of pumps"},
	{"more than 30 days ago", "a rule's own value"}, {"more than 3 days ago", "a rule's own value"},
	// numbers of patients that happen to be the same in several cases
	{"from all sizes together", "a chance"}, {"by all its sizes together", "a chance"}, {"area gone since the first size", "a size"}, {"very likely getting smaller", "a chance"},
	{"would fill within", "an order's interval"}, {"the order has a change every", "an order's interval"}, {"change interval in the order", "an order's interval"}, {"interval between visits", "an order's interval"},
	{"Delivered by the log", "a log"}, {"The canister was", "a reading"},
}

// TestLawLocalValues: a local protocol that changes every shared value changes everything that mentions one: pages, papers,
// Bundles and commands. A number that stayed as it was shows as a sentence that two cases or more have word for word in both
// programs with the old number in it.
func TestLawLocalValues(t *testing.T) {
	if testing.Short() {
		t.Skip("reads every page of the demonstration twice")
	}
	set, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	text, printed := protocolOf(t, set)
	local := t.TempDir()
	if err := os.WriteFile(filepath.Join(local, "protocol.toml"), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	changed, err := set.WithLocal(fstest.MapFS{"protocol.toml": {Data: []byte(text)}})
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	byCase := map[string][]casebook.Entry{}
	for _, e := range demo.Entries(lawMorning, 1) {
		byCase[e.Case] = append(byCase[e.Case], e)
	}
	n := 0
	for id, entries := range byCase {
		if n++; n > 8 {
			break
		}
		file, _ := casegen.Made{ID: id, Entries: entries}.File(lawMorning)
		var raw bytes.Buffer
		if err := intake.WriteCaseFile(&raw, file); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("case-%d.json", n)), raw.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	before, after := crawled(t, set, 1500), crawled(t, changed, 1500)
	for k, v := range commanded(t, dir, "") {
		before[k] = v
	}
	for k, v := range commanded(t, dir, local) {
		after[k] = v
	}
	was := map[string]bool{}
	for _, page := range before {
		for _, l := range sentencesOf(page) {
			was[l] = true
		}
	}
	// by is where a sentence stands, by what the sentence is without its other numbers
	by := map[string]map[string]string{}
	shown := map[string]bool{}
	shownIn := func(page string) {
		text := strings.Join(sentencesOf(page), "\n")
		for _, v := range set.Shared() {
			shown[v.Name] = shown[v.Name] || strings.Contains(text, printed[v.Name][1])
		}
	}
	for where, page := range after {
		if strings.HasPrefix(where, "/rules/") || strings.HasPrefix(where, "/rules?") || where == "/rules" || where == "/sources" || strings.HasPrefix(where, "rules ") {
			shownIn(page)
			continue // these say the built-in numbers too, as such
		}
		for _, l := range sentencesOf(page) {
			for _, v := range set.Shared() {
				if v.Unit == "1" { // a bare number says nothing
					shown[v.Name] = true
					continue
				}
				shown[v.Name] = shown[v.Name] || strings.Contains(l, printed[v.Name][1])
				for _, at := range whole(printed[v.Name][0]).FindAllStringSubmatchIndex(l, -1) {
					if !was[l] {
						continue
					}
					key := other.ReplaceAllString(l[:at[4]], "#") + l[at[4]:at[5]] + other.ReplaceAllString(l[at[5]:], "#")
					if by[key] == nil {
						by[key] = map[string]string{}
					}
					by[key][aboutCase(where)] = where
				}
			}
		}
	}
	t.Logf("%d pages, papers and commands, %d sentences", len(before), len(was))
	for _, v := range set.Shared() {
		if !shown[v.Name] {
			t.Errorf("%s: nothing shows that it is %s now", v.Name, printed[v.Name][1])
		}
	}
	for _, key := range slices.Sorted(maps.Keys(by)) {
		_, general := by[key][""]
		if words := strings.Fields(letters.ReplaceAllString(key, " ")); !general && len(by[key]) < 3 || len(words) < 4 {
			continue // a number of these patients, or of a table
		}
		known := false
		for _, s := range standing {
			if strings.Contains(key, s.text) {
				known = true
			}
		}
		if !known {
			for _, where := range by[key] {
				t.Errorf("%s [%s]", key, where)
				break
			}
		}
	}
}

// letters are what a sentence is made of; a cell of a table has few.
var letters = regexp.MustCompile(`[^a-zA-Z]+`)

// other are numbers, days and names that change from one sentence to the next.
var other = regexp.MustCompile(`\d+(?:[.,:]\d+)*|\b(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun|Jan|Feb|Mar|Apr|January|February|March|April)\b|\bP-\d+\b`)

// whole finds a printed number that is no part of a longer one; its second group is the number.
func whole(printed string) *regexp.Regexp {
	return regexp.MustCompile(`(^|[^\d.,:])(` + regexp.QuoteMeta(printed) + `)(?:$|[^\w% .]| [^\d(]|\.$|\. )`)
}

var caseInPath = regexp.MustCompile(`[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f-]+|case-\d+\.json`)

// aboutCase is the case that a page or a command is about, empty when none.
func aboutCase(where string) string { return caseInPath.FindString(where) }
