package casebook

import (
	"bytes"
	"context"
	"errors"
)

// SealTag starts every sealed record and blob. An entry's plain bytes start with "{", so the two cannot be
// taken for each other.
const SealTag = "LtS1"

// IsSealed tells whether the bytes claim to be sealed.
func IsSealed(b []byte) bool { return bytes.HasPrefix(b, []byte(SealTag)) }

// Errors of sealed bytes, wrapped with detail.
var (
	// ErrSealed: the bytes are sealed and there is no key for them, or the key is another one.
	ErrSealed = errors.New("sealed, and the key for it is not at hand")
	// ErrErased: the case was erased; its key is gone for good and nobody can read it again.
	ErrErased = errors.New("the case was erased")
	// ErrPlain: the store holds plain entries, which a sealed store must not.
	ErrPlain = errors.New("the store is not sealed")
	// ErrLingers: an erasure or rotation is done and durable, but the medium may still hold the old wrapped key
	// until the store is next opened for writing.
	ErrLingers = errors.New("done, but the old key may not be gone from the disk until the store is next opened for writing")
	// ErrReserved: the case ID is one of the program's own.
	ErrReserved = errors.New("case IDs that start with ~ belong to the program itself")
)

// Sealer turns an entry's plain bytes into those that a store keeps, and back. Methods may be called from
// several goroutines.
type Sealer interface {
	// Seal returns what is kept of r, whose Bytes are plain. The same record gives the same bytes for ever,
	// because a store refuses an ID that comes with other bytes. The first record of a case makes its key.
	// Error: [ErrErased].
	Seal(ctx context.Context, r Record) ([]byte, error)
	// Open appends the plain bytes of r, whose Bytes are sealed, to dst. Errors: [ErrErased], [ErrSealed],
	// and [ErrBroken] when they are not what was sealed for this case and ID.
	Open(ctx context.Context, dst []byte, r Record) ([]byte, error)
	// SealBlob and OpenBlob do the same for a photo or log that belongs to a case.
	SealBlob(ctx context.Context, caseID string, content []byte) ([]byte, error)
	OpenBlob(ctx context.Context, caseID string, sealed []byte) ([]byte, error)
	// Chain makes the links of the keyed chain, with a key that is derived from the ledger's.
	Chain(ctx context.Context) (ChainMAC, error)
	// Erased lists the cases whose key was destroyed, ordered by case.
	Erased(ctx context.Context) ([]CaseKey, error)
}

// KeyMeta says which store key wraps the case keys, and how a passphrase becomes one. None of it is secret.
type KeyMeta struct {
	// ID tells store keys apart: 16 hex digits that are computed from the key.
	ID string
	// Kind is "file", "passphrase" or "derived" (from a case key of another store).
	Kind string
	// Salt, Passes, MemoryKiB and Lanes are the inputs of Argon2id beside the passphrase.
	Salt      []byte
	Passes    uint32
	MemoryKiB uint32
	Lanes     uint8
}

// CaseKey is a case's data key as a store keeps it: wrapped by the store key, or gone.
type CaseKey struct {
	Case    string
	Wrapped []byte
	// ErasedBy is the ID of the ledger's entry that says who erased the case and why; Wrapped is then nil.
	ErasedBy string
}

// KeyStore keeps wrapped case keys beside the records. Unlike records, a wrapped key can be replaced (rotation)
// and destroyed (erasure), and only so. Every implementation promises:
//
//   - A store is sealed from its start or never: StartKeys is [ErrPlain] when records or blobs are kept.
//     From then on the store keeps sealed records and blobs only.
//   - Rewrap and EraseKey change the keys and append the ledger's record in one step: both or neither, and
//     durable on return. head is the ledger's head as the caller read it, else [ErrStale].
//   - A destroyed key leaves no trace in the medium as far as the medium allows, and never comes back;
//     appending to its case is [ErrErased]. [ErrLingers] says that it is done and a trace may remain for now.
type KeyStore interface {
	// KeyChain starts the keyed chain: from now on every link is kept together with its MAC, in the same step. When no
	// link has one yet, those that are there get theirs, which is the case once in a store of an older version; filled
	// is their number.
	KeyChain(ctx context.Context, mac ChainMAC) (filled int64, err error)
	// KeyMeta returns false for a store that is not sealed.
	KeyMeta(ctx context.Context) (KeyMeta, bool, error)
	StartKeys(ctx context.Context, meta KeyMeta) error
	// CaseKey returns false for a case that has no key.
	CaseKey(ctx context.Context, caseID string) (CaseKey, bool, error)
	// AddCaseKey keeps the first key of a case and returns the one that is kept, which is another when
	// somebody was faster. keyID is the store key that wrapped it, else [ErrStale].
	AddCaseKey(ctx context.Context, keyID string, key CaseKey) (CaseKey, error)
	// CaseKeys returns all keys, ordered by case.
	CaseKeys(ctx context.Context) ([]CaseKey, error)
	// Rewrap replaces every wrapped key by what wrap makes of it, and the meta. from is the ID of the store
	// key that is replaced, else [ErrStale].
	Rewrap(ctx context.Context, from string, to KeyMeta, wrap func(CaseKey) ([]byte, error), head string, ledger Record) (newHead string, err error)
	// EraseKey destroys the keys of cases, all or none. Errors: [ErrNotFound] for a case without one, [ErrErased].
	EraseKey(ctx context.Context, cases []string, head string, ledger Record) (newHead string, err error)
}
