package memory

import (
	"bytes"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"lowtide/casebook"
)

// Keeper writes what a store is about to hold to a medium that outlives the process, and reads blobs back, which are too
// large to stay in memory.
type Keeper interface {
	// Keep writes a change, all of it or nothing, and returns when it is on the medium. While it runs the store waits.
	Keep(Change) error
	// Blob and Note read what Keep wrote.
	Blob(hash string) ([]byte, error)
	Note(name string) ([]byte, error)
	Close() error
}

// Change is what one step of a store adds or replaces. A part that is nil is left as it is.
type Change struct {
	// Links are new ones, or those of an older store with their MAC.
	Links []casebook.Link
	Keys  []casebook.CaseKey
	Meta  *casebook.KeyMeta
	Blobs map[string][]byte
	// Notes without bytes are taken away.
	Notes map[string][]byte
	// Anew says that Links are all there are from now on, and Gone and GoneBlobs what goes with those that are not: keys of
	// cases, and blobs.
	Anew      bool
	Gone      []string
	GoneBlobs []string
}

// largeNote is the size in bytes from which a note is read from the medium each time.
const largeNote = 16 << 10

// Contents is what a medium held when it was opened.
type Contents struct {
	// Links in order, from 1 without gaps.
	Links []casebook.Link
	Keys  []casebook.CaseKey
	Meta  casebook.KeyMeta
	// Blobs are the hashes.
	Blobs []string
	// Notes may be without bytes: those are read when they are asked for.
	Notes map[string][]byte
}

// Through returns a store over what a medium holds, which writes every change through to it. Error: [casebook.ErrBroken]
// when the chain of the links does not hold: then nothing may be added to it.
func Through(held Contents, keeper Keeper) (*Store, error) {
	s := New()
	prev := ""
	for i, l := range held.Links {
		if prev = casebook.ChainHash(prev, l.Record); l.Seq != int64(i)+1 || l.Hash != prev {
			return nil, fmt.Errorf("memory: link %d: %w: the chain does not hold", i+1, casebook.ErrBroken)
		}
		s.addLink(l)
	}
	s.apply(Change{Keys: held.Keys})
	for name, content := range held.Notes {
		s.notes[name] = content
	}
	if held.Meta.ID != "" {
		s.apply(Change{Meta: &held.Meta})
	}
	for _, hash := range held.Blobs {
		s.blobs[hash] = nil
		s.blobIDs = insert(s.blobIDs, hash)
	}
	s.keeper = keeper
	return s, nil
}

// keep writes a change through and then holds it; the lock must be held.
func (s *Store) keep(c Change) error {
	if s.keeper != nil {
		if err := s.keeper.Keep(c); err != nil {
			return err
		}
	}
	s.apply(c)
	return nil
}

func (s *Store) apply(c Change) {
	if c.Anew {
		s.links, s.byID, s.byCase, s.caseIDs = nil, map[string]int{}, map[string][]int{}, nil
	}
	for _, id := range c.Gone {
		clear(s.keys[id].Wrapped)
		delete(s.keys, id)
		s.keyIDs = slices.DeleteFunc(s.keyIDs, func(k string) bool { return k == id })
	}
	for _, hash := range c.GoneBlobs {
		delete(s.blobs, hash)
		s.blobIDs = slices.DeleteFunc(s.blobIDs, func(b string) bool { return b == hash })
	}
	for _, l := range c.Links {
		if l.Seq <= int64(len(s.links)) {
			s.links[l.Seq-1] = l
		} else {
			s.addLink(l)
		}
	}
	if c.Meta != nil {
		s.meta = *c.Meta
		if s.keys == nil {
			s.keys = map[string]casebook.CaseKey{}
		}
	}
	for _, k := range c.Keys {
		if s.keys == nil {
			s.keys = map[string]casebook.CaseKey{}
		}
		clear(s.keys[k.Case].Wrapped) // an erased or replaced key leaves no trace
		s.keys[k.Case] = copyKey(k)
		s.keyIDs = insert(s.keyIDs, k.Case)
	}
	for hash, content := range c.Blobs {
		if s.keeper != nil {
			content = nil
		}
		s.blobs[hash] = content
		s.blobIDs = insert(s.blobIDs, hash)
	}
	for name, content := range c.Notes {
		switch {
		case len(content) == 0:
			delete(s.notes, name)
		case s.keeper != nil && len(content) >= largeNote:
			s.notes[name] = nil
		default:
			s.notes[name] = bytes.Clone(content)
		}
	}
}

func (s *Store) addLink(l casebook.Link) {
	at := len(s.links)
	s.links = append(s.links, l)
	s.byID[l.ID] = at
	if len(s.byCase[l.Case]) == 0 {
		s.caseIDs = insert(s.caseIDs, l.Case)
	}
	s.byCase[l.Case] = append(s.byCase[l.Case], at)
}

// PutNotes keeps notes, all or none, in the place of those of the same name; one without bytes is taken away.
func (s *Store) PutNotes(ctx context.Context, notes map[string][]byte) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.ready(ctx); err != nil {
		return err
	}
	if err := s.keep(Change{Notes: notes}); err != nil {
		return fmt.Errorf("memory: keep notes: %w", err)
	}
	return nil
}

// Note returns the note of the name; nil when there is none.
func (s *Store) Note(ctx context.Context, name string) ([]byte, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.ready(ctx); err != nil {
		return nil, err
	}
	content, there := s.notes[name]
	if there && content == nil && s.keeper != nil {
		return s.keeper.Note(name)
	}
	return bytes.Clone(content), nil
}

// Forget drops cases with their keys and blobs, and makes the chain of the others anew. It is for a copy whose original is
// kept elsewhere, such as the one on a nurse's phone, and no part of [casebook.Store]: a store that is the original keeps
// everything.
func (s *Store) Forget(ctx context.Context, cases, blobs []string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.ready(ctx); err != nil {
		return err
	}
	var rest []casebook.Record
	for _, l := range s.links {
		if !slices.Contains(cases, l.Case) {
			rest = append(rest, l.Record)
		}
	}
	old := s.links
	s.links = nil // linksOf starts the chain anew
	links := s.linksOf(rest)
	s.links = old
	if err := s.keep(Change{Anew: true, Links: links, Gone: cases, GoneBlobs: blobs}); err != nil {
		return fmt.Errorf("memory: forget cases: %w", err)
	}
	return nil
}

// NoteNames lists the names of the notes that start with prefix, ordered.
func (s *Store) NoteNames(ctx context.Context, prefix string) ([]string, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.ready(ctx); err != nil {
		return nil, err
	}
	return slices.DeleteFunc(slices.Sorted(maps.Keys(s.notes)), func(name string) bool { return !strings.HasPrefix(name, prefix) }), nil
}
