package caseload

import (
	"context"
	"fmt"
	"slices"
	"time"

	"lowtide/casebook"
	"lowtide/stock"
)

// Recalls are the recalls in force, for a review.
func (l *Caseload) Recalls(ctx context.Context) (*stock.Stock, error) {
	entries, _, err := casebook.Register{Book: l.Book, ID: stock.Register}.Entries(ctx)
	if err != nil {
		return nil, err
	}
	return stock.Fold(entries, nil), nil
}

// Who lists the cases that got a lot: the recall look-up. It is for those who may see the cases. Of unread cases nobody
// can tell: they are not read yet, or cannot be.
func (l *Caseload) Who(ctx context.Context, item, lot string, now time.Time) (given []stock.Given, unread int, err error) {
	v, err := l.upToDate(ctx, now)
	if err != nil {
		return nil, 0, err
	}
	return stock.Who(v.uses(), item, lot), v.unread(), nil
}

func patientsWith(list []stock.Given) int {
	seen := map[string]bool{}
	for _, g := range list {
		seen[g.Case] = true
	}
	return len(seen)
}

// syncRecalls reads the register when it has grown, and marks the cases that a change of recalls is about.
func (l *Caseload) syncRecalls(ctx context.Context) error {
	l.mu.Lock()
	grown := l.register
	l.register = false
	l.mu.Unlock()
	if !grown {
		return nil
	}
	entries, _, err := casebook.Register{Book: l.Book, ID: stock.Register}.Entries(ctx)
	l.mu.Lock()
	defer l.mu.Unlock()
	if err != nil {
		l.register = true
		return fmt.Errorf("caseload: read the stock: %w", err)
	}
	st := stock.Fold(entries, nil)
	if old := l.recalls; old == nil || old.Head != st.Head {
		for id, k := range l.kept {
			if k.recallsDiffer(old, st) {
				l.add(id, true)
			}
		}
	}
	l.recalls, l.stock = st, entries
	return nil
}

// recallsDiffer tells whether a supply of the case is recalled by one stock and not by the other.
func (k *kept) recallsDiffer(a, b *stock.Stock) bool {
	recalled := func(s *stock.Stock, u stock.Use) bool {
		if s == nil {
			return false
		}
		_, ok := s.Recalled(u.Item, u.Lot)
		return ok
	}
	return a != b && slices.ContainsFunc(k.Uses, func(u stock.Use) bool { return recalled(a, u) != recalled(b, u) })
}
