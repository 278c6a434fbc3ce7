package stock

import (
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"lowtide/casebook"
)

var monday = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)

type story struct{ entries []casebook.Entry }

func (s *story) at(h int, author string, b casebook.Body) {
	t := monday.Add(time.Duration(h) * time.Hour)
	s.entries = append(s.entries, NewEntry(fmt.Sprintf("e%03d", len(s.entries)), t, author, b))
}

func count(s *Stock, item, place string) int {
	n := 0
	for _, l := range s.Lots {
		if l.Item == item && l.Place == place {
			n += l.Count
		}
	}
	return n
}

// TestFold: a delivery, a load into the car, two uses, a count, one more use after it.
func TestFold(t *testing.T) {
	var s story
	s.at(0, "st", Moved{Item: "kit", Count: 10, From: Outside, To: Shelf, Lot: "x1", Expires: "2027-01-31"})
	s.at(1, "ann", Moved{Item: "kit", Count: 4, From: Shelf, To: Car("ann"), Lot: "X1"})
	uses := []Use{
		{Case: "c1", Entry: "u1", Item: "kit", Lot: "X1", Count: 1, Place: Car("ann"), At: monday.Add(2 * time.Hour)},
		{Case: "c2", Entry: "u2", Item: "kit", Lot: "X1", Count: 2, Place: Shelf, At: monday.Add(3 * time.Hour)},
		{Case: "c2", Entry: "u3", Item: "kit", Lot: "X1", Count: -1, Place: Car("ann"), At: monday.Add(4 * time.Hour)},
		{Case: "c2", Entry: "u4", Item: "kit", Lot: "Y", Count: 3, At: monday.Add(5 * time.Hour)},
	}
	got := Fold(s.entries, uses)
	if a, b := count(got, "kit", Shelf), count(got, "kit", Car("ann")); a != 4 || b != 4 {
		t.Errorf("shelf %d, car %d; want 4, 4", a, b)
	}
	if got.Lots[0].Expires.Format(time.DateOnly) != "2027-01-31" {
		t.Errorf("%+v", got.Lots[0])
	}
	s.at(6, "st", Counted{Place: Shelf, Item: "kit", Lot: " x1", Count: 3})
	uses = append(uses, Use{Case: "c1", Entry: "u5", Item: "kit", Lot: "X1", Count: 1, Place: Shelf, At: monday.Add(7 * time.Hour)})
	got = Fold(s.entries, uses)
	if a := count(got, "kit", Shelf); a != 2 || !got.Counted.Equal(monday.Add(6*time.Hour)) {
		t.Errorf("after the count: %d", a)
	}
	s.at(8, "st", Moved{Item: "kit", Count: 9, From: Car("ann"), To: Outside, Lot: "X1"})
	if a := count(Fold(s.entries, uses), "kit", Car("ann")); a != -5 {
		t.Errorf("taken more than was there: %d, and nothing hides it", a)
	}
	given := Who(uses, "", "x1")
	if len(given) != 2 || given[0].Case != "c1" || given[0].Count != 2 || given[1].Count != 1 || len(given[1].Entries) != 2 {
		t.Errorf("%+v", given)
	}
	if len(Who(uses, "canister", "x1")) != 0 || len(Who(uses, "", "")) != 0 {
		t.Error("another item, or no lot, was found")
	}
}

// TestRecall: a recall names item and lot, is lifted by a later entry, and changes the head.
func TestRecall(t *testing.T) {
	var s story
	s.at(0, "st", Recalled{Item: "kit", Lot: "x1", By: "maker"})
	got := Fold(s.entries, nil)
	if _, ok := got.Recalled("kit", " X1 "); !ok || got.Head == "" {
		t.Error("not recalled")
	}
	if _, ok := got.Recalled("canister", "x1"); ok {
		t.Error("another item is recalled")
	}
	if _, ok := got.Recalled("kit", ""); ok {
		t.Error("stock without a lot is recalled")
	}
	s.at(1, "st", Recalled{Item: "kit", Lot: "X1", By: "maker", Lifted: true})
	if got := Fold(s.entries, nil); len(got.Recalls) != 0 || got.Head != "" {
		t.Error("lifted, and still there")
	}
}

// TestPacked: each person's bag of each day on its own; the newest word counts.
func TestPacked(t *testing.T) {
	var s story
	s.at(0, "ann", Packed{Day: "2026-03-02", Item: "kit"})
	s.at(1, "bob", Packed{Day: "2026-03-02", Item: "canister"})
	s.at(2, "bob", Packed{Day: "2026-03-02", Item: "canister", Out: true})
	got := Fold(s.entries, nil)
	if !got.Packed("ann", "2026-03-02", "kit") || got.Packed("bob", "2026-03-02", "kit") || got.Packed("ann", "2026-03-03", "kit") || got.Packed("bob", "2026-03-02", "canister") {
		t.Error("packed is wrong")
	}
}

// TestLawFoldIsASet: any order and any repetition folds to the same stock.
func TestLawFoldIsASet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		places := []string{Shelf, Outside, Car("ann"), Car("bob")}
		pick := rapid.SampledFrom(places)
		items, lots := rapid.SampledFrom([]string{"kit", "canister"}), rapid.SampledFrom([]string{"", "X1", "x2"})
		var s story
		var uses []Use
		for i := range rapid.IntRange(0, 12).Draw(t, "n") {
			h := rapid.IntRange(0, 5).Draw(t, "h")
			var b casebook.Body
			switch rapid.IntRange(0, 5).Draw(t, "what") {
			case 0:
				b = Moved{Item: items.Draw(t, "item"), Count: rapid.IntRange(1, 9).Draw(t, "count"), From: pick.Draw(t, "from"), To: pick.Draw(t, "to"), Lot: lots.Draw(t, "lot"), Expires: rapid.SampledFrom([]string{"", "2027-01-01", "2027-02-01"}).Draw(t, "expires")}
			case 1:
				b = Counted{Item: items.Draw(t, "item"), Count: rapid.IntRange(0, 9).Draw(t, "count"), Place: pick.Draw(t, "place"), Lot: lots.Draw(t, "lot")}
			case 2:
				b = Recalled{Item: items.Draw(t, "item"), Lot: lots.Draw(t, "lot"), Lifted: rapid.Bool().Draw(t, "lifted")}
			case 3:
				b = Planned{LeadDays: float64(h)}
			case 4:
				b = Packed{Day: "2026-03-02", Item: items.Draw(t, "item"), Out: rapid.Bool().Draw(t, "out")}
			default:
				uses = append(uses, Use{Case: "c", Entry: fmt.Sprint(i), Item: items.Draw(t, "item"), Lot: lots.Draw(t, "lot"), Count: rapid.IntRange(-3, 3).Draw(t, "count"), Place: Shelf, At: monday.Add(time.Duration(h) * time.Hour)})
				continue
			}
			s.at(h, "ann", b)
		}
		want := Fold(s.entries, uses)
		mixed := s.entries
		if len(mixed) > 0 {
			mixed = rapid.Permutation(append(append([]casebook.Entry(nil), s.entries...), s.entries[0])).Draw(t, "order")
		}
		if len(uses) > 0 {
			uses = rapid.Permutation(append(append([]Use(nil), uses...), uses[0])).Draw(t, "uses")
		}
		if got := Fold(mixed, uses); !reflect.DeepEqual(got, want) {
			t.Fatalf("another order folds to other stock\n%+v\n%+v", got, want)
		}
	})
}

// TestUsedAtVisits: what a visit used leaves the car of its author once, is found by its lot, and is not with the patient
// any more; a supply entry beside it is another piece.
func TestUsedAtVisits(t *testing.T) {
	var s story
	s.at(0, "st", Moved{Item: "kit", Count: 10, From: Outside, To: Car("ann"), Lot: "x1"})
	c := &casebook.Case{ID: "c1",
		Changes: []casebook.Dated[casebook.DressingChanged]{
			{ID: "v1", At: monday.Add(2 * time.Hour), Author: "ann", Body: casebook.DressingChanged{Used: []casebook.SupplyUsed{{Item: "Kit", Count: 2, From: "car", Lot: "X1"}, {Item: "can", Count: 1, From: "car", Lot: "C7"}}}},
			{ID: "v2", At: monday.Add(3 * time.Hour), Author: "ann", Body: casebook.DressingChanged{Used: []casebook.SupplyUsed{{Item: "kit", Count: 1, Lot: "x1"}}}}},
		Supplies: []casebook.Dated[casebook.SupplyMoved]{{ID: "s1", At: monday.Add(time.Hour), Author: "ann", Body: casebook.SupplyMoved{Item: "kit", Count: 3, From: "car", Lot: "x1"}}}}
	uses := UsesOf(c, func(item string) (string, bool) { return strings.ToLower(item), true })
	got := Fold(s.entries, append(uses, uses...)) // given twice, counted once
	if n := count(got, "kit", Car("ann")); n != 10-2-3 {
		t.Errorf("in the car: %d, want 5", n)
	}
	if n := count(got, "can", Car("ann")); n != -1 {
		t.Errorf("canisters: %d; taken and never loaded must show", n)
	}
	// 3 came, 1 of them was used where it lay, 2 were used from the car at once.
	given := Who(append(uses, uses...), "", "x1")
	if len(given) != 1 || given[0].Count != 2 || given[0].Used != 3 || !given[0].Last.Equal(monday.Add(3*time.Hour)) || len(given[0].Entries) != 3 {
		t.Errorf("%+v", given)
	}
	if len(Who(uses, "", "c7")) != 1 {
		t.Error("a canister's lot is not found from the visit")
	}
}
