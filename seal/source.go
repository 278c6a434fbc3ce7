package seal

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"lowtide/casebook"
)

// Store is a store that can be sealed.
type Store interface {
	casebook.Store
	casebook.KeyStore
}

// Source is where a store's key comes from.
type Source struct {
	// File is the key file.
	File string
	// Passphrase asks for the passphrase; again is true when a new one is chosen, which is asked for twice. It is
	// nil when nobody can be asked.
	Passphrase func(again bool) (string, error)
	// Prefer is the kind of key of a new store: FromFile or FromPassphrase.
	Prefer string
	Random io.Reader
}

// ErrNoKey: there is no key to open the store with.
var ErrNoKey = errors.New("the store's key is not at hand")

func (s Source) next() string { return s.File + ".next" }

// Begin opens the keys of a store that is open for writing, and starts sealing one that holds nothing yet: then
// a key file is made if there is none. A rotation that was cut short is brought to its end.
//
// Errors: [casebook.ErrPlain] for a store with plain entries, [ErrNoKey], [ErrWrongKey], [ErrOpenToOthers].
func (s Source) Begin(ctx context.Context, store Store) (*Keys, error) {
	_, sealed, err := store.KeyMeta(ctx)
	if err != nil {
		return nil, err
	}
	if sealed {
		return s.Unlock(ctx, store, true)
	}
	if links, err := store.Feed(ctx, 0, 1); err != nil {
		return nil, err
	} else if len(links) > 0 {
		return nil, fmt.Errorf("seal: %w: make a sealed copy with: lowtide seal OLD NEW", casebook.ErrPlain)
	}
	key, err := s.first()
	if err != nil {
		return nil, err
	}
	return Start(ctx, store, key, s.Random)
}

// first is the key of a new store. A key file that is there is used: a start that was cut short left it, or it
// was put there on purpose. It is on the medium before the store is sealed with it.
func (s Source) first() (Key, error) {
	if s.Prefer == FromPassphrase {
		return s.newPassphrase()
	}
	key, err := ReadKeyFile(s.File)
	if !errors.Is(err, fs.ErrNotExist) {
		return key, err
	}
	if key, err = NewKey(s.Random); err != nil {
		return key, err
	}
	return key, WriteKeyFile(s.File, key)
}

func (s Source) newPassphrase() (Key, error) {
	if s.Passphrase == nil {
		return Key{}, fmt.Errorf("seal: %w: nobody can be asked for the passphrase", ErrNoKey)
	}
	text, err := s.Passphrase(true)
	if err != nil {
		return Key{}, err
	}
	return NewPassphraseKey(text, s.Random)
}

// Unlock opens the keys of a sealed store. finish, for who has the store open for writing, also brings the files
// of a rotation that was cut short into order.
func (s Source) Unlock(ctx context.Context, store casebook.KeyStore, finish bool) (*Keys, error) {
	meta, sealed, err := store.KeyMeta(ctx)
	switch {
	case err != nil:
		return nil, err
	case !sealed:
		return nil, fmt.Errorf("seal: %w", casebook.ErrPlain)
	case meta.Kind == FromPassphrase:
		return s.unlockPassphrase(ctx, store, meta)
	}
	key, err := ReadKeyFile(s.File)
	if err == nil && key.ID() == meta.ID {
		if finish {
			// A rotation that did not get as far as the store: nothing was ever wrapped by its key.
			if err := os.Remove(s.next()); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return nil, err
			}
		}
		return Open(ctx, store, key, s.Random)
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	next, nextErr := ReadKeyFile(s.next())
	if nextErr == nil && next.ID() == meta.ID {
		if finish {
			if err := s.install(key, err == nil); err != nil {
				return nil, err
			}
		}
		return Open(ctx, store, next, s.Random)
	}
	if err != nil {
		return nil, fmt.Errorf("seal: %w: there is no key file %s; the store was sealed with key %s. Put the key file back from where its copy is kept, or name it with --key", ErrNoKey, s.File, meta.ID)
	}
	return nil, fmt.Errorf("seal: %w: key file %s holds key %s, and the store was sealed with key %s; nothing was changed. Name the right one with --key", ErrWrongKey, s.File, key.ID(), meta.ID)
}

func (s Source) unlockPassphrase(ctx context.Context, store casebook.KeyStore, meta casebook.KeyMeta) (*Keys, error) {
	if s.Passphrase == nil {
		return nil, fmt.Errorf("seal: %w: the store is sealed with a passphrase: add --passphrase", ErrNoKey)
	}
	text, err := s.Passphrase(false)
	if err != nil {
		return nil, err
	}
	key, err := PassphraseKey(text, meta)
	if err != nil {
		return nil, err
	}
	return Open(ctx, store, key, s.Random)
}

// Old is where a rotation leaves the key file that it replaces: backups that were made before and do not hold
// their key still need it.
func (s Source) Old(id string) string { return s.File + ".old-" + id }

// install puts the new key file in its place. The old one is kept aside first; each step can be cut short and
// done again.
func (s Source) install(old Key, there bool) error {
	if there {
		if err := os.Rename(s.File, s.Old(old.ID())); err != nil {
			return err
		}
	}
	if err := os.Rename(s.next(), s.File); err != nil {
		return err
	}
	return syncFolder(filepath.Dir(s.File))
}

// Rotate gives the store a new key of the kind to. A new key file is on the medium, as FILE.next, before the store
// is wrapped by it, and takes its place after: whatever is cut short, one of the two files opens the store, and
// the next Begin brings them into order. A passphrase needs no file; an old key file is then put aside.
func (s Source) Rotate(ctx context.Context, store Store, keys *Keys, to string, d Deed) error {
	old := keys.Key()
	if to == FromPassphrase {
		key, err := s.newPassphrase()
		if err != nil {
			return err
		}
		err = keys.Rotate(ctx, store, key, d)
		if done(err) && old.meta.Kind == FromFile {
			err = errors.Join(err, os.Rename(s.File, s.Old(old.ID())), syncFolder(filepath.Dir(s.File)))
		}
		return err
	}
	key, err := NewKey(s.Random)
	if err != nil {
		return err
	}
	// What a rotation that never reached the store has left goes first; Begin knew that it is not in use.
	if err := os.Remove(s.next()); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if err := WriteKeyFile(s.next(), key); err != nil {
		return err
	}
	err = keys.Rotate(ctx, store, key, d)
	if !done(err) {
		return err
	}
	_, statErr := os.Stat(s.File)
	return errors.Join(err, s.install(old, statErr == nil))
}

func done(err error) bool { return err == nil || errors.Is(err, casebook.ErrLingers) }
