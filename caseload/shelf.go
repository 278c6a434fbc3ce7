package caseload

import (
	"context"
	"encoding/json"
	"time"

	"lowtide/casebook"
	"lowtide/review"
)

// Shelf keeps rows between two runs of the program: a cache beside the store, which may be thrown away, be lost or be older
// than the store at any time. It holds bytes that were sealed under the key of their case; what does not open, or is not of
// this state of the case, is as if it were not there.
type Shelf interface {
	// Each hands out every row that is there, in any order.
	Each(ctx context.Context, use func(caseID string, sealed []byte)) error
	// Keep replaces the rows of the cases; nil bytes take a row off.
	Keep(ctx context.Context, rows map[string][]byte) error
}

// shelved is a row with the name of what it was made from.
type shelved struct {
	Head, Rules, Equipment, Program string
	Kept                            *kept
}

// mostShelved bounds a row on the shelf; a longer one is made again at the next start.
const mostShelved = 256 << 10

// shelfID stands for an entry's ID where a row is sealed, so that neither can be taken for the other.
const shelfID = "~row"

// unshelve takes the rows from the shelf that are of the cases as they stand. A shelf that cannot be read is an empty one.
func (l *Caseload) unshelve(ctx context.Context, heads []casebook.CaseHead, now time.Time) {
	want := make(map[string]string, len(heads))
	for _, h := range heads {
		want[h.Case] = h.Head
	}
	var gone []string
	_ = l.Shelf.Each(ctx, func(id string, sealed []byte) {
		k := l.unseal(ctx, id, want[id], sealed)
		l.mu.Lock()
		defer l.mu.Unlock()
		switch {
		case k == nil:
			gone = append(gone, id)
		case l.erased[id] || now.Before(k.From) || !k.Until.IsZero() && !now.Before(k.Until):
			// of another time: it is reviewed like any other case
		case want[casebook.BroughtTo(id)] != "": // what came by file may have been taken over since
		case k.Recalls != "" && (l.recalls == nil || l.recalls.Head != k.Recalls):
		default:
			l.store(k)
			l.drop(id)
		}
	})
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, id := range gone {
		if l.unsaved[id] == nil {
			l.unsaved[id] = nil
		}
	}
}

// unseal opens a row; nil is that it is none of this case in this state.
func (l *Caseload) unseal(ctx context.Context, id, head string, sealed []byte) *kept {
	if head == "" {
		return nil
	}
	plain := sealed
	if l.Book.Sealer != nil {
		var err error
		if plain, err = l.Book.Sealer.Open(ctx, nil, casebook.Record{ID: shelfID, Case: id, Bytes: sealed}); err != nil {
			return nil
		}
	}
	var s shelved
	if json.Unmarshal(plain, &s) != nil || s.Kept == nil || s.Kept.Row.Case != id || s.Head != head || s.Rules != l.Rules.Hash() || s.Equipment != l.Equipment.Hash || s.Program != l.program() {
		return nil
	}
	s.Kept.head, s.Kept.key = head, placeOf(&s.Kept.Row)
	return s.Kept
}

func (l *Caseload) program() string { return review.Version + " " + l.Program }

// SaveRows puts the rows that were made since the last call on the shelf. A row that cannot be kept is left out.
func (l *Caseload) SaveRows(ctx context.Context) error {
	if l.Shelf == nil {
		return nil
	}
	l.mu.Lock()
	unsaved := l.unsaved
	l.unsaved = map[string]*kept{}
	l.mu.Unlock()
	rows := make(map[string][]byte, len(unsaved))
	for id, k := range unsaved {
		rows[id] = nil
		if k == nil || k.head == "" || ctx.Err() != nil {
			continue
		}
		plain, err := json.Marshal(shelved{Head: k.head, Rules: l.Rules.Hash(), Equipment: l.Equipment.Hash, Program: l.program(), Kept: k})
		if err != nil || len(plain) > mostShelved {
			continue
		}
		if l.Book.Sealer != nil {
			if plain, err = l.Book.Sealer.Seal(ctx, casebook.Record{ID: shelfID, Case: id, Bytes: plain}); err != nil {
				continue
			}
		}
		rows[id] = plain
	}
	if len(rows) == 0 {
		return nil
	}
	return l.Shelf.Keep(ctx, rows)
}
