package storetest

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"testing"

	"lowtide/casebook"

	"pgregory.net/rapid"
)

// modelRecord and model restate the contract as plainly as can be, on purpose without the code that the
// stores share.
type modelRecord struct{ id, inCase, text string }

type model struct {
	kept []modelRecord
	// hash of each kept record, as the store gave it.
	hash []string
}

func (m *model) find(id string) *modelRecord {
	for i := range m.kept {
		if m.kept[i].id == id {
			return &m.kept[i]
		}
	}
	return nil
}

func (m *model) heads(c string) []string {
	heads := []string{""}
	for i, r := range m.kept {
		if r.inCase == c {
			heads = append(heads, m.hash[i])
		}
	}
	return heads
}

// append says what must come of it.
func (m *model) append(c string, headIsCurrent bool, batch []modelRecord) error {
	news := &model{}
	for _, r := range batch {
		old := m.find(r.id)
		if old == nil {
			old = news.find(r.id)
		}
		if old != nil && *old != r {
			return casebook.ErrConflict
		}
		if old == nil {
			news.kept = append(news.kept, r)
		}
	}
	if len(news.kept) > 0 && !headIsCurrent {
		return casebook.ErrStale
	}
	m.kept = append(m.kept, news.kept...)
	return nil
}

// testModel compares a store with the model over random sequences of appends: few IDs, cases and texts, so
// that repeats, conflicts and stale heads are common. All sequences go into one store, each under a prefix
// of its own.
func testModel(t *testing.T, s casebook.Store) {
	ctx := context.Background()
	sequence := 0
	outcomes := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		sequence++
		prefix := fmt.Sprintf("s%05d", sequence)
		start := int64(len(everythingSince(t, s, 0)))
		m := &model{}
		for range rapid.IntRange(1, 12).Draw(t, "appends") {
			c := prefix + rapid.SampledFrom([]string{"a", "b", "c"}).Draw(t, "case")
			heads := m.heads(c)
			current := heads[len(heads)-1]
			head := current
			if rapid.IntRange(0, 3).Draw(t, "head") == 0 {
				head = rapid.SampledFrom(append(heads, "never")).Draw(t, "old head")
			}
			var batch []modelRecord
			var records []casebook.Record
			for range rapid.IntRange(0, 4).Draw(t, "records") {
				r := modelRecord{
					id:     prefix + fmt.Sprint(rapid.IntRange(0, 9).Draw(t, "id")),
					inCase: c,
					text:   rapid.SampledFrom([]string{"x", "x", "x", "y"}).Draw(t, "text"),
				}
				batch = append(batch, r)
				records = append(records, NewRecord(c, r.id, r.text))
			}
			want := m.append(c, head == current, batch)
			newHead, err := s.Append(ctx, c, head, records...)
			if !errors.Is(err, want) || (want == nil) != (err == nil) {
				t.Fatalf("append %v to %s at %q (current %q): error %v, want %v", batch, c, head, current, err, want)
			}
			outcomes[fmt.Sprint(want)]++
			compare(t, s, m, start)
			if heads = m.heads(c); err == nil && newHead != heads[len(heads)-1] {
				t.Fatalf("new head %q, want %q", newHead, heads[len(heads)-1])
			}
		}
	})
	t.Logf("%d sequences, outcomes %v", sequence, outcomes)
	if len(outcomes) < 3 {
		t.Errorf("the sequences did not reach every outcome: %v", outcomes)
	}
}

func everythingSince(t *rapid.T, s casebook.Store, after int64) []casebook.Link {
	feed, err := s.Feed(context.Background(), after, 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	return feed
}

// compare reads back all that the sequence has kept, and notes the hashes in the model.
func compare(t *rapid.T, s casebook.Store, m *model, start int64) {
	feed := everythingSince(t, s, start)
	if len(feed) != len(m.kept) {
		t.Fatalf("%d records are kept, want %d", len(feed), len(m.kept))
	}
	byCase := map[string][]casebook.Link{}
	for i, l := range feed {
		r := m.kept[i]
		if want := NewRecord(r.inCase, r.id, r.text); !reflect.DeepEqual(l.Record, want) || l.Seq != start+int64(i)+1 {
			t.Fatalf("record %d is %v, want %v", l.Seq, l.Record, want)
		}
		if i < len(m.hash) && m.hash[i] != l.Hash {
			t.Fatalf("the hash of record %d has changed", l.Seq)
		}
		if i >= len(m.hash) {
			m.hash = append(m.hash, l.Hash)
		}
		byCase[l.Case] = append(byCase[l.Case], l)
	}
	for c, want := range byCase {
		links, err := s.Case(context.Background(), c)
		if err != nil || !reflect.DeepEqual(links, want) {
			t.Fatalf("case %s reads %v, %v; want %v", c, links, err, want)
		}
	}
}
