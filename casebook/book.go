package casebook

import (
	"context"
	"encoding/json"
	"fmt"
)

// Book reads and writes entries through a store that sees only bytes.
type Book struct{ Store Store }

// Append writes entries of one case. head is the head that the caller read ("" for a new case).
// Errors are those of [Store].
func (b Book) Append(ctx context.Context, head string, entries ...Entry) (string, error) {
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
	next, err := b.Store.Append(ctx, entries[0].Case, head, records...)
	if err != nil {
		return "", fmt.Errorf("casebook: append to case %s: %w", entries[0].Case, err)
	}
	return next, nil
}

// Entries returns a case's entries in the order in which they were kept, and its head.
func (b Book) Entries(ctx context.Context, caseID string) ([]Entry, string, error) {
	links, err := b.Store.Case(ctx, caseID)
	if err != nil {
		return nil, "", fmt.Errorf("casebook: read case %s: %w", caseID, err)
	}
	head := ""
	entries := make([]Entry, 0, len(links))
	for _, l := range links {
		e, err := DecodeRecord(l.Record)
		if err != nil {
			return nil, "", err
		}
		entries = append(entries, e)
		head = l.Hash
	}
	return entries, head, nil
}

// DecodeRecord reads an entry from a record and refuses one whose ID or case differs from the record's.
func DecodeRecord(r Record) (Entry, error) {
	var e Entry
	if err := json.Unmarshal(r.Bytes, &e); err != nil {
		return Entry{}, fmt.Errorf("casebook: entry %s of case %s cannot be read: %w", r.ID, r.Case, err)
	}
	if e.ID != r.ID || e.Case != r.Case {
		return Entry{}, fmt.Errorf("casebook: record %s of case %s holds entry %s of case %s: %w", r.ID, r.Case, e.ID, e.Case, ErrBroken)
	}
	return e, nil
}
