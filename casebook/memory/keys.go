package memory

import (
	"bytes"
	"context"
	"fmt"
	"slices"

	"lowtide/casebook"
)

var _ casebook.KeyStore = (*Store)(nil)

// KeyMeta implements [casebook.KeyStore].
func (s *Store) KeyMeta(ctx context.Context) (casebook.KeyMeta, bool, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.ready(ctx); err != nil {
		return casebook.KeyMeta{}, false, err
	}
	return s.meta, s.meta.ID != "", nil
}

// KeyChain implements [casebook.KeyStore].
func (s *Store) KeyChain(ctx context.Context, mac casebook.ChainMAC) (filled int64, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.ready(ctx); err != nil {
		return 0, err
	}
	s.chain = mac
	for _, l := range s.links {
		if l.MAC != nil {
			return 0, nil
		}
	}
	links := slices.Clone(s.links)
	for i := range links {
		l := &links[i]
		l.MAC = mac(l.Seq, l.Hash)
	}
	if err := s.keep(Change{Links: links}); err != nil {
		return 0, fmt.Errorf("memory: start the keyed chain: %w", err)
	}
	return int64(len(s.links)), nil
}

// StartKeys implements [casebook.KeyStore].
func (s *Store) StartKeys(ctx context.Context, meta casebook.KeyMeta) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.ready(ctx); err != nil {
		return err
	}
	if len(s.links)+len(s.blobs) > 0 {
		return fmt.Errorf("memory: start sealing: %w", casebook.ErrPlain)
	}
	if s.meta.ID != "" {
		return fmt.Errorf("memory: start sealing: the store has a key already")
	}
	if err := s.keep(Change{Meta: &meta}); err != nil {
		return fmt.Errorf("memory: start sealing: %w", err)
	}
	return nil
}

// CaseKey implements [casebook.KeyStore].
func (s *Store) CaseKey(ctx context.Context, caseID string) (casebook.CaseKey, bool, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.ready(ctx); err != nil {
		return casebook.CaseKey{}, false, err
	}
	k, ok := s.keys[caseID]
	return copyKey(k), ok, nil
}

func copyKey(k casebook.CaseKey) casebook.CaseKey {
	k.Wrapped = bytes.Clone(k.Wrapped)
	return k
}

// AddCaseKey implements [casebook.KeyStore].
func (s *Store) AddCaseKey(ctx context.Context, keyID string, k casebook.CaseKey) (casebook.CaseKey, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.ready(ctx); err != nil {
		return casebook.CaseKey{}, err
	}
	if s.meta.ID == "" || s.meta.ID != keyID {
		return casebook.CaseKey{}, fmt.Errorf("memory: keep the key of case %q: %w", k.Case, casebook.ErrStale)
	}
	if kept, ok := s.keys[k.Case]; ok {
		return copyKey(kept), nil
	}
	if err := s.keep(Change{Keys: []casebook.CaseKey{k}}); err != nil {
		return casebook.CaseKey{}, fmt.Errorf("memory: keep the key of case %q: %w", k.Case, err)
	}
	return copyKey(k), nil
}

// CaseKeys implements [casebook.KeyStore].
func (s *Store) CaseKeys(ctx context.Context) ([]casebook.CaseKey, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.ready(ctx); err != nil {
		return nil, err
	}
	list := make([]casebook.CaseKey, 0, len(s.keyIDs))
	for _, id := range s.keyIDs {
		list = append(list, copyKey(s.keys[id]))
	}
	return list, nil
}

// Rewrap implements [casebook.KeyStore].
func (s *Store) Rewrap(ctx context.Context, from string, to casebook.KeyMeta, wrap func(casebook.CaseKey) ([]byte, error), head string, ledger casebook.Record) (string, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.ready(ctx); err != nil {
		return "", err
	}
	if s.meta.ID == "" || s.meta.ID != from {
		return "", fmt.Errorf("memory: change the store's key: %w", casebook.ErrStale)
	}
	fresh := make([]casebook.CaseKey, 0, len(s.keys))
	for _, k := range s.keys {
		if k.ErasedBy == "" {
			wrapped, err := wrap(copyKey(k))
			if err != nil {
				return "", fmt.Errorf("memory: change the store's key: %w", err)
			}
			k.Wrapped = bytes.Clone(wrapped)
		}
		fresh = append(fresh, k)
	}
	return s.append(ledger.Case, head, []casebook.Record{ledger}, Change{Meta: &to, Keys: fresh})
}

// EraseKey implements [casebook.KeyStore].
func (s *Store) EraseKey(ctx context.Context, cases []string, head string, ledger casebook.Record) (string, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.ready(ctx); err != nil {
		return "", err
	}
	for _, caseID := range cases {
		k, ok := s.keys[caseID]
		switch {
		case !ok:
			return "", fmt.Errorf("memory: erase case %q: %w", caseID, casebook.ErrNotFound)
		case k.ErasedBy != "":
			return "", fmt.Errorf("memory: erase case %q: %w", caseID, casebook.ErrErased)
		}
	}
	gone := make([]casebook.CaseKey, len(cases))
	for i, caseID := range cases {
		gone[i] = casebook.CaseKey{Case: caseID, ErasedBy: ledger.ID}
	}
	return s.append(ledger.Case, head, []casebook.Record{ledger}, Change{Keys: gone})
}
