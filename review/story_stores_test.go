package review_test

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/caseload"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
	"lowtide/stock"
)

// storeStory is a story of the Stores page: the tidy case and the register's entries, the finding, what is done about
// it, and the stock after that. Times are in hours from noon.
type storeStory struct {
	rule  string
	level rule.Level
	state rule.State
	says  []string
	tell  []storeStep
	act   []storeStep
	// used are entries of the case.
	used, usedAfter []step
	// inCase looks at the findings of the case instead of those of the stock.
	inCase bool
}

type storeStep struct {
	atH  float64
	body casebook.Body
}

func (s storeStory) want() rule.State {
	if s.state == "" {
		return rule.Yes
	}
	return s.state
}

const kit = "foam kit 1"

func delivered(n int, lot, expires string) stock.Moved {
	return stock.Moved{Item: kit, Count: n, From: stock.Outside, To: stock.Shelf, Lot: lot, Expires: expires}
}

func gone(n int, lot string) stock.Moved {
	return stock.Moved{Item: kit, Count: n, From: stock.Shelf, To: stock.Outside, Lot: lot, Note: "thrown away"}
}

var plan = stock.Planned{LeadDays: 3, LeadSDDays: 1, ServicePct: 95}

// The tidy case takes one small foam kit about every 60 h: about three in a week.
var storeStories = []storeStory{
	{rule: "STO-NEED-01", level: rule.Today, tell: []storeStep{{-50, plan}, {-49, delivered(1, "K1", "2027-09-30")}}, says: []string{"foam kit, small", "1 left", "four times in five"}, act: []storeStep{{1, delivered(30, "K2", "2027-10-31")}}},
	{rule: "STO-NEED-01", level: rule.Plan, state: rule.CannotTell, tell: []storeStep{{-49, delivered(8, "K1", "2027-09-30")}}, says: []string{"8 left", "not set"}, act: []storeStep{{1, plan}}},
	{rule: "STO-EXPIRED-01", level: rule.Today, tell: []storeStep{{-50, plan}, {-49, delivered(30, "K1", "2027-09-30")}, {-48, delivered(2, "K0", "2026-03-04")}}, says: []string{"2 of foam kit, small", "lot K0", "shelf"}, act: []storeStep{{1, gone(2, "K0")}}},
	{rule: "STO-EXPIRY-01", level: rule.Plan, tell: []storeStep{{-50, plan}, {-49, delivered(30, "K1", "2026-03-25")}}, says: []string{"30 of foam kit, small", "lot K1", "Wed 25 Mar 2026"}, act: []storeStep{{1, gone(29, "K1")}}},
	{rule: "STO-COUNT-01", level: rule.Plan, tell: []storeStep{{-50, plan}}, used: []step{at(-24, casebook.SupplyMoved{Item: kit, Count: 1, Lot: "K9", From: "shelf"})}, says: []string{"lot K9", "-1"}, act: []storeStep{{1, stock.Counted{Place: stock.Shelf, Item: kit, Lot: "K9", Count: 0}}}},
	{rule: "STO-RECALL-02", level: rule.Today, tell: []storeStep{{-49, delivered(9, "K1", "2027-09-30")}, {-1, stock.Recalled{Item: kit, Lot: "K1", By: "the maker", Note: "send back"}}}, used: []step{at(-24, casebook.SupplyMoved{Item: "foam kit, small (60 cm²)", Count: 1, Lot: "k1", From: "shelf"})},
		says: []string{"8 of foam kit, small", "lot K1", "the maker", "send back", "Patients who got it: 1"}, act: []storeStep{{1, gone(8, "K1")}}},
	{rule: "STO-RECALL-01", level: rule.Today, inCase: true, tell: []storeStep{{-1, stock.Recalled{Item: kit, Lot: "K1", By: "the maker"}}}, used: []step{at(-24, casebook.SupplyMoved{Item: kit, Count: 2, Lot: "K1", From: "car"})},
		says: []string{"lot K1", "the maker"}, usedAfter: []step{at(1, casebook.SupplyMoved{Item: kit, Count: -2, Lot: "K1", From: "car", Note: "one taken out, one taken back"}), at(1.5, change(nil))}},
}

// load keeps the tidy case and the register in a store.
func load(t testing.TB, used []step, register []storeStep) *caseload.Caseload {
	t.Helper()
	book := casebook.Book{Store: memory.New()}
	if _, err := book.Append(t.Context(), "", entries(join(tidy(), used)...)...); err != nil {
		t.Fatal(err)
	}
	keepStock(t, book, register, 0)
	return caseload.New(book, builtin(t), equipment.BuiltIn())
}

func keepStock(t testing.TB, book casebook.Book, list []storeStep, from int) {
	t.Helper()
	r := casebook.Register{Book: book, ID: stock.Register}
	_, head, err := r.Entries(t.Context())
	for i, s := range list {
		if err == nil {
			head, err = r.Append(t.Context(), head, stock.NewEntry(fmt.Sprintf("s%03d", from+i), noonPlus(s.atH), "S. Amani", s.body))
		}
	}
	if err != nil {
		t.Fatal(err)
	}
}

// storeFinding looks for the finding of the story.
func storeFinding(t testing.TB, l *caseload.Caseload, s storeStory, at time.Time) *review.Finding {
	t.Helper()
	var list []review.Finding
	if s.inCase {
		_, r, _, err := l.Case(context.Background(), "tidy", at)
		if err != nil {
			t.Fatal(err)
		}
		list = r.Findings
	} else {
		st, err := l.Stores(context.Background(), at, time.UTC)
		if err != nil {
			t.Fatal(err)
		}
		list = st.Findings
	}
	for i := range list {
		if f := &list[i]; f.Rule == s.rule && strings.Contains(f.Headline, "foam kit") {
			return f
		}
	}
	return nil
}

// TestStoreStories: every story's finding shows with its numbers, is gone after its advice was followed, and would still
// be there if nobody had followed it.
func TestStoreStories(t *testing.T) {
	for _, s := range storeStories {
		t.Run(s.rule+"/"+string(s.want()), func(t *testing.T) {
			l := load(t, s.used, s.tell)
			f := storeFinding(t, l, s, noon)
			if f == nil {
				t.Fatal("does not show")
			}
			if f.Level != s.level || f.State != s.want() || f.Do == "" || f.Clears == "" {
				t.Errorf("%+v", f)
			}
			for _, part := range s.says {
				if !strings.Contains(f.Headline, part) {
					t.Errorf("headline %q does not say %q", f.Headline, part)
				}
			}
			after := noonPlus(2)
			if storeFinding(t, l, s, after) == nil {
				t.Error("goes away by itself")
			}
			acted := load(t, join(s.used, s.usedAfter), append(append([]storeStep(nil), s.tell...), s.act...))
			if f := storeFinding(t, acted, s, after); f != nil {
				t.Errorf("still shows: %s", f.Headline)
			}
		})
	}
}

// TestRecallReachesRounds: a recall that arrives after the case was reviewed shows on Rounds at once, and only for those
// who got the lot.
func TestRecallReachesRounds(t *testing.T) {
	l := load(t, []step{at(-24, casebook.SupplyMoved{Item: kit, Count: 1, Lot: "K1"})}, nil)
	has := func() bool {
		rows, _, err := l.Rows(t.Context(), noon)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range rows[0].Findings {
			if f.Rule == "STO-RECALL-01" {
				return true
			}
		}
		return false
	}
	if has() {
		t.Fatal("recalled before anybody recalled it")
	}
	keepStock(t, l.Book, []storeStep{{-1, stock.Recalled{Lot: "other", By: "x"}}}, 0)
	if has() {
		t.Fatal("another lot was recalled")
	}
	keepStock(t, l.Book, []storeStep{{-0.5, stock.Recalled{Lot: "k1", By: "x"}}}, 1)
	if !has() {
		t.Fatal("does not show")
	}
	keepStock(t, l.Book, []storeStep{{-0.4, stock.Recalled{Lot: "K1", By: "x", Lifted: true}}}, 2)
	if has() {
		t.Fatal("lifted, and still there")
	}
	given, _, err := l.Who(t.Context(), "", "k1", noon)
	if err != nil || len(given) != 1 || given[0].Case != "tidy" {
		t.Errorf("%+v, %v", given, err)
	}
}

// TestBag: what one visit takes, worked by hand: 19.7 cm², 2.2 cm deep is one small kit; the canister went in 24 h before
// noon and 190 mL came in 49 h (93 mL a day), so by the visit at 30 h and the 60 h after it, it would hold about 350 of
// 270 mL: one canister; and the spares.
func TestBag(t *testing.T) {
	c := caseOf(tidy()...)
	n := state.NeedsOf(c, equipment.BuiltIn(), inForce(t), state.FluidsOf(c, equipment.BuiltIn(), inForce(t), noon))
	lines, cannot := n.Bag(n.Next)
	got := map[string]int{}
	for _, x := range lines {
		got[x.Item] += x.Count
	}
	if len(cannot) > 0 || got[kit] != 1 || got["canister 300"] != 1 || got["drape"] != 1 || got["moist dressing"] != 1 {
		t.Errorf("%v, cannot tell %v", got, cannot)
	}
	uses, _ := n.Use(noon, noonPlus(24*14))
	for _, u := range uses {
		// From 30 h every 60 h up to 336 h: 6 planned changes, and about half a change more.
		if u.Item == kit && (u.Low != 6 || u.Median != 6 || u.High < 7 || u.High > 8) {
			t.Errorf("%+v", u)
		}
	}
	if len(uses) != 2 {
		t.Errorf("%+v", uses)
	}
}

// TestNeedsSayWhatIsMissing: without size, filler, canister or output nothing is guessed.
func TestNeedsSayWhatIsMissing(t *testing.T) {
	without := func(kinds ...casebook.Kind) ([]state.ItemUse, []string) {
		c := caseOf(story{without: kinds}.base()...)
		n := state.NeedsOf(c, equipment.BuiltIn(), inForce(t), state.FluidsOf(c, equipment.BuiltIn(), inForce(t), noon))
		return n.Use(noon, noonPlus(24*14))
	}
	if uses, cannot := without(casebook.KindWoundMeasured); len(uses) != 1 || len(cannot) != 1 || !strings.Contains(cannot[0], "no size") {
		t.Errorf("without a size: %+v, %v", uses, cannot)
	}
	if _, cannot := without(casebook.KindPumpAssigned); len(cannot) != 1 || !strings.Contains(cannot[0], "canister") {
		t.Errorf("without a canister: %v", cannot)
	}
	if uses, cannot := without(casebook.KindOrderWritten, casebook.KindPumpAssigned, casebook.KindDressingChanged); len(uses) != 0 || len(cannot) != 0 {
		t.Errorf("not started: %+v, %v", uses, cannot)
	}
	c := caseOf(join(tidy(), []step{at(-1, casebook.TherapyEnded{Why: "goal met"})})...)
	if n := state.NeedsOf(c, equipment.BuiltIn(), inForce(t), nil); n.Why == "" {
		t.Error("an ended therapy has needs")
	}
}
