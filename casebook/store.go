package casebook

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
)

// Record is what a store keeps: an entry's bytes under its ID. A store never looks into Bytes, so they can
// be sealed before it sees them.
type Record struct {
	ID    string
	Case  string
	Bytes []byte
}

// Link is a record in its place in the store's chain.
type Link struct {
	Record
	// Seq counts from 1 without gaps.
	Seq int64
	// Hash is ChainHash of the previous link's hash and this record.
	Hash string
	// MAC is the link in the keyed chain: see [ChainMAC]. Only [Store.Feed] gives it; nil for a link that has none.
	MAC []byte
}

// Mark is a place in a store's chain: how many links there were, and the hash of the last. Noted somewhere else, it
// shows later that nothing was cut off the end and that the chain was not made anew.
type Mark struct {
	Count int64  `json:"count"`
	Head  string `json:"head"`
}

// ChainMAC authenticates a link by its place and hash, with a key that the store does not have. Since the hash covers
// all links before it, whoever makes the open chain anew cannot make the keyed one fit without the key.
type ChainMAC func(seq int64, hash string) []byte

// TakesNothing tells that an error is about a medium that takes nothing now, and can be read all the same.
func TakesNothing(err error) bool {
	return errors.Is(err, ErrFull) || errors.Is(err, ErrReadOnly) || errors.Is(err, ErrBusy)
}

// Holds tells whether the store holds the marked link: false when it has fewer links, or another one in its place.
func Holds(ctx context.Context, s Store, m Mark) (holds bool, err error) {
	if m.Count == 0 {
		return true, nil
	}
	links, err := s.Feed(ctx, m.Count-1, 1)
	return err == nil && len(links) == 1 && links[0].Hash == m.Head, err
}

// CaseHead is a case with the hash of its latest link.
type CaseHead struct {
	Case  string
	Head  string
	Count int
}

// Errors that a store returns, wrapped with detail.
var (
	// ErrStale: the case's head is no longer the one that the caller named. Read again and retry.
	ErrStale = errors.New("the case has changed since it was read")
	// ErrConflict: the ID is there with other bytes, or in another case. Nothing was written.
	ErrConflict = errors.New("an entry with this ID and other content is already kept")
	// ErrNotFound: no such blob.
	ErrNotFound = errors.New("not found")
	// ErrFull, ErrReadOnly and ErrBusy: the medium takes nothing now. Nothing was written; what is kept can be read.
	ErrFull     = errors.New("the disk is full and nothing was written")
	ErrReadOnly = errors.New("the store can only be read, nothing was written")
	ErrBusy     = errors.New("another program holds the store, nothing was written")
	// ErrBroken: the chain, a hash or a head does not hold.
	ErrBroken = errors.New("the store does not verify")
)

// Store keeps records and blobs. Every implementation promises:
//
//   - Append is all or nothing and durable when it returns nil.
//   - The same record twice is kept once; a batch of which every record is already kept succeeds whatever
//     head the caller names. The same ID with other bytes or another case is ErrConflict.
//   - head is the case's head as the caller read it ("" for a new case); if it has moved and the batch
//     holds a new record, Append returns ErrStale and writes nothing. The returned head is the new one.
//   - There is no update and no delete, and the medium refuses both.
//   - Blobs are keyed by the SHA-256 (hex) of their bytes.
//
// Methods may be called from several goroutines.
type Store interface {
	Append(ctx context.Context, caseID, head string, records ...Record) (newHead string, err error)
	// Case returns the case's links in the order in which they were kept; none is not an error.
	Case(ctx context.Context, caseID string) ([]Link, error)
	// Mark is the end of the chain as it is now.
	Mark(ctx context.Context) (Mark, error)
	// Cases returns every case, ordered by ID.
	Cases(ctx context.Context) ([]CaseHead, error)
	// Feed returns up to limit links with Seq greater than after, in order.
	Feed(ctx context.Context, after int64, limit int) ([]Link, error)
	PutBlob(ctx context.Context, content []byte) (hash string, err error)
	Blob(ctx context.Context, hash string) ([]byte, error)
	// BlobHashes returns the hashes of all blobs, ordered.
	BlobHashes(ctx context.Context) ([]string, error)
	Close() error
}

// ChainHash is the hash of a link: SHA-256 over the previous hash and the record, each part preceded by
// its length in eight big-endian bytes, so that no two different records share their input.
func ChainHash(prev string, r Record) string {
	h := sha256.New()
	for _, part := range [][]byte{[]byte(prev), []byte(r.ID), []byte(r.Case), r.Bytes} {
		var n [8]byte
		binary.BigEndian.PutUint64(n[:], uint64(len(part)))
		h.Write(n[:])
		h.Write(part)
	}
	return hex.EncodeToString(h.Sum(nil))
}

// BlobHash is the key of a blob.
func BlobHash(content []byte) string {
	sum := sha256.Sum256(content)
	return hex.EncodeToString(sum[:])
}
