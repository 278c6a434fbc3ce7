package planlaw_test

import (
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/caseload"
	"lowtide/demo"
	"lowtide/equipment"
	"lowtide/evidence/casegen"
	"lowtide/evidence/planlaw"
	"lowtide/report"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
	"lowtide/trouble"
	"lowtide/web"
	"lowtide/web/page"
)

// paperText is what the papers of a case print.
func paperText(in report.Input) string {
	var text strings.Builder
	for _, k := range report.Kinds {
		if report.Has(in.Review.State, k.Name) {
			if p, err := report.Of(in, k.Name, "", ""); err == nil {
				fmt.Fprintf(&text, "%+v\n", *p)
			}
		}
	}
	return text.String()
}

// reader is a browser in front of a server that holds one case.
type reader struct {
	t      *testing.T
	srv    *web.Server
	h      http.Handler
	cookie *http.Cookie
}

func newReader(t *testing.T, c casegen.Made, rules *rule.Set, now time.Time) *reader {
	book := casebook.Book{Store: memory.New()}
	// A store refuses a second content under one ID; the first one is kept.
	kept := map[string]bool{}
	c.Entries = slices.DeleteFunc(slices.Clone(c.Entries), func(e casebook.Entry) bool {
		twice := kept[e.ID]
		kept[e.ID] = true
		return twice
	})
	if _, err := book.Append(t.Context(), "", c.Entries...); err != nil {
		t.Fatal(err)
	}
	for _, content := range c.Blobs {
		if _, err := book.PutBlob(t.Context(), c.ID, content); err != nil {
			t.Fatal(err)
		}
	}
	eq := equipment.BuiltIn()
	r := &reader{t: t}
	r.srv = &web.Server{Caseload: caseload.New(book, rules, eq), Rules: rules, Equipment: eq, Now: func() time.Time { return now }, Random: rand.NewChaCha8([32]byte{1}), Author: "N. Test", Zone: time.UTC}
	r.h = r.srv.Handler()
	link, err := r.srv.NewLink()
	if err != nil {
		t.Fatal(err)
	}
	w := httptest.NewRecorder()
	r.h.ServeHTTP(w, httptest.NewRequest("GET", "http://127.0.0.1"+link, nil))
	r.cookie = w.Result().Cookies()[0]
	return r
}

func (r *reader) get(path string) (int, string) {
	req := httptest.NewRequest("GET", "http://127.0.0.1"+path, nil)
	req.AddCookie(r.cookie)
	w := httptest.NewRecorder()
	r.h.ServeHTTP(w, req)
	return w.Code, w.Body.String()
}

// paths are the pages on which something of the case stands: every route that is read, with every wound, call, paper and
// form of the case in it. The Rulebook's pages tell rules, not the case.
func (r *reader) paths(c *casebook.Case) []string {
	fill := map[string][]string{"{case}": {url.PathEscape(c.ID)}}
	for _, w := range c.Wounds {
		fill["{wound}"] = append(fill["{wound}"], url.PathEscape(w.Name))
	}
	for _, k := range c.Calls {
		fill["{call}"] = append(fill["{call}"], k.ID)
	}
	for i, l := range slices.Backward(c.Log) {
		if k := l.Entry.Kind; k == casebook.KindPhotoTaken || k == casebook.KindOutlineTraced || i > len(c.Log)-3 {
			fill["{entry}"] = append(fill["{entry}"], l.Entry.ID)
		}
	}
	var kinds, papers []string
	for _, k := range casebook.Kinds() {
		kinds = append(kinds, string(k))
	}
	for _, k := range report.Kinds {
		papers = append(papers, k.Name)
	}
	var out []string
	for _, route := range r.srv.Routes() {
		if route.Method != "GET" || strings.Contains(route.Path, "/rules") || strings.Contains(route.Path, "/hazards") || strings.Contains(route.Path, "/access") || strings.HasSuffix(route.Path, "/pdf") {
			continue
		}
		fill["{kind}"] = kinds
		if strings.Contains(route.Path, "/paper/") {
			fill["{kind}"] = papers
		}
		list := []string{strings.TrimSuffix(route.Path, "{$}")}
		for place, values := range fill {
			if !strings.Contains(route.Path, place) {
				continue
			}
			var next []string
			for _, p := range list {
				for _, v := range values {
					next = append(next, strings.Replace(p, place, v, 1))
				}
			}
			list = next
		}
		for _, p := range list {
			if !strings.Contains(p, "{") {
				out = append(out, p)
			}
		}
	}
	return out
}

// shard is the part of the seeds that this run takes: LOWTIDE_DEEP is how many (1 for 100,000), LOWTIDE_SHARD=3/16 takes
// each sixteenth from the third on.
func shard(t *testing.T, few int) (n, from, step int) {
	n, step = few, 1
	if deep, _ := strconv.Atoi(os.Getenv("LOWTIDE_DEEP")); deep > 0 {
		n = 100_000
		if deep > 1 {
			n = deep
		}
	}
	if s := os.Getenv("LOWTIDE_SHARD"); s != "" {
		if _, err := fmt.Sscanf(s, "%d/%d", &from, &step); err != nil || step < 1 {
			t.Fatalf("LOWTIDE_SHARD=%s: write it as 3/16", s)
		}
	}
	return n, from, step
}

// planPages are the pages on which a nurse reads what to do: Rounds, the case with its plan, and the call.
func planPages(c *casebook.Case) []string {
	return []string{"/", page.CasePath(c.ID), page.CallPath(c.ID, "law")}
}

// called adds a call in which no danger is told and nobody knows since when suction is off, so that the desk comes to
// what may be done at the pump.
func called(c casegen.Made, now time.Time) casegen.Made {
	call := casebook.CallTaken{Call: "law", Checks: []casebook.CallCheck{{Check: page.CallOffStep, Result: "said"}}}
	for _, d := range trouble.BuiltIn().Dangers {
		call.Answers = append(call.Answers, casebook.CallAnswer{Question: "danger:" + d.ID, Answer: trouble.No})
	}
	id := "ffffffff-0000-7000-8000-000000000001"
	c.Entries = append(slices.Clone(c.Entries), casebook.Entry{ID: id, Case: c.ID, Kind: call.Kind(), Version: casebook.Version(call.Kind()), At: now, Recorded: now, Author: "desk", Body: call})
	return c
}

// TestLawPlan: over generated cases no plan, page or paper asks for two acts that the table calls incompatible, no text of
// a finding tells what has to wait, every finding of level Act now has its act, and the order in which entries arrive
// changes nothing of it. make deep runs 100,000 of them, LOWTIDE_DEEP=5000 so many.
func TestLawPlan(t *testing.T) {
	n, from, step := shard(t, 300)
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	eq := equipment.BuiltIn()
	now := time.Date(2026, 3, 18, 9, 0, 0, 0, time.UTC)
	// Every case has its plan's own pages read; all papers and all pages cost too much for 100,000.
	count, broken, papers, all := map[string]int{}, 0, 10, 20
	if n > 10_000 {
		all = 50
	}
	for seed := from; seed < n; seed += step {
		make := casegen.Case
		if seed%5 == 4 {
			make = casegen.Hostile
		}
		made := make(uint64(seed), now)
		c := made.Fold(time.Time{})
		r := review.Of(state.Of(c, rules, eq, nil, now), rules)
		wrong := planlaw.Broken(r)
		acts := planlaw.Acts(r)
		if seed/step%papers == 0 {
			wrong = append(wrong, planlaw.Printed(acts, paperText(report.Input{Review: r, Rules: rules, Equipment: eq}))...)
			count["cases with their papers"]++
		}
		c = called(made, now).Fold(time.Time{})
		site := newReader(t, called(made, now), rules, now)
		_, shown, _, err := site.srv.Caseload.Case(t.Context(), c.ID, now)
		if err != nil {
			t.Fatal(err)
		}
		acts = planlaw.Acts(shown)
		paths := planPages(c)
		if seed/step%all == 0 {
			paths = site.paths(c)
			count["cases with all their pages"]++
		}
		for _, path := range paths {
			code, body := site.get(path)
			if code == http.StatusInternalServerError {
				wrong = append(wrong, path+": an error")
			}
			for _, w := range planlaw.Printed(acts, planlaw.PageText(body)) {
				wrong = append(wrong, path+": "+w)
			}
			if code == http.StatusOK {
				count["pages"]++
			}
		}
		if seed/step%20 == 1 {
			slices.Reverse(made.Entries)
			again := review.Of(state.Of(made.Fold(time.Time{}), rules, eq, nil, now), rules)
			if fmt.Sprint(again.Plan) != fmt.Sprint(r.Plan) {
				wrong = append(wrong, "another order of arrival gives another plan")
			}
			count["cases in another order"]++
		}
		for _, w := range wrong {
			t.Errorf("seed %d: %s", seed, w)
		}
		count["cases"]++
		count["wounds"] += len(c.Wounds)
		count["steps"] += len(r.Plan)
		for _, f := range r.Findings {
			count["findings"]++
			if f.Level == rule.ActNow {
				count["findings of level Act now"]++
			}
		}
		for _, s := range r.Plan {
			count["acts that wait"] += len(s.Waits)
		}
		if broken += len(wrong); broken > 40 {
			break
		}
	}
	t.Log(count)
	if count["acts that wait"] == 0 || count["findings of level Act now"] == 0 || count["pages"] == 0 || count["cases in another order"] == 0 {
		t.Error("the cases do not try the law")
	}
}

// TestLawPlanOfDemo holds the demonstration to the same law, with its papers and pages.
func TestLawPlanOfDemo(t *testing.T) {
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 3, 4, 9, 0, 0, 0, time.UTC)
	byCase := map[string][]casebook.Entry{}
	for _, e := range demo.Entries(now, 1) {
		byCase[e.Case] = append(byCase[e.Case], e)
	}
	blobs := demo.Blobs(now, 1)
	waits := 0
	for id, list := range byCase {
		c := casebook.Fold(id, list)
		c.Blob = func(hash string) ([]byte, error) { return blobs[hash], nil }
		r := review.Of(state.Of(c, rules, equipment.BuiltIn(), nil, now), rules)
		wrong := planlaw.Broken(r)
		wrong = append(wrong, planlaw.Printed(planlaw.Acts(r), paperText(report.Input{Review: r, Rules: rules, Equipment: equipment.BuiltIn()}))...)
		for _, w := range wrong {
			t.Errorf("%s: %s", r.Person.Name, w)
		}
		for _, s := range r.Plan {
			waits += len(s.Waits)
		}
	}
	if len(byCase) != 24 || waits == 0 {
		t.Errorf("%d cases, %d acts that wait", len(byCase), waits)
	}
}
