// Package memory keeps records and blobs in the memory of the process, under the contract of
// [casebook.Store]: for the demo, for tests, and for the browser, where every record is also written through
// to the browser's own storage. Nothing outlives the process.
package memory

import (
	"bytes"
	"context"
	"fmt"
	"io/fs"
	"slices"
	"sync"

	"lowtide/casebook"
)

// Store is a [casebook.Store] in memory. Make one with [New].
type Store struct {
	mu     sync.RWMutex
	closed bool
	links  []casebook.Link
	// byID and byCase hold places in links.
	byID   map[string]int
	byCase map[string][]int
	// caseIDs and blobIDs are kept in order.
	caseIDs []string
	blobs   map[string][]byte
	blobIDs []string
	// meta has no ID in a plain store; keyIDs are the cases with a key, in order.
	meta   casebook.KeyMeta
	keys   map[string]casebook.CaseKey
	chain  casebook.ChainMAC
	keyIDs []string
}

var _ casebook.Store = (*Store)(nil)

// New returns an empty store.
func New() *Store {
	return &Store{byID: map[string]int{}, byCase: map[string][]int{}, blobs: map[string][]byte{}}
}

// ready tells why a method cannot go on; the lock must be held.
func (s *Store) ready(ctx context.Context) error {
	if s.closed {
		return fmt.Errorf("memory: the store is closed: %w", fs.ErrClosed)
	}
	return ctx.Err()
}

// Append implements [casebook.Store].
func (s *Store) Append(ctx context.Context, caseID, head string, records ...casebook.Record) (string, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.ready(ctx); err != nil {
		return "", err
	}
	return s.append(caseID, head, records)
}

// append appends; the lock must be held.
func (s *Store) append(caseID, head string, records []casebook.Record) (string, error) {
	current := s.head(caseID)
	fresh, err := casebook.PlanAppend(caseID, head, current, records, func(id string) (casebook.Record, bool, error) {
		at, ok := s.byID[id]
		if !ok {
			return casebook.Record{}, false, nil
		}
		return s.links[at].Record, true, nil
	})
	if err != nil {
		return "", fmt.Errorf("memory: append to case %q: %w", caseID, err)
	}
	if len(fresh) > 0 && s.keys[caseID].ErasedBy != "" {
		return "", fmt.Errorf("memory: append to case %q: %w", caseID, casebook.ErrErased)
	}
	for _, r := range fresh {
		if s.meta.ID != "" && !casebook.IsSealed(r.Bytes) {
			return "", fmt.Errorf("memory: append to case %q: a sealed store takes no plain record", caseID)
		}
	}
	for _, r := range fresh {
		s.keep(r)
	}
	return s.head(caseID), nil
}

func (s *Store) head(caseID string) string {
	places := s.byCase[caseID]
	if len(places) == 0 {
		return ""
	}
	return s.links[places[len(places)-1]].Hash
}

func (s *Store) keep(r casebook.Record) {
	r.Bytes = bytes.Clone(r.Bytes)
	prev := ""
	if n := len(s.links); n > 0 {
		prev = s.links[n-1].Hash
	}
	at := len(s.links)
	l := casebook.Link{Record: r, Seq: int64(at) + 1, Hash: casebook.ChainHash(prev, r)}
	if s.chain != nil {
		l.MAC = s.chain(l.Seq, l.Hash)
	}
	s.links = append(s.links, l)
	s.byID[r.ID] = at
	if len(s.byCase[r.Case]) == 0 {
		s.caseIDs = insert(s.caseIDs, r.Case)
	}
	s.byCase[r.Case] = append(s.byCase[r.Case], at)
}

// insert keeps an ordered list without repeats ordered.
func insert(list []string, item string) []string {
	at, found := slices.BinarySearch(list, item)
	if found {
		return list
	}
	return slices.Insert(list, at, item)
}

// handOut copies a link, so that no reader can change what is kept.
func handOut(l casebook.Link) casebook.Link {
	l.Bytes, l.MAC = bytes.Clone(l.Bytes), bytes.Clone(l.MAC)
	return l
}

// Case implements [casebook.Store].
func (s *Store) Case(ctx context.Context, caseID string) ([]casebook.Link, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.ready(ctx); err != nil {
		return nil, err
	}
	places := s.byCase[caseID]
	links := make([]casebook.Link, 0, len(places))
	for _, at := range places {
		l := handOut(s.links[at])
		l.MAC = nil
		links = append(links, l)
	}
	return links, nil
}

// Mark implements [casebook.Store].
func (s *Store) Mark(ctx context.Context) (casebook.Mark, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.ready(ctx); err != nil {
		return casebook.Mark{}, err
	}
	m := casebook.Mark{Count: int64(len(s.links))}
	if m.Count > 0 {
		m.Head = s.links[m.Count-1].Hash
	}
	return m, nil
}

// Cases implements [casebook.Store].
func (s *Store) Cases(ctx context.Context) ([]casebook.CaseHead, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.ready(ctx); err != nil {
		return nil, err
	}
	heads := make([]casebook.CaseHead, 0, len(s.caseIDs))
	for _, id := range s.caseIDs {
		heads = append(heads, casebook.CaseHead{Case: id, Head: s.head(id), Count: len(s.byCase[id])})
	}
	return heads, nil
}

// Feed implements [casebook.Store].
func (s *Store) Feed(ctx context.Context, after int64, limit int) ([]casebook.Link, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.ready(ctx); err != nil {
		return nil, err
	}
	from := min(max(after, 0), int64(len(s.links)))
	rest := s.links[from:]
	rest = rest[:min(max(limit, 0), len(rest))]
	links := make([]casebook.Link, 0, len(rest))
	for _, l := range rest {
		links = append(links, handOut(l))
	}
	return links, nil
}

// PutBlob implements [casebook.Store].
func (s *Store) PutBlob(ctx context.Context, content []byte) (string, error) {
	// Hashing and copying a large photo needs no lock.
	hash, kept := casebook.BlobHash(content), bytes.Clone(content)
	if kept == nil {
		kept = []byte{}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.ready(ctx); err != nil {
		return "", err
	}
	if s.meta.ID != "" && !casebook.IsSealed(content) {
		return "", fmt.Errorf("memory: keep blob %s: a sealed store takes no plain blob", hash)
	}
	if _, ok := s.blobs[hash]; !ok {
		s.blobs[hash] = kept
		s.blobIDs = insert(s.blobIDs, hash)
	}
	return hash, nil
}

// Blob implements [casebook.Store].
func (s *Store) Blob(ctx context.Context, hash string) ([]byte, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.ready(ctx); err != nil {
		return nil, err
	}
	content, ok := s.blobs[hash]
	if !ok {
		return nil, fmt.Errorf("memory: blob %q: %w", hash, casebook.ErrNotFound)
	}
	return bytes.Clone(content), nil
}

// BlobHashes implements [casebook.Store].
func (s *Store) BlobHashes(ctx context.Context) ([]string, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.ready(ctx); err != nil {
		return nil, err
	}
	return append([]string{}, s.blobIDs...), nil
}

// Close lets go of everything that was kept.
func (s *Store) Close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.closed = true
	s.links, s.byID, s.byCase, s.caseIDs, s.blobs, s.blobIDs = nil, nil, nil, nil, nil, nil
	s.meta, s.keys, s.keyIDs = casebook.KeyMeta{}, nil, nil
	return nil
}
