package web

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"maps"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/caseload"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/web/page"
)

// shownNow is a Wednesday morning in winter, so that Berlin is one hour ahead of UTC.
var shownNow = time.Date(2026, 1, 14, 9, 30, 0, 0, time.UTC)

// shownPack is a small pack of its own: pages must show any rule, and the built-in ones change.
var shownPack = fstest.MapFS{
	"source/own-2020-test.toml": {Data: []byte("id = \"own-2020-test\"\ntitle = \"An invented handbook\"\nby = \"Nobody\"\nyear = 2020\nkind = \"handbook\"\n")},
	"data/SGN-LEAK-01.toml": {Data: []byte(`id = "SGN-LEAK-01"
area = "Danger signs"
title = "Alarm not settled"
statement = "An alarm must be settled."
level = "Act now"
scope = "case"
when = 'alarm.open == "leak"'
applies = 'known(alarm.open)'
headline = "The alarm ({alarm.open}) of {alarm.open_at} is not settled."
do = "Press the edges of the drape first."
acts = ["look pump"]
clears = "The alarm is settled."
source = "own-2020-test"
locator = "p. 7"
sure = "P"
from = 2009-11-13
[[case]]
name = "open"
want = "yes"
facts = { "alarm.open" = "leak" }
[[case]]
name = "none"
want = "no"
facts = { "alarm.open" = "" }
`)},
	"data/CAN-WEEK-01.toml": {Data: []byte(`id = "CAN-WEEK-01"
area = "Canister"
title = "Canister changed weekly"
statement = "A canister is changed every {limit_h}."
level = "Today"
unknown_level = "Plan"
scope = "case"
applies = "therapy.open"
when = "since(canister.changed_at) > limit_h"
headline = "The canister has been in since {canister.changed_at}."
cannot_tell = "Cannot tell how long the canister has been in."
do = "Change the canister."
acts = ["look pump"]
due = "canister.changed_at + limit_h"
clears = "A canister change is recorded."
source = "own-2020-test"
locator = "p. 9"
sure = "P"
from = 2009-11-13
[[value]]
name = "limit_h"
value = 168.0
unit = "h"
words = "longest time with one canister"
[[case]]
name = "below"
want = "no"
facts = { "therapy.open" = true, "canister.changed_at" = -160.0 }
[[case]]
name = "above"
want = "yes"
facts = { "therapy.open" = true, "canister.changed_at" = -170.0 }
[[case]]
name = "never"
want = "cannot tell"
facts = { "therapy.open" = true }
`)},
}

func shownPtr[T any](v T) *T { return &v }

// shownEntry makes an entry that happened some hours before shownNow.
func shownEntry(caseID string, n int, hoursAgo float64, body casebook.Body) casebook.Entry {
	at := shownNow.Add(-time.Duration(hoursAgo * float64(time.Hour)))
	return casebook.Entry{ID: fmt.Sprintf("%s-%03d", caseID, n), Case: caseID, Kind: body.Kind(), Version: 1, At: at, Recorded: at, Author: "nurse one", Body: body}
}

// shownServer serves the entries, and returns a function that asks for a page with a session and gives its body.
// withValues adds the numbers that every review needs, with their sources.
func withValues(t testing.TB, pack fstest.MapFS) fstest.MapFS {
	t.Helper()
	out := maps.Clone(pack)
	var cited strings.Builder
	add := func(folder string, needed func(id string) bool) {
		names, _ := filepath.Glob("../rule/" + folder + "/*.toml")
		for _, name := range names {
			raw, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			if needed(strings.TrimSuffix(filepath.Base(name), ".toml")) {
				out[folder+"/"+filepath.Base(name)] = &fstest.MapFile{Data: raw}
				cited.Write(raw)
			}
		}
	}
	add("value", func(string) bool { return true })
	add("source", func(id string) bool { return strings.Contains(cited.String(), `"`+id+`"`) })
	return out
}

func shownServer(t testing.TB, entries ...casebook.Entry) (get func(path string) (int, string)) {
	t.Helper()
	rules, err := rule.Load(withValues(t, shownPack))
	if err != nil {
		t.Fatal(err)
	}
	book := casebook.Book{Store: memory.New()}
	heads := map[string]string{}
	for _, e := range entries {
		if heads[e.Case], err = book.Append(context.Background(), heads[e.Case], e); err != nil {
			t.Fatal(err)
		}
	}
	eq := equipment.BuiltIn()
	s := &Server{Caseload: caseload.New(book, rules, eq), Rules: rules, Equipment: eq, Now: func() time.Time { return shownNow },
		Random: io.Reader(rand.NewChaCha8([32]byte{1})), Author: "nurse one", Zone: time.UTC}
	h := s.Handler()
	link, err := s.NewLink()
	if err != nil {
		t.Fatal(err)
	}
	opened := httptest.NewRecorder()
	h.ServeHTTP(opened, httptest.NewRequest("GET", "http://127.0.0.1"+link, nil))
	cookies := opened.Result().Cookies()
	if len(cookies) != 1 {
		t.Fatalf("the link opened no session: %d", opened.Code)
	}
	return func(path string) (int, string) {
		r := httptest.NewRequest("GET", "http://127.0.0.1"+path, nil)
		r.AddCookie(cookies[0])
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w.Code, w.Body.String()
	}
}

// shownPerson is a case with a patient and an order, and a canister that went in some hours ago.
func shownPerson(id, name, nurse, place, zone string, canisterAgoH float64) []casebook.Entry {
	return []casebook.Entry{
		shownEntry(id, 0, 400, casebook.PersonRegistered{Name: name, Place: place, Address: "Lane 1", Nurse: nurse, Zone: zone}),
		shownEntry(id, 1, 400, casebook.WoundFound{Wound: "A", Site: "left heel", Type: "pressure"}),
		shownEntry(id, 2, 399, casebook.OrderWritten{Stages: []casebook.Stage{{SuctionMmHg: 125}}, Filler: "foam"}),
		shownEntry(id, 3, canisterAgoH, casebook.CanisterRead{VolumeML: shownPtr(100.0), Changed: shownPtr(true)}),
	}
}

func shownCaseload() []casebook.Entry {
	quiet := shownPerson("c1", "Quiet Invented", "Ann", "home", "UTC", 10)
	overdue := shownPerson("c2", "Overdue Invented", "Ann", "ward", "Europe/Berlin", 200)
	fresh := shownPerson("c3", "Slightly Overdue", "Bea", "home", "UTC", 169)
	alarm := append(shownPerson("c4", "Alarm Invented", "Bea", "nursing home", "UTC", 10), shownEntry("c4", 9, 1, casebook.AlarmReported{Alarm: "leak"}))
	planned := append(shownPerson("c5", "Planned Invented", "Ann", "home", "UTC", 10),
		shownEntry("c5", 9, 2, casebook.NoteWritten{Text: "told", NextVisit: shownPtr(shownNow.Add(24 * time.Hour))}))
	ended := append(shownPerson("c6", "Ended Invented", "Ann", "home", "UTC", 10), shownEntry("c6", 9, 2, casebook.TherapyEnded{Why: "goal met"}))
	var all []casebook.Entry
	for _, list := range [][]casebook.Entry{quiet, overdue, fresh, alarm, planned, ended} {
		all = append(all, list...)
	}
	return all
}

var shownName = regexp.MustCompile(`<h3><a href="[^"]*"><bdi>([^<]*)</bdi>`)

func shownNames(body string) string {
	var out []string
	for _, m := range shownName.FindAllStringSubmatch(body, -1) {
		out = append(out, strings.Fields(m[1])[0])
	}
	return strings.Join(out, " ")
}

func TestRoundsOrderAndFilters(t *testing.T) {
	get := shownServer(t, shownCaseload()...)
	for _, x := range []struct{ path, want string }{
		{"/", "Alarm Overdue Slightly Planned Quiet"},
		{"/?nurse=Ann", "Overdue Planned Quiet"},
		{"/?nurse=bea", "Alarm Slightly"},
		{"/?place=home", "Slightly Planned Quiet"},
		{"/?level=Today", "Overdue Slightly"},
		{"/?level=Act+now&nurse=Ann", ""},
		{"/?when=overdue", "Overdue Slightly"},
		{"/?when=today", "Alarm"},
		{"/?when=tomorrow", "Planned"},
		{"/?when=after", ""},
		{"/?when=3days", "Overdue Slightly Alarm Planned"},
		{"/?ended=1", "Ended"},
		{"/?level=nonsense&when=nonsense&page=99", "Alarm Overdue Slightly Planned Quiet"},
	} {
		code, body := get(x.path)
		if got := shownNames(body); code != http.StatusOK || got != x.want {
			t.Errorf("%s: %d, %q, want %q", x.path, code, got, x.want)
		}
	}
	_, body := get("/")
	// The canister of Overdue has been in for 200 h, 168 h are allowed: overdue for 32 h, in Berlin since 02:30.
	for _, want := range []string{"Act now (1)", "Today (2)", "No rule asks (2)", "Overdue since yesterday 02:30", "The alarm (leak) of", "1 ended case"} {
		if !strings.Contains(body, want) {
			t.Errorf("Rounds does not say %q", want)
		}
	}
	if !strings.Contains(body, "Overdue since 08:30") {
		t.Error("a canister due one hour ago is not said to be overdue since then")
	}
}

// A case that was ended with something pressing stays in sight.
func TestRoundsKeepsPressingEndedCases(t *testing.T) {
	entries := append(shownPerson("c1", "Pressing Invented", "Ann", "home", "UTC", 10),
		shownEntry("c1", 8, 2, casebook.AlarmReported{Alarm: "leak"}), shownEntry("c1", 9, 1, casebook.TherapyEnded{Why: "pain"}))
	_, body := shownServer(t, entries...)("/")
	if shownNames(body) != "Pressing" {
		t.Error("an ended case with an Act now finding is hidden")
	}
}

func TestRoundsPagesAndSize(t *testing.T) {
	var entries []casebook.Entry
	for i := range 120 {
		name := fmt.Sprintf("Number%03d %s", i, strings.Repeat("long name ", 9))
		entries = append(entries, shownPerson(fmt.Sprintf("c%03d", i), name, "Ann", "home", "UTC", 200)...)
		entries = append(entries, shownEntry(fmt.Sprintf("c%03d", i), 9, 1, casebook.AlarmReported{Alarm: "leak"}))
	}
	get := shownServer(t, entries...)
	seen := map[string]int{}
	for n := 1; n <= 3; n++ {
		_, body := get(fmt.Sprintf("/?page=%d", n))
		if len(body) > 100_000 {
			t.Errorf("page %d has %d bytes", n, len(body))
		}
		for _, m := range strings.Fields(shownNames(body)) {
			seen[m]++
		}
		if !strings.Contains(body, fmt.Sprintf("Page %d of 3", n)) {
			t.Errorf("page %d does not say where it is", n)
		}
	}
	if len(seen) != 120 {
		t.Errorf("%d of 120 patients on three pages", len(seen))
	}
}

func TestCaseShowsFindingsInFull(t *testing.T) {
	get := shownServer(t, shownCaseload()...)
	code, body := get("/case/c2")
	if code != http.StatusOK {
		t.Fatal(code)
	}
	for _, want := range []string{
		"The canister has been in since Tue 6 Jan 02:30.", `href="?part=why#f-CAN-WEEK-01-`, "125 mmHg, continuous", "left heel", "<svg", `href="/case/c2/visit"`,
		`href="/case/c2/add/canister.read"`, `href="/case/c2/sign"`, "does not replace clinical judgement",
	} {
		if !strings.Contains(body, want) {
			t.Errorf("the case page does not say %q", want)
		}
	}
	_, why := get("/case/c2?part=why")
	for _, want := range []string{
		"The canister has been in since Tue 6 Jan 02:30.", "Change the canister.", "overdue since yesterday 02:30", `id="f-CAN-WEEK-01-`,
		"A canister change is recorded.", "An invented handbook (2020), p. 9", `href="/rules/CAN-WEEK-01"`,
		`href="/case/c2/log?entry=c2-003#e-c2-003"`, "does not replace clinical judgement",
	} {
		if !strings.Contains(why, want) {
			t.Errorf("the page behind the case does not say %q", want)
		}
	}
	if code, _ := get("/case/none"); code != http.StatusNotFound {
		t.Errorf("a case that is not there: %d", code)
	}
}

func TestLogShowsBothVersions(t *testing.T) {
	entries := shownPerson("c1", "Corrected Invented", "Ann", "home", "UTC", 10)
	fix := shownEntry("c1", 20, 1, casebook.EntryCorrected{Action: "replace", Body: []byte(`{"volume_mL":290,"changed":true}`)})
	fix.Corrects, fix.Reason, fix.Author = "c1-003", "read the wrong line", "nurse two"
	gone := shownEntry("c1", 21, 5, casebook.NoteWritten{Text: "belongs elsewhere"})
	out := shownEntry("c1", 22, 1, casebook.EntryCorrected{Action: "moved out", OtherCase: "c9"})
	out.Corrects, out.Reason = gone.ID, "wrong patient"
	late := shownEntry("c1", 23, 30, casebook.NoteWritten{Text: "written late"})
	late.Recorded = shownNow.Add(-time.Hour)
	strange := shownEntry("c1", 24, 3, casebook.Unknown{Of: "leech.applied", Raw: []byte(`{"leeches":3}`)})
	get := shownServer(t, append(entries, fix, gone, out, late, strange)...)
	_, body := get("/case/c1/log")
	for _, want := range []string{
		"290 mL", "100 mL", "Now reads", "Written at first", "read the wrong line", "nurse two", "replaced",
		"moved out to another patient", "belongs elsewhere", "wrong patient", "c9",
		"written Wed 14 Jan 08:30", "leech.applied", "leeches", "Not known to this program",
		`id="e-c1-003"`, `href="/case/c1/correct/c1-003"`,
	} {
		if !strings.Contains(body, want) {
			t.Errorf("the log does not say %q", want)
		}
	}
	if strings.Index(body, "e-c1-020") > strings.Index(body, "e-c1-000") {
		t.Error("the newest entry is not first")
	}
	_, body = get("/case/c1/log?kind=note.written")
	if strings.Contains(body, "left heel") || !strings.Contains(body, "written late") {
		t.Error("the filter by kind does not hold")
	}
}

// A link to an entry must land on the page that holds it.
func TestLogFindsThePageOfAnEntry(t *testing.T) {
	entries := shownPerson("c1", "Long Invented", "Ann", "home", "UTC", 10)
	for i := range 150 {
		entries = append(entries, shownEntry("c1", 100+i, float64(300-i), casebook.NoteWritten{Text: fmt.Sprint("note ", i)}))
	}
	get := shownServer(t, entries...)
	for _, id := range []string{"c1-000", "c1-100", "c1-249"} {
		_, body := get("/case/c1/log?entry=" + id)
		if !strings.Contains(body, `id="e-`+id+`"`) {
			t.Errorf("%s is not on its page", id)
		}
		if len(body) > 100_000 {
			t.Errorf("%d bytes", len(body))
		}
	}
}

func TestHostileNamesAreHarmless(t *testing.T) {
	for _, name := range []string{
		`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, "מרים \u202eabc", "שלום עולם", "👩🏽‍⚕️ Emoji", strings.Repeat("Overlongname", 10), "javascript:alert(1)",
	} {
		id := "c/1 ?#" + url.PathEscape(name)[:5]
		entries := []casebook.Entry{
			shownEntry(id, 0, 400, casebook.PersonRegistered{Name: name, Place: "home", Address: name, Nurse: name, Zone: "UTC", Team: name,
				Contacts: []casebook.Contact{{Role: "carer", Name: name, Phone: name}}}),
			shownEntry(id, 1, 399, casebook.WoundFound{Wound: "A", Site: name, Type: "pressure", Clock: name}),
			shownEntry(id, 2, 398, casebook.WoundMeasured{Wound: name, LengthCm: shownPtr(3.0), WidthCm: shownPtr(2.0), Method: "ruler", Note: name}),
			shownEntry(id, 4, 390, casebook.WoundMeasured{Wound: name, LengthCm: shownPtr(2.0), WidthCm: shownPtr(2.0), Method: "ruler", Note: name}),
			shownEntry(id, 3, 1, casebook.AlarmReported{Alarm: "leak", Note: name, ReportedBy: name}),
		}
		get := shownServer(t, entries...)
		base := "/case/" + url.PathEscape(id)
		for _, path := range []string{"/", base, base + "/log", "/?nurse=" + url.QueryEscape(name)} {
			code, body := get(path)
			if code != http.StatusOK {
				t.Errorf("%s: %d", path, code)
			}
			for _, bad := range []string{"<script>", "<img", "href=\"javascript", "style=\""} {
				if strings.Contains(body, bad) {
					t.Errorf("%s holds %s", path, bad)
				}
			}
		}
	}
}

func TestRulebook(t *testing.T) {
	get := shownServer(t)
	_, body := get("/rules")
	for _, want := range []string{"Danger signs", "Canister changed weekly", "A canister is changed every 7 days", "An invented handbook", "2 of 2 rules"} {
		if !strings.Contains(body, want) {
			t.Errorf("the rulebook does not say %q", want)
		}
	}
	if _, body = get("/rules?area=Canister"); strings.Contains(body, "An alarm must be settled") {
		t.Error("the filter by area does not hold")
	}
	if _, body = get("/rules?words=ALARM"); !strings.Contains(body, "1 of 2 rules") {
		t.Error("the search does not hold")
	}
	_, body = get("/rules/CAN-WEEK-01")
	for _, want := range []string{"since(canister.changed_at) &gt; limit_h", "longest time with one canister", "170 h ago", "cannot tell", "p. 9"} {
		if !strings.Contains(body, want) {
			t.Errorf("the rule page does not say %q", want)
		}
	}
	if code, _ := get("/rules/NO-SUCH-01"); code != http.StatusNotFound {
		t.Error("a rule that is not there is found")
	}
	if code, body := get("/about"); code != http.StatusOK || !strings.Contains(body, review.Version) || !strings.Contains(body, "portable pump") {
		t.Error("About does not say what it runs with")
	}
}

// Every page of the built-in rules keeps within the budget.
func TestBuiltinRulebookSize(t *testing.T) {
	set, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := page.Rules(page.NewRules(page.Frame{Title: "Rulebook"}, set, page.RulesFilter{})).Render(context.Background(), &b); err != nil {
		t.Fatal(err)
	}
	if b.Len() > 100_000 {
		t.Errorf("the rulebook has %d bytes", b.Len())
	}
	b.Reset()
	if err := page.Sources(page.NewRules(page.Frame{Title: "Sources"}, set, page.RulesFilter{})).Render(context.Background(), &b); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(b.String(), `class="source"`); b.Len() > 100_000 || n != len(set.Sources()) {
		t.Errorf("the sources have %d bytes and %d of %d", b.Len(), n, len(set.Sources()))
	}
}
