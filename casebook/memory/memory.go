// Package memory keeps records and blobs in the memory of the process, under the contract of
// [casebook.Store]: for the demo and for tests, where nothing outlives the process, and for the browser, where
// every change is first written through to the browser's own storage: see [Keeper].
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
	// notes are kept beside the records, by name; with a keeper only small ones are held here, and large ones are nil.
	notes map[string][]byte
	// keeper is nil when nothing outlives the process.
	keeper Keeper
}

var _ casebook.Store = (*Store)(nil)

// New returns an empty store.
func New() *Store {
	return &Store{byID: map[string]int{}, byCase: map[string][]int{}, blobs: map[string][]byte{}, notes: map[string][]byte{}}
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
	return s.AppendWith(ctx, caseID, head, nil, records...)
}

// AppendWith is Append that also keeps notes: both or neither, and no note when every record is kept already. A note
// without bytes takes the one of its name away.
func (s *Store) AppendWith(ctx context.Context, caseID, head string, notes map[string][]byte, records ...casebook.Record) (string, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.ready(ctx); err != nil {
		return "", err
	}
	return s.append(caseID, head, records, Change{Notes: notes})
}

// append keeps the records together with what else a change holds; the lock must be held.
func (s *Store) append(caseID, head string, records []casebook.Record, with Change) (string, error) {
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
	if len(fresh) == 0 {
		return current, nil
	}
	with.Links = s.linksOf(fresh)
	if err := s.keep(with); err != nil {
		return "", fmt.Errorf("memory: append to case %q: %w", caseID, err)
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

// linksOf makes the links that continue the chain with the records.
func (s *Store) linksOf(fresh []casebook.Record) []casebook.Link {
	prev, seq := "", int64(len(s.links))
	if seq > 0 {
		prev = s.links[seq-1].Hash
	}
	links := make([]casebook.Link, 0, len(fresh))
	for _, r := range fresh {
		r.Bytes = bytes.Clone(r.Bytes)
		seq++
		prev = casebook.ChainHash(prev, r)
		l := casebook.Link{Record: r, Seq: seq, Hash: prev}
		if s.chain != nil {
			l.MAC = s.chain(l.Seq, l.Hash)
		}
		links = append(links, l)
	}
	return links
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
	if _, ok := s.blobs[hash]; ok {
		return hash, nil
	}
	if err := s.keep(Change{Blobs: map[string][]byte{hash: kept}}); err != nil {
		return "", fmt.Errorf("memory: keep blob %s: %w", hash, err)
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
	if s.keeper != nil {
		return s.keeper.Blob(hash)
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

// Close lets go of everything that was kept in memory.
func (s *Store) Close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.closed = true
	s.links, s.byID, s.byCase, s.caseIDs, s.blobs, s.blobIDs = nil, nil, nil, nil, nil, nil
	s.meta, s.keys, s.keyIDs, s.notes = casebook.KeyMeta{}, nil, nil, nil
	if s.keeper != nil {
		return s.keeper.Close()
	}
	return nil
}
