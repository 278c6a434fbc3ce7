// Package accesslog keeps who read or changed which case, when and why. It has a store of its own under the same
// contract and chain as the casebook's, sealed likewise, with one case for each day (UTC); a record is kept before the
// page that it is about goes out. Nothing is ever changed in it.
package accesslog

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"
	"time"

	"lowtide/casebook"
)

// KindNoted is the one kind of the access log's entries.
const KindNoted casebook.Kind = "access.noted"

// What was done. The strings are part of the file format.
type What string

// What can be done.
const (
	Read     What = "read"        // a page of a case was sent
	Listed   What = "listed"      // a list with patients' names was sent
	Sent     What = "sent a form" // a form of a case came in; its entries say what it changed
	Erased   What = "erased"      // the case was erased
	Refused  What = "refused"     // the account may not do this
	SignedIn What = "signed in"
	WrongTry What = "wrong password, code or passkey"
	Left     What = "signed out"
	Accounts What = "changed an account"
	Looked   What = "read the access log"
	Exported What = "exported the access log"
)

// Noted is one access. Case is empty when it was about no single one.
type Noted struct {
	Account string `json:"account"`
	What    What   `json:"what"`
	Case    string `json:"case,omitempty"`
	// Page is the pattern of the address, which holds no name and no number of a patient.
	Page string `json:"page,omitempty"`
	// Outside tells that the case was not on the person's list; Why is the reason that she gave.
	Outside bool   `json:"outside,omitempty"`
	Why     string `json:"why,omitempty"`
	// From is the address that the request came from.
	From string `json:"from,omitempty"`
	// Times is set in a line that stands for more of the same: so many came that were given no line of their own.
	Times int `json:"times,omitempty"`
	// Store is how far the store had come when the line was written.
	Store *casebook.Mark `json:"store,omitempty"`
}

// Kind implements [casebook.Body].
func (Noted) Kind() casebook.Kind { return KindNoted }

func init() { casebook.Own[Noted](KindNoted) }

// Line is an access with its time and ID.
type Line struct {
	ID string    `json:"id"`
	At time.Time `json:"at"`
	Noted
}

// Log writes and reads. Its methods may be called from several goroutines.
type Log struct {
	book   casebook.Book
	random io.Reader
	beside casebook.Store

	mu   sync.Mutex
	day  string
	head string
	// held are lines that the medium did not take yet, and floods counts what comes in masses.
	held   []heldLine
	floods map[floodKey]*flood
}

type heldLine struct {
	at time.Time
	n  Noted
}

// maxHeld bounds the lines that are held in memory while the medium takes nothing: a morning's reading of a ward. After
// them nothing more is shown.
const maxHeld = 5000

// Held is how many lines wait for a medium that takes them.
func (l *Log) Held() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return len(l.held)
}

// New returns the log over a book of its own. random makes the IDs.
func New(book casebook.Book, random io.Reader) *Log { return &Log{book: book, random: random} }

const (
	dayPrefix = casebook.AccessLog + "-"
	dayLayout = "2006-01-02"
	maxTries  = 20
)

func dayCase(at time.Time) string { return dayPrefix + at.UTC().Format(dayLayout) }

// Note keeps one access. When it returns an error nothing may be shown.
//
// While the medium takes nothing (a full disk, say), lines are held in memory, so that a nurse can go on reading; they
// are written as soon as it does. They are lost when the program is killed before.
//
// Wrong tries, which anybody can make without an account, are written one by one only for the first few in a while;
// what comes after them from the same place is counted and written as one line.
func (l *Log) Note(ctx context.Context, at time.Time, n Noted) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	list, own := l.overflow(at, n)
	if own {
		list = append(list, heldLine{at, n})
	}
	return l.write(ctx, list)
}

// Flush writes what is held and counted.
func (l *Log) Flush(ctx context.Context, at time.Time) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.write(ctx, l.summaries(at, true))
}

// write writes lines after those that are held; the lock must be held.
func (l *Log) write(ctx context.Context, list []heldLine) error {
	list = append(l.held, list...)
	l.held = nil
	for i, one := range list {
		err := l.put(ctx, one.at, one.n)
		if err == nil {
			continue
		}
		if casebook.TakesNothing(err) && len(list)-i <= maxHeld {
			l.held = append([]heldLine(nil), list[i:]...)
			return nil
		}
		l.held = append([]heldLine(nil), list[i:max(i, len(list)-1)]...)
		return err
	}
	return nil
}

// put writes one line; the lock must be held.
func (l *Log) put(ctx context.Context, at time.Time, n Noted) error {
	id, err := casebook.NewID(at, l.random)
	if err != nil {
		return err
	}
	if l.beside != nil {
		m, err := l.beside.Mark(ctx)
		if err != nil {
			return fmt.Errorf("accesslog: %w", err)
		}
		n.Store = &m
	}
	at = at.Truncate(time.Millisecond)
	e := casebook.Entry{ID: id, Case: dayCase(at), Kind: KindNoted, Version: 1, At: at, Recorded: at, Author: n.Account, Body: n}
	reg := casebook.Register{Book: l.book, ID: e.Case}
	for try := 0; ; try++ {
		if l.day != e.Case || try > 0 {
			// A day that was never written to since the start, or another writer was faster.
			_, head, err := reg.Entries(ctx)
			if err != nil {
				return fmt.Errorf("accesslog: %w", err)
			}
			l.day, l.head = e.Case, head
		}
		head, err := reg.Append(ctx, l.head, e)
		if err == nil {
			l.head = head
			return nil
		}
		l.day = ""
		if try == maxTries || !errors.Is(err, casebook.ErrStale) {
			return fmt.Errorf("accesslog: %w", err)
		}
	}
}

// Query chooses lines. Empty fields choose all; From and To are days in UTC, both included.
type Query struct {
	Case, Account string
	What          What
	From, To      time.Time
	// Limit is the greatest number of lines, newest first; 0 is all.
	Limit int
}

// Find returns the lines that a query chooses, newest first. more tells that there were more than the limit.
func (l *Log) Find(ctx context.Context, q Query) (lines []Line, more bool, err error) {
	days, err := l.Days(ctx)
	if err != nil {
		return nil, false, err
	}
	lines = []Line{}
	for _, day := range slices.Backward(days) {
		if !q.From.IsZero() && day < q.From.UTC().Format(dayLayout) || !q.To.IsZero() && day > q.To.UTC().Format(dayLayout) {
			continue
		}
		entries, _, err := casebook.Register{Book: l.book, ID: dayPrefix + day}.Entries(ctx)
		if err != nil {
			return nil, false, fmt.Errorf("accesslog: %w", err)
		}
		for _, e := range slices.Backward(entries) {
			n, ok := e.Body.(Noted)
			if !ok {
				// A newer program's record is shown with what every record has.
				n = Noted{Account: e.Author, What: What("unknown: " + string(e.Kind))}
			}
			if q.Case != "" && n.Case != q.Case || q.Account != "" && n.Account != q.Account || q.What != "" && n.What != q.What {
				continue
			}
			if q.Limit > 0 && len(lines) == q.Limit {
				return lines, true, nil
			}
			lines = append(lines, Line{e.ID, e.At, n})
		}
	}
	return lines, false, nil
}

// Days lists the days that have records, in order.
func (l *Log) Days(ctx context.Context) ([]string, error) {
	heads, err := l.book.Store.Cases(ctx)
	if err != nil {
		return nil, fmt.Errorf("accesslog: %w", err)
	}
	var days []string
	for _, h := range heads {
		if day, ok := strings.CutPrefix(h.Case, dayPrefix); ok {
			days = append(days, day)
		}
	}
	slices.Sort(days)
	return days, nil
}

// Verify checks the chain and every record.
func (l *Log) Verify(ctx context.Context) (casebook.Report, error) { return l.book.Verify(ctx) }
