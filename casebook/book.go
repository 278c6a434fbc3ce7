package casebook

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
)

// Book reads and writes entries through a store that sees only bytes. With a Sealer these are sealed; without
// one they are plain, which is for tests.
type Book struct {
	Store  Store
	Sealer Sealer
}

// Append writes entries of one case. head is the head that the caller read ("" for a new case).
// Errors are those of [Store], [ErrErased] and [ErrReserved].
func (b Book) Append(ctx context.Context, head string, entries ...Entry) (string, error) {
	if len(entries) > 0 && Reserved(entries[0].Case) {
		return "", fmt.Errorf("casebook: append to case %s: %w", entries[0].Case, ErrReserved)
	}
	return b.append(ctx, head, entries)
}

func (b Book) append(ctx context.Context, head string, entries []Entry) (string, error) {
	if len(entries) == 0 {
		return head, nil
	}
	records := make([]Record, len(entries))
	for i, e := range entries {
		if e.Case != entries[0].Case {
			panic("casebook: Append with entries of several cases")
		}
		raw, err := json.Marshal(e)
		if err != nil {
			return "", err
		}
		records[i] = Record{ID: e.ID, Case: e.Case, Bytes: raw}
	}
	return b.AppendRecords(ctx, head, records...)
}

// AppendRecords writes records of one case whose Bytes are the plain bytes of entries: for copying a store byte
// for byte. Everybody else uses [Book.Append].
func (b Book) AppendRecords(ctx context.Context, head string, records ...Record) (string, error) {
	if len(records) == 0 {
		return head, nil
	}
	caseID := records[0].Case
	kept := records
	if b.Sealer != nil {
		kept = make([]Record, len(records))
		for i, r := range records {
			sealed, err := b.Sealer.Seal(ctx, r)
			if err != nil {
				return "", fmt.Errorf("casebook: append to case %s: %w", caseID, b.erased(ctx, caseID, err))
			}
			kept[i] = Record{ID: r.ID, Case: r.Case, Bytes: sealed}
		}
	}
	next, err := b.Store.Append(ctx, caseID, head, kept...)
	if err != nil {
		return "", fmt.Errorf("casebook: append to case %s: %w", caseID, b.erased(ctx, caseID, err))
	}
	return next, nil
}

// Entries returns a case's entries in the order in which they were kept, and its head. Errors: [ErrErased] as
// an [ErasedError], [ErrSealed], [ErrBroken], [ErrReserved], and those of [Store].
func (b Book) Entries(ctx context.Context, caseID string) ([]Entry, string, error) {
	if Reserved(caseID) {
		return nil, "", fmt.Errorf("casebook: read case %s: %w", caseID, ErrReserved)
	}
	entries, head, err := b.entries(ctx, caseID)
	if err != nil || len(entries) == 0 {
		return entries, head, err
	}
	f, err := b.filesOf(ctx, caseID)
	if errors.Is(err, ErrErased) {
		return entries, head, nil // the register is only ever erased with the case, which was read before
	}
	if err != nil {
		return nil, "", err
	}
	for i := range entries {
		entries[i].Came = f.came[entries[i].ID]
	}
	return entries, head, nil
}

func (b Book) entries(ctx context.Context, caseID string) ([]Entry, string, error) {
	links, err := b.Store.Case(ctx, caseID)
	if err != nil {
		return nil, "", fmt.Errorf("casebook: read case %s: %w", caseID, err)
	}
	head := ""
	entries := make([]Entry, 0, len(links))
	var plain []byte // used again for each record: decoding copies what it keeps
	for _, l := range links {
		var e Entry
		e, plain, err = b.decode(ctx, plain, l.Record)
		if err != nil {
			return nil, "", fmt.Errorf("casebook: read case %s: %w", caseID, b.erased(ctx, caseID, err))
		}
		entries = append(entries, e)
		head = l.Hash
	}
	return entries, head, nil
}

// Decode reads an entry from a record as the store keeps it.
func (b Book) Decode(ctx context.Context, r Record) (Entry, error) {
	e, _, err := b.decode(ctx, nil, r)
	return e, err
}

func (b Book) decode(ctx context.Context, buf []byte, r Record) (Entry, []byte, error) {
	if b.Sealer != nil {
		plain, err := b.Sealer.Open(ctx, buf[:0], r)
		if err != nil {
			return Entry{}, buf, fmt.Errorf("entry %s: %w", r.ID, err)
		}
		r.Bytes, buf = plain, plain
	}
	e, err := DecodeRecord(r)
	return e, buf, err
}

// DecodeRecord reads an entry from a record with plain bytes and refuses one whose ID or case differs from the
// record's. Sealed bytes are [ErrSealed].
func DecodeRecord(r Record) (Entry, error) {
	if IsSealed(r.Bytes) {
		return Entry{}, fmt.Errorf("casebook: entry %s of case %s: %w", r.ID, r.Case, ErrSealed)
	}
	var e Entry
	if err := e.UnmarshalJSON(r.Bytes); err != nil { // json.Unmarshal would scan the bytes twice before it comes here
		return Entry{}, fmt.Errorf("casebook: entry %s of case %s cannot be read: %w", r.ID, r.Case, err)
	}
	if e.ID != r.ID || e.Case != r.Case {
		return Entry{}, fmt.Errorf("casebook: record %s of case %s holds entry %s of case %s: %w", r.ID, r.Case, e.ID, e.Case, ErrBroken)
	}
	return e, nil
}

// PutBlob keeps a photo or log of a case and returns its key: the SHA-256 of the bytes that are kept, which are
// sealed. The same content in two cases is kept twice, so that erasing one case leaves the other its photo.
func (b Book) PutBlob(ctx context.Context, caseID string, content []byte) (hash string, err error) {
	if b.Sealer != nil {
		if content, err = b.Sealer.SealBlob(ctx, caseID, content); err != nil {
			return "", fmt.Errorf("casebook: keep a blob of case %s: %w", caseID, b.erased(ctx, caseID, err))
		}
	}
	if hash, err = b.Store.PutBlob(ctx, content); err != nil {
		return "", fmt.Errorf("casebook: keep a blob of case %s: %w", caseID, err)
	}
	return hash, nil
}

// Blob returns a blob of a case by the name that its entry gives. One that belongs to another case does not open: it is
// [ErrBroken]. One that was not imported with its entry is [ErrNotBrought].
func (b Book) Blob(ctx context.Context, caseID, hash string) ([]byte, error) {
	content, err := b.Store.Blob(ctx, hash)
	if errors.Is(err, ErrNotFound) {
		content, err = b.brought(ctx, caseID, hash, err)
	}
	if err == nil && b.Sealer != nil {
		content, err = b.Sealer.OpenBlob(ctx, caseID, content)
	}
	if err != nil {
		return nil, fmt.Errorf("casebook: read blob %s of case %s: %w", hash, caseID, b.erased(ctx, caseID, err))
	}
	return content, nil
}

// brought finds a blob that came from another store and has another name here.
func (b Book) brought(ctx context.Context, caseID, name string, missing error) ([]byte, error) {
	if Reserved(caseID) {
		return nil, missing
	}
	f, err := b.filesOf(ctx, caseID)
	switch kept := f.kept[name]; {
	case err != nil:
		return nil, err
	case kept != "":
		return b.Store.Blob(ctx, kept)
	case f.awaited[name]:
		return nil, ErrNotBrought
	}
	return nil, missing
}
