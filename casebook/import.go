package casebook

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"slices"
	"time"
)

// What comes by file claims to be by somebody, and the store cannot know whether it is. So the register of what was
// brought to a case says which entries came by file, and who brought them; no file can write there. It goes with the
// case when that is erased.

// Kinds of what is known about entries from a file. case.imported stands in the ledger too, without the names of the
// file and of the entries.
const (
	KindCaseImported Kind = "case.imported"
	KindTakenOver    Kind = "entry.taken_over"
	KindEntriesMet   Kind = "entries.met"
)

// CaseImported says that entries of a case came by file; the entry's Author brought it.
type CaseImported struct {
	// File is the file's name without its folder; SHA256 (hex) is that of its bytes.
	File   string `json:"file,omitempty"`
	SHA256 string `json:"sha256"`
	// Entries are those that were new here. The ledger has the Case and their Count instead.
	Entries []string `json:"entries,omitempty"`
	Case    string   `json:"case,omitempty"`
	Count   int      `json:"count,omitempty"`
}

// TakenOver says that the entry's Author compared an entry that came by file with what she knows, and stands in for it;
// the entry's Reason says by what.
type TakenOver struct {
	Entry string `json:"entry"`
}

// EntriesMet says that entries of a case were written on a device without a network and came when it met the server, which
// checked that the device's own key signed them and that the entry's Author may write them.
type EntriesMet struct {
	// Device is the device's ID and Phone the name that its owner gave it.
	Device  string   `json:"device"`
	Phone   string   `json:"phone"`
	Entries []string `json:"entries"`
	// AheadS is by how many seconds the device's clock was ahead of the server's when they met; negative when it was behind.
	AheadS int64 `json:"ahead_s"`
}

// Kind implements [Body].
func (EntriesMet) Kind() Kind { return KindEntriesMet }

// Kind implements [Body].
func (CaseImported) Kind() Kind { return KindCaseImported }

// Kind implements [Body].
func (TakenOver) Kind() Kind { return KindTakenOver }

// Came says how an entry came into the store when nobody wrote it here: by file, or from a device that was without a
// network.
type Came struct {
	// File is the name of the file, By who brought it, and At when it came.
	File string
	By   string
	At   time.Time
	// Phone is the name of the device on which it was written; empty for what came by file. Ahead is by how much the
	// device's clock was ahead when it met the server.
	Phone string
	Ahead time.Duration
	// TakenBy is who took the entry over, for TakenWhy; empty while nobody has.
	TakenBy  string
	TakenAt  time.Time
	TakenWhy string
}

// Claimed tells that the author of an entry is only what a file says: it came by file, and nobody here has taken it
// over. A nil Came is that of an entry that was written here; who wrote what came from a device is known.
func (c *Came) Claimed() bool { return c != nil && c.Phone == "" && c.TakenBy == "" }

// takeImport folds one entry of the register.
func (f *filesOf) takeImport(e Entry) {
	switch b := e.Body.(type) {
	case CaseImported:
		for _, id := range b.Entries {
			if f.came[id] == nil {
				f.came[id] = &Came{File: b.File, By: e.Author, At: e.At}
			}
		}
	case EntriesMet:
		for _, id := range b.Entries {
			if f.came[id] == nil {
				f.came[id] = &Came{By: e.Author, At: e.At, Phone: b.Phone, Ahead: time.Duration(b.AheadS) * time.Second}
			}
		}
	case TakenOver:
		if c := f.came[b.Entry]; c.Claimed() {
			c.TakenBy, c.TakenAt, c.TakenWhy = e.Author, e.At, e.Reason
		}
	}
}

// Imported notes that entries of a case come by file, before they do: one that is cut short leaves no entry without its
// note. by is who brought the file.
func (b Book) Imported(ctx context.Context, caseID string, body CaseImported, at time.Time, by string) error {
	if len(body.Entries) == 0 {
		return nil
	}
	content := fmt.Sprint(body.SHA256, body.Entries, by, at.UnixNano())
	all := func(f filesOf) bool {
		return !slices.ContainsFunc(body.Entries, func(id string) bool { return f.came[id] == nil })
	}
	if err := b.noteFile(ctx, caseID, body, content, at, by, "", all); err != nil {
		return err
	}
	ledger := Register{Book: b, ID: Ledger}
	e := NewLedgerEntry(HashID(sha256.Sum256([]byte("in the ledger\n"+caseID+content))), at, by, "", CaseImported{SHA256: body.SHA256, Case: caseID, Count: len(body.Entries)})
	for try := 0; ; try++ {
		_, head, err := ledger.Entries(ctx)
		if err != nil {
			return err
		}
		if _, err = ledger.Append(ctx, head, e); !errors.Is(err, ErrStale) || try == noteTries {
			return err
		}
	}
}

// Met notes that entries of a case come from a device, before they do.
func (b Book) Met(ctx context.Context, caseID string, body EntriesMet, at time.Time, by string) error {
	all := func(f filesOf) bool {
		return !slices.ContainsFunc(body.Entries, func(id string) bool { return f.came[id] == nil })
	}
	return b.noteFile(ctx, caseID, body, fmt.Sprint(body.Device, body.Entries), at, by, "", all)
}

// TakeOver notes that by stands in for an entry that came by file. Error: [ErrNotFound] for one that did not.
func (b Book) TakeOver(ctx context.Context, caseID, entry, why string, at time.Time, by string) error {
	f, err := b.filesOf(ctx, caseID)
	if err != nil {
		return err
	}
	if f.came[entry] == nil {
		return fmt.Errorf("casebook: take over entry %s of case %s: it did not come by file: %w", entry, caseID, ErrNotFound)
	}
	return b.noteFile(ctx, caseID, TakenOver{Entry: entry}, entry+by+fmt.Sprint(at.UnixNano()), at, by, why, func(f filesOf) bool { return !f.came[entry].Claimed() })
}
