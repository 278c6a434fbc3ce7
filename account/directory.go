package account

import (
	"context"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"

	"lowtide/casebook"
)

// Directory reads and changes the accounts of a book. Its methods may be called from several goroutines.
type Directory struct {
	register casebook.Register
	random   io.Reader

	mu   sync.Mutex
	set  *Set
	head string
	at   time.Time
}

// refreshAfter is how long a set may be used before it is read again: another process may have changed it.
const refreshAfter = 5 * time.Second

// maxTries bounds how often a change is planned again when somebody else was faster.
const maxTries = 10

// NewDirectory returns the directory of the book; nothing is read yet. random makes the entries' IDs.
func NewDirectory(book casebook.Book, random io.Reader) *Directory {
	return &Directory{register: casebook.Register{Book: book, ID: casebook.Accounts}, random: random}
}

// Set returns the accounts, at most five seconds old. On an error nobody may be let in.
func (d *Directory) Set(ctx context.Context, now time.Time) (*Set, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if age := now.Sub(d.at); d.set != nil && age >= 0 && age < refreshAfter {
		return d.set, nil
	}
	return d.read(ctx, now)
}

// read reads the set; the lock must be held.
func (d *Directory) read(ctx context.Context, now time.Time) (*Set, error) {
	entries, head, err := d.register.Entries(ctx)
	if err != nil {
		return nil, fmt.Errorf("account: read the accounts: %w", err)
	}
	if d.set != nil && head == d.head {
		d.at = now
		return d.set, nil
	}
	set := Fold(entries)
	if set.Unknown > 0 {
		return nil, fmt.Errorf("account: %d entries about accounts are of a newer program; nobody can be let in before Lowtide is brought up to date", set.Unknown)
	}
	d.set, d.head, d.at = set, head, now
	return set, nil
}

// Change plans a change on the newest set, writes it and returns the set after it. plan may be called again when
// somebody else changed the accounts meanwhile; its error is returned as it is. by is the acting account.
func (d *Directory) Change(ctx context.Context, now time.Time, by, reason string, plan func(*Set) ([]casebook.Body, error)) (*Set, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for try := 0; ; try++ {
		set, err := d.read(ctx, now)
		if err != nil {
			return nil, err
		}
		bodies, err := plan(set)
		if err != nil || len(bodies) == 0 {
			return set, err
		}
		entries := make([]casebook.Entry, len(bodies))
		for i, b := range bodies {
			id, err := casebook.NewID(now, d.random)
			if err != nil {
				return nil, err
			}
			entries[i] = casebook.Entry{ID: id, Case: casebook.Accounts, Kind: b.Kind(), Version: 1, At: now, Recorded: now, Author: by, Body: b, Reason: reason}
		}
		_, err = d.register.Append(ctx, d.head, entries...)
		if try < maxTries && errors.Is(err, casebook.ErrStale) {
			continue
		}
		if err != nil {
			return nil, fmt.Errorf("account: change the accounts: %w", err)
		}
		return d.read(ctx, now)
	}
}
