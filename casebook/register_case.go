package casebook

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"time"
)

// Some of the program's own cases belong to one patient's case or to one call, so that each has a key of its own and
// can be erased by itself.

// deskPrefix and broughtPrefix start the IDs of such registers.
const (
	deskPrefix    = "~call:"
	broughtPrefix = "~brought:"
)

// DeskCall is the register of one call at the Call desk that belongs to no case yet.
func DeskCall(call string) string { return deskPrefix + call }

// DeskCallOf is the call that a register is of; false for another one.
func DeskCallOf(register string) (call string, ok bool) {
	return strings.CutPrefix(register, deskPrefix)
}

// BroughtTo is the register that says how files are kept which came with the entries of a case from another store.
func BroughtTo(caseID string) string { return broughtPrefix + caseID }

// BroughtFor is the case that a BroughtTo register is of.
func BroughtFor(register string) string { return strings.TrimPrefix(register, broughtPrefix) }

// Kinds of a BroughtTo register.
const (
	KindFileBrought Kind = "file.brought"
	KindFileAwaited Kind = "file.awaited"
)

// FileBrought says that the file which entries call Name is kept in this store as the blob Kept. Names of blobs differ
// from store to store, because they are hashes of sealed bytes; entries keep the name with which they were made, so
// that an ID stands for one content everywhere.
type FileBrought struct {
	Name string `json:"name"`
	Kept string `json:"kept"`
}

// FileAwaited says that entries which call a file Name were imported without it.
type FileAwaited struct {
	Name string `json:"name"`
}

// Kind implements [Body].
func (FileBrought) Kind() Kind { return KindFileBrought }

// Kind implements [Body].
func (FileAwaited) Kind() Kind { return KindFileAwaited }

// ErrNotBrought: the file is named by an entry that was imported without it. It is an [ErrNotFound] too.
var ErrNotBrought = fmt.Errorf("the file was not brought along when its entry was imported: %w", ErrNotFound)

// filesOf is what a BroughtTo register says.
type filesOf struct {
	kept    map[string]string
	awaited map[string]bool
	// came says of the entries that came by file how they did.
	came map[string]*Came
	head string
}

func newFilesOf() filesOf {
	return filesOf{kept: map[string]string{}, awaited: map[string]bool{}, came: map[string]*Came{}}
}

func (f *filesOf) take(e Entry) {
	switch b := e.Body.(type) {
	case FileBrought:
		if _, there := f.kept[b.Name]; !there {
			f.kept[b.Name] = b.Kept
		}
	case FileAwaited:
		f.awaited[b.Name] = true
	default:
		f.takeImport(e)
	}
}

func (b Book) filesOf(ctx context.Context, caseID string) (filesOf, error) {
	f := newFilesOf()
	entries, head, err := b.entries(ctx, BroughtTo(caseID))
	f.head = head
	for _, e := range entries {
		f.take(e)
	}
	return f, err
}

// Bring keeps a file which entries of the case call name. It returns false when it was there already. A file that is
// there under this name with another content is [ErrConflict]. at and author are noted.
func (b Book) Bring(ctx context.Context, caseID, name string, content []byte, at time.Time, author string) (fresh bool, err error) {
	if Reserved(caseID) {
		return false, fmt.Errorf("casebook: bring a file to case %s: %w", caseID, ErrReserved)
	}
	old, err := b.Blob(ctx, caseID, name)
	switch {
	case err == nil && string(old) == string(content):
		return false, nil
	case err == nil:
		return false, fmt.Errorf("casebook: bring file %s to case %s: %w", name, caseID, ErrConflict)
	case !errors.Is(err, ErrNotFound):
		return false, err
	}
	kept, err := b.PutBlob(ctx, caseID, content)
	if err != nil || kept == name {
		return true, err
	}
	return true, b.noteFile(ctx, caseID, FileBrought{Name: name, Kept: kept}, name+kept, at, author, "", func(f filesOf) bool { return f.kept[name] != "" })
}

// Await notes that entries of the case were imported without the file that they call name. Whoever checks the store
// can then tell a file that never came from one that was lost.
func (b Book) Await(ctx context.Context, caseID, name string, at time.Time, author string) error {
	return b.noteFile(ctx, caseID, FileAwaited{Name: name}, name, at, author, "", func(f filesOf) bool { return f.awaited[name] })
}

// NotBrought tells whether entries of the case were imported without the file that they call name, and nobody brought it
// since.
func (b Book) NotBrought(ctx context.Context, caseID, name string) (bool, error) {
	f, err := b.filesOf(ctx, caseID)
	if err != nil || !f.awaited[name] || f.kept[name] != "" {
		return false, err
	}
	_, err = b.Store.Blob(ctx, name)
	if errors.Is(err, ErrNotFound) {
		return true, nil
	}
	return false, err
}

// noteTries bounds how often a note is tried again when its register moved on meanwhile.
const noteTries = 20

func (b Book) noteFile(ctx context.Context, caseID string, body Body, content string, at time.Time, author, reason string, there func(filesOf) bool) error {
	register := BroughtTo(caseID)
	sum := sha256.Sum256([]byte(string(body.Kind()) + "\n" + caseID + "\n" + content))
	for try := 0; ; try++ {
		f, err := b.filesOf(ctx, caseID)
		if err != nil || there(f) {
			return err
		}
		e := Entry{ID: HashID(sum), Case: register, Kind: body.Kind(), Version: 1, At: at, Recorded: at, Author: author, Reason: reason, Body: body}
		if _, err = (Register{Book: b, ID: register}).Append(ctx, f.head, e); !errors.Is(err, ErrStale) || try == noteTries {
			return err
		}
	}
}

// HashID is a UUIDv8 (RFC 9562, section 5.8) of a hash: the same content has the same ID wherever it is made.
func HashID(sum [sha256.Size]byte) string {
	b := sum[:16]
	b[6] = b[6]&0x0f | 0x80
	b[8] = b[8]&0x3f | 0x80
	h := hex.EncodeToString(b)
	return h[:8] + "-" + h[8:12] + "-" + h[12:16] + "-" + h[16:20] + "-" + h[20:]
}

// CallsOf lists the numbers of the calls that an entry tells of, also when it moved in from another case.
func CallsOf(e Entry) []string {
	switch b := e.Body.(type) {
	case CallTaken:
		return []string{b.Call}
	case EntryCorrected:
		if b.Original != nil {
			return CallsOf(*b.Original)
		}
	}
	return nil
}

// Along lists the registers that go when the case is erased: what was said at the Call desk before a call was joined to
// the case, and how files are kept that were brought to it. count is the number of the case's records. An entry that
// cannot be read is passed over: a damaged case can be erased too.
func (b Book) Along(ctx context.Context, caseID string) (registers []string, count int, err error) {
	links, err := b.Store.Case(ctx, caseID)
	if err != nil {
		return nil, 0, err
	}
	candidates := []string{BroughtTo(caseID)}
	seen := map[string]bool{}
	for _, l := range links {
		e, err := b.Decode(ctx, l.Record)
		if err != nil {
			continue
		}
		for _, call := range CallsOf(e) {
			if id := DeskCall(call); call != "" && !seen[id] {
				seen[id] = true
				candidates = append(candidates, id)
			}
		}
	}
	gone := map[string]bool{}
	if b.Sealer != nil {
		erased, err := b.Sealer.Erased(ctx)
		if err != nil {
			return nil, 0, err
		}
		for _, k := range erased {
			gone[k.Case] = true
		}
	}
	for _, id := range candidates {
		if gone[id] {
			continue
		}
		kept, err := b.Store.Case(ctx, id)
		if err != nil {
			return nil, 0, err
		}
		if len(kept) > 0 {
			registers = append(registers, id)
		}
	}
	return registers, len(links), nil
}
