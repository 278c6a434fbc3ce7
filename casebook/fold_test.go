package casebook

import (
	"encoding/json"
	"fmt"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"
)

var monday = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)

// story builds entries an hour apart.
type story struct {
	entries []Entry
	n       int
}

func (s *story) add(b Body) string { return s.at(monday.Add(time.Duration(s.n)*time.Hour), b) }

func (s *story) at(t time.Time, b Body) string {
	s.n++
	id := fmt.Sprintf("e%03d", s.n)
	s.entries = append(s.entries, Entry{ID: id, Case: "c", Kind: b.Kind(), Version: 1, At: t, Recorded: t, Author: "ann", Body: b})
	return id
}

func (s *story) correct(target string, b EntryCorrected) string {
	id := s.add(b)
	s.entries[len(s.entries)-1].Corrects = target
	s.entries[len(s.entries)-1].Reason = "slip"
	return id
}

func (s *story) fold() *Case { return Fold("c", s.entries) }

func change(out, in int) DressingChanged {
	w := WoundChange{Wound: "A", In: []Pieces{{"foam", in}}}
	if out > 0 {
		w.Out = []Pieces{{"foam", out}}
	} else {
		w.NoneOut = true
	}
	return DressingChanged{Wounds: []WoundChange{w}}
}

// TestLawFoldIsASet: any order and any repetition of a set of entries folds to the same case.
func TestLawFoldIsASet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		entries := anyEntries(t)
		want := Fold("c", entries)
		mixed := rapid.Permutation(append(append([]Entry(nil), entries...), rapid.SliceOfN(rapid.SampledFrom(entries), 0, 8).Draw(t, "again")...)).Draw(t, "order")
		got := Fold("c", mixed)
		if !reflect.DeepEqual(got, want) {
			t.Fatalf("another order folds to another case\n%+v\n%+v", got, want)
		}
	})
}

// TestLawPartialSetsMerge: folding a part, then everything, agrees with everything; a part never invents lines.
func TestLawPartialSetsMerge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		entries := anyEntries(t)
		k := rapid.IntRange(0, len(entries)).Draw(t, "k")
		part := Fold("c", entries[:k])
		if len(part.Log) > k {
			t.Fatalf("%d entries made %d lines", k, len(part.Log))
		}
		if got := Fold("c", append(append([]Entry(nil), entries[k:]...), entries[:k]...)); !reflect.DeepEqual(got, Fold("c", entries)) {
			t.Fatal("merging two parts in the other order gives another case")
		}
	})
}

// TestLawEntryRoundTrip: canonical bytes decode to the same entry and encode to the same bytes.
func TestLawEntryRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		for _, e := range anyEntries(t) {
			raw, err := json.Marshal(e)
			if err != nil {
				t.Fatal(err)
			}
			var back Entry
			if err := json.Unmarshal(raw, &back); err != nil {
				t.Fatal(err)
			}
			again, _ := json.Marshal(back)
			if string(again) != string(raw) {
				t.Fatalf("\n%s\n%s", raw, again)
			}
		}
	})
}

// anyEntries draws a set of entries with counts, corrections (also of corrections, of absent entries and in
// rings), unknown kinds, equal times and conflicting contents.
func anyEntries(t *rapid.T) []Entry {
	n := rapid.IntRange(1, 12).Draw(t, "n")
	var out []Entry
	for i := range n {
		id := fmt.Sprintf("e%d", i)
		at := monday.Add(time.Duration(rapid.IntRange(0, 6).Draw(t, "h")) * time.Hour)
		e := Entry{ID: id, Case: "c", Version: 1, At: at, Recorded: at.Add(time.Duration(rapid.IntRange(0, 3).Draw(t, "late")) * time.Minute), Author: "ann"}
		switch rapid.IntRange(0, 9).Draw(t, "kind") {
		case 0:
			e.Body = WoundFound{Wound: rapid.SampledFrom([]string{"A", "B"}).Draw(t, "w"), Site: "heel", Type: "pressure"}
		case 1, 2:
			e.Body = change(rapid.IntRange(0, 3).Draw(t, "out"), rapid.IntRange(1, 3).Draw(t, "in"))
		case 3:
			e.Body = PiecesAccounted{Wound: "A", Filler: "foam", Count: 1, Outcome: rapid.SampledFrom([]string{"found and removed", "imaging shows none", "surgeon rules it out", "surgeon told", "count was wrong"}).Draw(t, "o"), Note: "x"}
		case 4:
			e.Body = OrderWritten{Prescriber: fmt.Sprint("dr ", i)}
		case 5:
			e.Body = Unknown{Of: "moon.seen", Raw: json.RawMessage(`{"phase":3}`)}
		case 6:
			e.Body = TherapyEnded{Why: "goal met"}
		case 7:
			e.Body = PhotoTaken{Wound: "A", WidthPx: 10, HeightPx: 10}
			e.Blobs = []string{"hash-" + id}
		case 8:
			o := square(fmt.Sprintf("e%d", rapid.IntRange(0, n).Draw(t, "photo")), 4)
			if k := rapid.IntRange(-n, n).Draw(t, "adds"); k >= 0 {
				o.AddsTo = fmt.Sprintf("e%d", k)
			}
			e.Body = o
		default:
			raw, _ := json.Marshal(change(1, 1))
			e.Body = EntryCorrected{Action: rapid.SampledFrom([]string{"withdraw", "replace", "moved out"}).Draw(t, "a"), Body: raw}
			e.Corrects = fmt.Sprintf("e%d", rapid.IntRange(0, n).Draw(t, "target"))
			e.Reason = "slip"
		}
		e.Kind = e.Body.Kind()
		out = append(out, e)
		if rapid.IntRange(0, 9).Draw(t, "conflict") == 0 {
			e.Author = "bob"
			out = append(out, e)
		}
	}
	return out
}

func TestCorrection(t *testing.T) {
	var s story
	s.add(WoundFound{Wound: "A", Site: "heel", Type: "pressure"})
	first := s.add(change(0, 2))
	t.Run("replace", func(t *testing.T) {
		s := s
		raw, _ := json.Marshal(change(0, 3))
		s.correct(first, EntryCorrected{Action: "replace", Body: raw})
		c := s.fold()
		if got := c.Wounds[0].Count.InPlace["foam"]; got != 3 {
			t.Errorf("in place %d, want the corrected 3", got)
		}
		l := c.Line(first)
		if l.State != Replaced || len(l.By) != 1 || l.Entry.Body.(DressingChanged).Wounds[0].In[0].Count != 2 {
			t.Errorf("the log must keep what was written first: %+v", l)
		}
	})
	t.Run("withdraw and undo", func(t *testing.T) {
		s := s
		w := s.correct(first, EntryCorrected{Action: "withdraw"})
		if c := s.fold(); len(c.Changes) != 0 || c.Line(first).State != Withdrawn {
			t.Errorf("withdrawn change still counts: %+v", c.Line(first))
		}
		s.correct(w, EntryCorrected{Action: "withdraw"})
		if c := s.fold(); len(c.Changes) != 1 || c.Line(first).State != InForce {
			t.Errorf("undo did not bring the change back: %+v", c.Line(first))
		}
	})
	t.Run("belongs to another patient", func(t *testing.T) {
		s := s
		s.correct(first, EntryCorrected{Action: "moved out", OtherCase: "d"})
		original := s.entries[1]
		other := Fold("d", []Entry{{ID: "m1", Case: "d", Kind: KindEntryCorrected, Version: 1, At: monday.Add(9 * time.Hour), Recorded: monday.Add(9 * time.Hour), Author: "ann",
			Body: EntryCorrected{Action: "moved in", OtherCase: "c", Original: &original}, Corrects: first, Reason: "wrong patient"}})
		if len(other.Changes) != 1 || !other.Changes[0].At.Equal(original.At) || other.Log[0].State != MovedIn {
			t.Errorf("the moved change does not count there: %+v", other.Log)
		}
		if here := s.fold(); len(here.Changes) != 0 || here.Line(first).State != MovedOut || here.Line(first).Entry.Body == nil {
			t.Errorf("here it must be withdrawn and visible: %+v", here.Line(first))
		}
	})
	t.Run("ring of forged corrections", func(t *testing.T) {
		s := s
		s.correct("e004", EntryCorrected{Action: "withdraw"})
		s.correct("e003", EntryCorrected{Action: "withdraw"})
		s.fold()
	})
}

// TestCount walks through the ways in which a filler count can go.
func TestCount(t *testing.T) {
	found := WoundFound{Wound: "A", Site: "heel", Type: "pressure"}
	account := func(n int, outcome string) PiecesAccounted {
		return PiecesAccounted{Wound: "A", Filler: "foam", Count: n, Outcome: outcome, Note: "x-ray of 3 March"}
	}
	uncounted := DressingChanged{Wounds: []WoundChange{{Wound: "A", In: []Pieces{{"foam", 1}}}}}
	for _, tc := range []struct {
		name                             string
		bodies                           []Body
		inPlace, missing, surplus, doubt int
	}{
		{"first filling", []Body{found, change(0, 2)}, 2, 0, 0, 0},
		{"all out", []Body{found, change(0, 2), change(2, 1)}, 1, 0, 0, 0},
		{"one stays in", []Body{found, change(0, 2), change(1, 2)}, 2, 1, 0, 0},
		{"none came out", []Body{found, change(0, 2), change(0, 1)}, 1, 2, 0, 0},
		{"missing is not netted off by a later surplus", []Body{found, change(0, 2), change(1, 1), change(2, 1)}, 1, 1, 1, 0},
		{"found later: both sides close", []Body{found, change(0, 2), change(1, 1), change(2, 1), account(1, "found and removed")}, 1, 0, 0, 0},
		{"imaging closes", []Body{found, change(0, 2), change(1, 1), account(1, "imaging shows none")}, 1, 0, 0, 0},
		{"two missing, one accounted", []Body{found, change(0, 3), change(1, 1), account(1, "surgeon rules it out")}, 1, 1, 0, 0},
		{"telling a surgeon closes nothing", []Body{found, change(0, 3), change(2, 1), account(1, "surgeon told")}, 1, 1, 0, 0},
		{"a wrong count does not find a missing piece", []Body{found, change(0, 3), change(2, 1), account(1, "count was wrong")}, 1, 1, 0, 0},
		{"a wrong count does not count what was not counted", []Body{found, change(0, 1), uncounted, account(1, "count was wrong")}, 1, 0, 0, 1},
		{"a surgeon rules out what was not counted", []Body{found, change(0, 1), uncounted, account(1, "surgeon rules it out")}, 1, 0, 0, 0},
		{"more out than in", []Body{found, change(0, 1), change(3, 1)}, 1, 0, 2, 0},
		{"surplus explained", []Body{found, change(0, 1), change(3, 1), account(2, "count was wrong")}, 1, 0, 0, 0},
		{"out not counted", []Body{found, change(0, 1), uncounted}, 1, 0, 0, 1},
		{"finding one piece does not clear what was not counted", []Body{found, change(0, 1), uncounted, account(1, "found and removed")}, 1, 0, 0, 1},
		{"came with filler", []Body{WoundFound{Wound: "A", InPlace: []Pieces{{"foam", 2}}}, change(1, 1)}, 1, 1, 0, 0},
		{"came with an unknown count", []Body{WoundFound{Wound: "A", InPlaceUnknown: true}, change(4, 1)}, 1, 0, 0, 2},
	} {
		t.Run(tc.name, func(t *testing.T) {
			var s story
			for _, b := range tc.bodies {
				s.add(b)
			}
			c := s.fold().Wounds[0].Count
			sum := func(list []Uncounted) (n int) {
				for _, u := range list {
					n += u.Count
				}
				return n
			}
			if c.Total() != tc.inPlace || sum(c.Missing) != tc.missing || sum(c.Surplus) != tc.surplus || len(c.Unsure) != tc.doubt {
				t.Errorf("in place %d, missing %d, surplus %d, unsure %d; want %d, %d, %d, %d", c.Total(), sum(c.Missing), sum(c.Surplus), len(c.Unsure), tc.inPlace, tc.missing, tc.surplus, tc.doubt)
			}
		})
	}
}

// TestDayLength: the days on which European clocks change have 23 and 25 hours.
func TestDayLength(t *testing.T) {
	var s story
	s.add(PersonRegistered{Name: "x", Place: "home", Zone: "Europe/Berlin"})
	c := s.fold()
	for _, tc := range []struct {
		day  time.Time
		want time.Duration
	}{
		{time.Date(2026, 3, 29, 12, 0, 0, 0, time.UTC), 23 * time.Hour},
		{time.Date(2026, 10, 25, 12, 0, 0, 0, time.UTC), 25 * time.Hour},
		{time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC), 24 * time.Hour},
	} {
		if got := c.NextDay(tc.day).Sub(c.Day(tc.day)); got != tc.want {
			t.Errorf("%s lasts %v, want %v", tc.day.Format(time.DateOnly), got, tc.want)
		}
	}
	// 23:30 UTC is already the next day in Berlin.
	if got := c.Day(time.Date(2026, 6, 1, 23, 30, 0, 0, time.UTC)).Format(time.DateOnly); got != "2026-06-02" {
		t.Errorf("day %s", got)
	}
}

// TestFoldAt: what happened later is not there yet, also when a correction moved it.
func TestFoldAt(t *testing.T) {
	var s story
	s.add(WoundFound{Wound: "A", Site: "heel", Type: "pressure"})
	id := s.add(change(0, 2))
	s.correct(id, EntryCorrected{Action: "replace", At: monday.Add(48 * time.Hour).Format(time.RFC3339)})
	if c := FoldAt("c", s.entries, monday.Add(90*time.Minute)); len(c.Changes) != 1 {
		t.Error("the change happened before the instant")
	}
	if c := FoldAt("c", s.entries, monday.Add(3*time.Hour)); len(c.Changes) != 0 {
		t.Error("the correction says that the change happened later")
	}
	if c := FoldAt("c", s.entries, monday); len(c.Log) != 1 {
		t.Error("nothing but the wound was there on Monday at nine")
	}
}

// TestUnknownKept: a kind of a newer program is shown and passed on byte for byte.
func TestUnknownKept(t *testing.T) {
	raw := `{"id":"u","case":"c","kind":"moon.seen","version":7,"at":"2026-03-02T10:00:00+02:00","recorded":"2026-03-02T10:00:00+02:00","author":"ann","body":{"phase":3,"note":"ok"}}`
	var e Entry
	if err := json.Unmarshal([]byte(raw), &e); err != nil {
		t.Fatal(err)
	}
	c := Fold("c", []Entry{e})
	if c.UnknownEntries != 1 || len(c.Log) != 1 {
		t.Errorf("unknown entry dropped: %+v", c.Log)
	}
	if out, _ := json.Marshal(e); string(out) != raw {
		t.Errorf("\n%s\n%s", out, raw)
	}
}
