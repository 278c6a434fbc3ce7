package casebook

import (
	"bytes"
	"errors"
	"fmt"
	"unicode"
	"unicode/utf8"
)

// MaxKeyLen is the greatest length in bytes of an entry's or a case's ID: far above a UUID, and short
// enough for an index of any database.
const MaxKeyLen = 200

// ErrBadRecord: a record cannot be kept as it is: an ID that is empty, too long or not printable text, or a
// record of one case in a batch for another. Nothing was written.
var ErrBadRecord = errors.New("the record cannot be kept")

// PlanAppend judges a batch before anything is written and returns the records that are new, in order. Every
// store calls it, so that all stores accept and refuse alike.
//
// current is the case's head as it is now ("" for a case without records); head is what the caller read.
// kept looks up a record by ID among everything that the store holds; it must see the same moment as current.
//
// Errors, the first that applies: [ErrBadRecord], [ErrConflict], [ErrStale], or what kept returned.
func PlanAppend(caseID, head, current string, records []Record, kept func(id string) (Record, bool, error)) ([]Record, error) {
	if err := checkKey("case", caseID); err != nil {
		return nil, err
	}
	var fresh []Record
	inBatch := make(map[string]Record, len(records))
	for _, r := range records {
		if err := checkKey("entry", r.ID); err != nil {
			return nil, err
		}
		if r.Case != caseID {
			return nil, fmt.Errorf("%w: entry %s is of case %q, not %q", ErrBadRecord, r.ID, r.Case, caseID)
		}
		old, found := inBatch[r.ID]
		if !found {
			var err error
			if old, found, err = kept(r.ID); err != nil {
				return nil, err
			}
		}
		switch {
		case !found:
			fresh = append(fresh, r)
			inBatch[r.ID] = r
		case old.Case != r.Case || !bytes.Equal(old.Bytes, r.Bytes):
			return nil, fmt.Errorf("%w: entry %s", ErrConflict, r.ID)
		}
	}
	if len(fresh) > 0 && head != current {
		return nil, ErrStale
	}
	return fresh, nil
}

// checkKey refuses IDs that some database would cut, reorder or not take: every store then keeps the same.
func checkKey(what, key string) error {
	switch {
	case key == "":
		return fmt.Errorf("%w: the %s has no ID", ErrBadRecord, what)
	case len(key) > MaxKeyLen:
		return fmt.Errorf("%w: the %s's ID has %d bytes, at most %d are kept", ErrBadRecord, what, len(key), MaxKeyLen)
	case !utf8.ValidString(key):
		return fmt.Errorf("%w: the %s's ID %q is not UTF-8", ErrBadRecord, what, key)
	}
	for _, r := range key {
		if unicode.IsControl(r) {
			return fmt.Errorf("%w: the %s's ID %q holds a control character", ErrBadRecord, what, key)
		}
	}
	return nil
}
