package casebook

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"
)

// Reserved tells whether a case ID is one of the program's own, which never show as patients.
func Reserved(caseID string) bool { return strings.HasPrefix(caseID, "~") }

// The program's own cases.
const (
	// Ledger holds what was done to the store itself: erasures, key rotations, backups, drills, restores.
	Ledger = "~ledger"
	// Accounts holds who may use the store.
	Accounts = "~accounts"
	// AccessLog names the key that the access log's own store is sealed with.
	AccessLog = "~access"
	// Unclaimed holds blobs that no entry names.
	Unclaimed = "~unclaimed"
)

// Register is one of the program's own cases in a book. [Book.Append] and [Book.Entries] refuse these, so that
// no form or file can write to them.
type Register struct {
	Book Book
	ID   string
}

// Append writes entries of the register; see [Book.Append].
func (r Register) Append(ctx context.Context, head string, entries ...Entry) (string, error) {
	if !Reserved(r.ID) {
		panic("casebook: " + r.ID + " is no register")
	}
	return r.Book.append(ctx, head, entries)
}

// Entries returns the register's entries in the order in which they were kept, and its head.
func (r Register) Entries(ctx context.Context) ([]Entry, string, error) {
	return r.Book.entries(ctx, r.ID)
}

// Kinds of the ledger's entries. They are known in reserved cases only.
const (
	KindCaseErased    Kind = "case.erased"
	KindKeyRotated    Kind = "key.rotated"
	KindStoreSealed   Kind = "store.sealed"
	KindStoreRestored Kind = "store.restored"
	KindBackupMade    Kind = "backup.made"
	KindBackupDrilled Kind = "backup.drilled"
	KindAccessMarked  Kind = "access.marked"
	KindChainKeyed    Kind = "chain.keyed"
	KindDifference    Kind = "difference.found"
	KindSettled       Kind = "difference.settled"
)

// CaseErased says that a case's key was destroyed; the entry's Author and Reason say by whom and why.
type CaseErased struct {
	Case    string `json:"case"`
	Entries int    `json:"entries"`
	// Also lists registers that went with it in the same step: see [Book.Along].
	Also []string `json:"also,omitempty"`
}

// KeyRotated says that the case keys were wrapped by another store key.
type KeyRotated struct {
	From string `json:"from"`
	To   string `json:"to"`
	// Holder is "file" or "passphrase": where the new key comes from.
	Holder string `json:"holder"`
}

// StoreSealed says that this store is the sealed copy of a plain one whose last link had the hash Head.
type StoreSealed struct {
	Head    string `json:"head"`
	Records int64  `json:"records"`
}

// Counts is what a store held when it was counted; Head is the hash of its last link.
type Counts struct {
	Head      string `json:"head"`
	Records   int64  `json:"records"`
	Cases     int    `json:"cases"`
	Blobs     int    `json:"blobs"`
	BlobBytes int64  `json:"blob_bytes"`
}

// Counts are those of the report.
func (r Report) Counts() Counts {
	return Counts{r.Head, r.Records, r.Cases, r.Blobs, r.BlobBytes}
}

// BackupMade says that a backup was written. Defects are those that the store already had.
type BackupMade struct {
	File    string   `json:"file"`
	Bytes   int64    `json:"bytes"`
	WithKey bool     `json:"with_key"`
	Store   Counts   `json:"store"`
	Defects []string `json:"defects,omitempty"`
}

// BackupDrilled says that a backup was restored into a scratch place and what was found there.
type BackupDrilled struct {
	File string    `json:"file"`
	Made time.Time `json:"made"`
	// Opened tells whether a key was at hand, so that the contents were read and not only the chain.
	Opened  bool     `json:"opened"`
	Store   Counts   `json:"store"`
	Defects []string `json:"defects,omitempty"`
}

// Good tells whether the drill showed that the backup can be used.
func (b BackupDrilled) Good() bool { return b.Opened && len(b.Defects) == 0 }

// StoreRestored says that this store came out of a backup.
type StoreRestored struct {
	File  string    `json:"file"`
	Made  time.Time `json:"made"`
	Store Counts    `json:"store"`
}

// AccessMarked says how far the access log had come, so that an older access log beside the store shows. A store with
// such an entry has a keyed chain.
type AccessMarked struct {
	Access Mark `json:"access"`
}

// ChainKeyed says that the keyed chain was begun over the records that a store of an older version held.
type ChainKeyed struct {
	Records int64 `json:"records"`
}

// DifferenceFound says in which way the store and its access log did not fit. It stands until somebody settles it.
type DifferenceFound struct {
	// Older is "store", "access log", or empty when neither is.
	Older string    `json:"older,omitempty"`
	Seen  time.Time `json:"seen"`
	Words string    `json:"words"`
}

// DifferenceSettled says that somebody looked into a difference between the store and its access log, which the entry's
// Reason explains. What was noted of the one in the other up to these places is not compared any more.
type DifferenceSettled struct {
	Store  Mark `json:"store"`
	Access Mark `json:"access"`
}

// Kind implements [Body].
func (AccessMarked) Kind() Kind { return KindAccessMarked }

// Kind implements [Body].
func (ChainKeyed) Kind() Kind { return KindChainKeyed }

// Kind implements [Body].
func (DifferenceFound) Kind() Kind { return KindDifference }

// Kind implements [Body].
func (DifferenceSettled) Kind() Kind { return KindSettled }

// Kind implements [Body].
func (CaseErased) Kind() Kind { return KindCaseErased }

// Kind implements [Body].
func (KeyRotated) Kind() Kind { return KindKeyRotated }

// Kind implements [Body].
func (StoreSealed) Kind() Kind { return KindStoreSealed }

// Kind implements [Body].
func (StoreRestored) Kind() Kind { return KindStoreRestored }

// Kind implements [Body].
func (BackupMade) Kind() Kind { return KindBackupMade }

// Kind implements [Body].
func (BackupDrilled) Kind() Kind { return KindBackupDrilled }

// ownBodies are the kinds of reserved cases, all at version 1. They are kept out of [Kinds], which lists what a
// nurse may write.
var ownBodies = map[Kind]func(json.RawMessage) (Body, error){
	KindCaseErased: as[CaseErased], KindKeyRotated: as[KeyRotated], KindStoreSealed: as[StoreSealed],
	KindStoreRestored: as[StoreRestored], KindBackupMade: as[BackupMade], KindBackupDrilled: as[BackupDrilled],
	KindAccessMarked: as[AccessMarked], KindChainKeyed: as[ChainKeyed], KindDifference: as[DifferenceFound], KindSettled: as[DifferenceSettled],
	KindCaseImported: as[CaseImported], KindTakenOver: as[TakenOver], KindEntriesMet: as[EntriesMet],
	KindFileBrought: as[FileBrought], KindFileAwaited: as[FileAwaited],
}

// NewLedgerEntry makes an entry of the ledger.
func NewLedgerEntry(id string, at time.Time, author, reason string, body Body) Entry {
	return Entry{ID: id, Case: Ledger, Kind: body.Kind(), Version: 1, At: at, Recorded: at, Author: author, Reason: reason, Body: body}
}

// Erasure says when a case was erased, by whom and why.
type Erasure struct {
	Case   string
	At     time.Time
	By     string
	Reason string
	// Entry is the ledger's entry.
	Entry string
	// Also lists the registers that went with it.
	Also []string
}

// ErasedError is [ErrErased] with what the ledger says about it.
type ErasedError struct{ Erasure }

// Error is a sentence for a reader.
func (e *ErasedError) Error() string {
	return fmt.Sprintf("case %s was erased on %s by %s because: %s", e.Case, e.At.Format("2 January 2006 15:04 -07:00"), e.By, e.Reason)
}

// Is makes the error an [ErrErased].
func (e *ErasedError) Is(target error) bool { return target == ErrErased }

// Erased lists the erased cases, oldest erasure first.
func (b Book) Erased(ctx context.Context) ([]Erasure, error) {
	entries, _, err := b.entries(ctx, Ledger)
	if err != nil {
		return nil, err
	}
	list := []Erasure{}
	for _, e := range entries {
		if body, ok := e.Body.(CaseErased); ok {
			list = append(list, Erasure{body.Case, e.At, e.Author, e.Reason, e.ID, body.Also})
		}
	}
	return list, nil
}

// erased adds what the ledger says to an [ErrErased], and leaves other errors as they are.
func (b Book) erased(ctx context.Context, caseID string, err error) error {
	if !errors.Is(err, ErrErased) {
		return err
	}
	list, listErr := b.Erased(ctx)
	if listErr != nil {
		return err
	}
	for _, e := range list {
		if e.Case == caseID {
			return &ErasedError{e}
		}
	}
	return err
}

// DrillOverdue looks through the ledger's entries and gives a sentence for the administrator when the last good
// drill is older than limit, or when there never was one. The empty sentence is for "in time".
func DrillOverdue(ledger []Entry, now time.Time, limit time.Duration) string {
	var good, bad *Entry
	for i, e := range ledger {
		if body, ok := e.Body.(BackupDrilled); ok {
			if body.Good() {
				good, bad = &ledger[i], nil
			} else {
				bad = &ledger[i]
			}
		}
	}
	remedy := "Run: lowtide drill"
	switch {
	case good == nil && bad == nil:
		return "No backup of this store was ever tried out: nobody knows whether one can be restored. " + remedy
	case good == nil || bad != nil:
		return fmt.Sprintf("The last drill, on %s, found that the backup cannot be used as it is. Make a new backup and run: lowtide drill", bad.At.Format("2 January 2006"))
	case good.At.After(now.Add(time.Hour)):
		return fmt.Sprintf("The last good drill is dated %s, which this computer's clock says is still to come: set the clock. %s", good.At.Format("2 January 2006"), remedy)
	case now.Sub(good.At) > limit:
		return fmt.Sprintf("The last good drill was on %s, %d days ago; one is due every %d days. %s", good.At.Format("2 January 2006"), int(now.Sub(good.At).Hours()/24), int(limit.Hours()/24), remedy)
	}
	return ""
}

// clockSlack is how far two honest clocks may differ.
const clockSlack = time.Hour

// ClockBehind gives a sentence when the clock is behind the time at which the store's last entry was made, as
// its ID (UUIDv7) carries it; that needs no key. The empty sentence is for "cannot tell" and for "is not".
func ClockBehind(ctx context.Context, s Store, now time.Time) (string, error) {
	last := time.Time{}
	end, err := s.Mark(ctx)
	if err != nil {
		return "", err
	}
	links, err := s.Feed(ctx, max(end.Count-clockLinks, 0), clockLinks)
	if err != nil {
		return "", err
	}
	for _, l := range links {
		// A year that no clock shows is the mistake of one device, and says nothing about this computer's clock.
		if at, ok := IDTime(l.ID); ok && at.After(last) && at.Before(now.Add(unlikely)) {
			last = at
		}
	}
	if last.Before(now.Add(clockSlack)) {
		return "", nil
	}
	return fmt.Sprintf("this computer's clock says %s, but the store has an entry made at %s: set the clock, or due times and dates of new entries are wrong; nothing is lost",
		now.Format(time.RFC3339), last.In(now.Location()).Format(time.RFC3339)), nil
}

// unlikely is how far this computer's clock can be behind without anybody noticing: a flat battery sets it back by years.
const unlikely = 30 * 365 * 24 * time.Hour

// clockLinks is how many of the last links [ClockBehind] looks at: one device with a wrong clock of its own is
// then not the only witness.
const clockLinks = 50
