package seal

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"

	"golang.org/x/crypto/chacha20poly1305"

	"lowtide/casebook"
)

// Keys seals and opens with the case keys of one store. It is a [casebook.Sealer]; its methods may be called
// from several goroutines.
type Keys struct {
	store  casebook.KeyStore
	random io.Reader

	// mu is held to write by Erase and Rotate, so that nothing is sealed with a key that is about to go.
	mu    sync.RWMutex
	key   Key
	cases sync.Map // case ID -> *caseKey
}

var _ casebook.Sealer = (*Keys)(nil)

// Start seals a store that holds nothing yet. Error: [casebook.ErrPlain].
func Start(ctx context.Context, store casebook.KeyStore, key Key, random io.Reader) (*Keys, error) {
	if err := store.StartKeys(ctx, key.meta); err != nil {
		return nil, fmt.Errorf("seal: %w", err)
	}
	k := &Keys{store: store, key: key, random: random}
	// The ledger's key is made at once, so that who may only read the store can seal a note for it.
	_, err := k.caseKey(ctx, casebook.Ledger, true)
	return k, err
}

// Open opens a sealed store with its key. Errors: [ErrWrongKey], [casebook.ErrPlain].
func Open(ctx context.Context, store casebook.KeyStore, key Key, random io.Reader) (*Keys, error) {
	meta, sealed, err := store.KeyMeta(ctx)
	switch {
	case err != nil:
		return nil, err
	case !sealed:
		return nil, fmt.Errorf("seal: %w", casebook.ErrPlain)
	case meta.ID != key.ID():
		return nil, fmt.Errorf("seal: %w: this is key %s, and the store was sealed with key %s; nothing was changed", ErrWrongKey, key.ID(), meta.ID)
	}
	key.meta = meta
	return &Keys{store: store, key: key, random: random}, nil
}

// Key is the store key in use.
func (k *Keys) Key() Key {
	k.mu.RLock()
	defer k.mu.RUnlock()
	return k.key
}

// Derived is a store key for another store that belongs to this one, made of the data key of a reserved case. It
// stays the same when the store key is rotated.
func (k *Keys) Derived(ctx context.Context, reserved string) (Key, error) {
	if !casebook.Reserved(reserved) {
		return Key{}, fmt.Errorf("seal: a key is only derived from a reserved case, not from %q", reserved)
	}
	k.mu.RLock()
	defer k.mu.RUnlock()
	c, err := k.caseKey(ctx, reserved, true)
	if err != nil {
		return Key{}, err
	}
	return keyOf(subkey(c.dataKey, "lowtide derived store key 1", chacha20poly1305.KeySize), casebook.KeyMeta{Kind: FromCase}), nil
}

// OpenBeside opens another store that belongs to this one with the key that is derived for it.
func (k *Keys) OpenBeside(ctx context.Context, store casebook.KeyStore, reserved string) (*Keys, error) {
	key, err := k.Derived(ctx, reserved)
	if err != nil {
		return nil, err
	}
	return Open(ctx, store, key, k.random)
}

// caseKey finds the key of a case, or makes it. The lock must be held.
func (k *Keys) caseKey(ctx context.Context, caseID string, make bool) (*caseKey, error) {
	if c, ok := k.cases.Load(caseID); ok {
		return c.(*caseKey), nil
	}
	kept, ok, err := k.store.CaseKey(ctx, caseID)
	if err == nil && !ok {
		if !make {
			return nil, fmt.Errorf("seal: case %s has no key: %w", caseID, casebook.ErrSealed)
		}
		kept, err = k.newCaseKey(ctx, caseID)
	}
	switch {
	case err != nil:
		return nil, err
	case kept.ErasedBy != "":
		return nil, fmt.Errorf("seal: case %s: %w", caseID, casebook.ErrErased)
	}
	dataKey, err := k.key.unwrap(caseID, kept.Wrapped)
	if err != nil {
		return nil, err
	}
	c, _ := k.cases.LoadOrStore(caseID, newCaseKey(caseID, dataKey))
	return c.(*caseKey), nil
}

func (k *Keys) newCaseKey(ctx context.Context, caseID string) (casebook.CaseKey, error) {
	dataKey := make([]byte, chacha20poly1305.KeySize)
	if _, err := io.ReadFull(k.random, dataKey); err != nil {
		return casebook.CaseKey{}, fmt.Errorf("seal: draw a key: %w", err)
	}
	wrapped, err := k.key.wrap(caseID, dataKey, k.random)
	if err != nil {
		return casebook.CaseKey{}, err
	}
	return k.store.AddCaseKey(ctx, k.key.ID(), casebook.CaseKey{Case: caseID, Wrapped: wrapped})
}

// Seal implements [casebook.Sealer].
func (k *Keys) Seal(ctx context.Context, r casebook.Record) ([]byte, error) {
	k.mu.RLock()
	defer k.mu.RUnlock()
	c, err := k.caseKey(ctx, r.Case, true)
	if err != nil {
		return nil, err
	}
	return c.seal(recordAAD(r.Case, r.ID), r.Bytes), nil
}

// Open implements [casebook.Sealer].
func (k *Keys) Open(ctx context.Context, dst []byte, r casebook.Record) ([]byte, error) {
	k.mu.RLock()
	defer k.mu.RUnlock()
	c, err := k.caseKey(ctx, r.Case, false)
	if err != nil {
		return nil, err
	}
	return c.open(dst, recordAAD(r.Case, r.ID), r.Bytes)
}

// SealBlob implements [casebook.Sealer].
func (k *Keys) SealBlob(ctx context.Context, caseID string, content []byte) ([]byte, error) {
	k.mu.RLock()
	defer k.mu.RUnlock()
	c, err := k.caseKey(ctx, caseID, true)
	if err != nil {
		return nil, err
	}
	return c.seal(blobAAD(caseID), content), nil
}

// OpenBlob implements [casebook.Sealer].
func (k *Keys) OpenBlob(ctx context.Context, caseID string, sealed []byte) ([]byte, error) {
	k.mu.RLock()
	defer k.mu.RUnlock()
	c, err := k.caseKey(ctx, caseID, false)
	if err != nil {
		return nil, err
	}
	return c.open(nil, blobAAD(caseID), sealed)
}

// Chain implements [casebook.Sealer]. The key of the ledger stays when the store key is rotated, so the chain does too.
func (k *Keys) Chain(ctx context.Context) (casebook.ChainMAC, error) {
	k.mu.RLock()
	defer k.mu.RUnlock()
	c, err := k.caseKey(ctx, casebook.Ledger, false)
	if err != nil {
		return nil, err
	}
	key := subkey(c.dataKey, "lowtide keyed chain 1", sha256.Size)
	return func(seq int64, hash string) []byte {
		mac := hmac.New(sha256.New, key)
		mac.Write(binary.BigEndian.AppendUint64(nil, uint64(seq)))
		mac.Write([]byte(hash))
		return mac.Sum(nil)
	}, nil
}

// Secret is a key of 32 bytes for one use beside the store, made of the ledger's key by HKDF with the name of the use. It
// stays the same from one start to the next, and when the store key is rotated.
func (k *Keys) Secret(ctx context.Context, use string) ([]byte, error) {
	k.mu.RLock()
	defer k.mu.RUnlock()
	c, err := k.caseKey(ctx, casebook.Ledger, false)
	if err != nil {
		return nil, err
	}
	return subkey(c.dataKey, "lowtide secret 1 "+use, sha256.Size), nil
}

// KeyChain has a store that is open for writing keep the keyed chain from now on; see [casebook.KeyStore].
func (k *Keys) KeyChain(ctx context.Context) (filled int64, err error) {
	k.mu.RLock()
	_, err = k.caseKey(ctx, casebook.Ledger, true)
	k.mu.RUnlock()
	if err != nil {
		return 0, err
	}
	mac, err := k.Chain(ctx)
	if err != nil {
		return 0, err
	}
	return k.store.KeyChain(ctx, mac)
}

// Erased implements [casebook.Sealer].
func (k *Keys) Erased(ctx context.Context) ([]casebook.CaseKey, error) {
	all, err := k.store.CaseKeys(ctx)
	if err != nil {
		return nil, err
	}
	var gone []casebook.CaseKey
	for _, c := range all {
		if c.ErasedBy != "" {
			gone = append(gone, c)
		}
	}
	return gone, nil
}

// note makes a record of the ledger and the head it has to follow.
func (k *Keys) note(ctx context.Context, store casebook.Store, e casebook.Entry) (head string, r casebook.Record, err error) {
	links, err := store.Case(ctx, casebook.Ledger)
	if err != nil {
		return "", r, err
	}
	if len(links) > 0 {
		head = links[len(links)-1].Hash
	}
	raw, err := e.MarshalJSON()
	if err != nil {
		return "", r, err
	}
	c, err := k.caseKey(ctx, casebook.Ledger, true)
	if err != nil {
		return "", r, err
	}
	return head, casebook.Record{ID: e.ID, Case: e.Case, Bytes: c.seal(recordAAD(e.Case, e.ID), raw)}, nil
}

// Deed says who does something to the store, when and why.
type Deed struct {
	At     time.Time
	Author string
	Reason string
}

// ErrNoReason: an erasure names no reason or no author.
var ErrNoReason = errors.New("an erasure needs a reason and who asks for it")

// Erase destroys the key of a case and of the registers that belong to it (see [casebook.Book.Along]), for good, and
// says so in the ledger in the same step. The records stay, so the chain still verifies; nobody can read them again,
// except out of copies made before.
//
// Errors: [casebook.ErrNotFound], [casebook.ErrErased], [casebook.ErrReserved], [ErrNoReason], and
// [casebook.ErrLingers] when it is done but a trace may remain for now.
func (k *Keys) Erase(ctx context.Context, store casebook.Store, caseID string, d Deed) error {
	switch {
	case casebook.Reserved(caseID):
		return fmt.Errorf("seal: erase %s: %w", caseID, casebook.ErrReserved)
	case d.Reason == "" || d.Author == "":
		return fmt.Errorf("seal: %w", ErrNoReason)
	}
	for try := 0; ; try++ {
		also, n, err := casebook.Book{Store: store, Sealer: k}.Along(ctx, caseID)
		if err != nil {
			return err
		}
		if err = k.erase(ctx, store, casebook.CaseErased{Case: caseID, Entries: n, Also: also}, d); !errors.Is(err, errGrew) || try == maxTries {
			return err
		}
	}
}

// errGrew: the case has other records than when it was looked through for what goes with it.
var errGrew = errors.New("the case has changed while it was erased; try again")

// erase destroys the keys that the body names, in one step with the ledger's entry.
func (k *Keys) erase(ctx context.Context, store casebook.Store, body casebook.CaseErased, d Deed) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	// Nothing is sealed while the lock is held, so what is counted now is what there is.
	links, err := store.Case(ctx, body.Case)
	if err != nil {
		return err
	}
	if len(links) != body.Entries {
		return errGrew
	}
	cases := append([]string{body.Case}, body.Also...)
	return k.deed(ctx, store, d, body, func(head string, r casebook.Record) error {
		_, err := k.store.EraseKey(ctx, cases, head, r)
		if err == nil || errors.Is(err, casebook.ErrLingers) {
			for _, id := range cases {
				if c, ok := k.cases.LoadAndDelete(id); ok {
					clear(c.(*caseKey).dataKey)
				}
			}
		}
		return err
	})
}

// maxTries bounds how often a change is tried again when the ledger moved on meanwhile.
const maxTries = 20

func (k *Keys) deed(ctx context.Context, store casebook.Store, d Deed, body casebook.Body, do func(head string, r casebook.Record) error) error {
	id, err := casebook.NewID(d.At, k.random)
	if err != nil {
		return err
	}
	for try := 0; ; try++ {
		head, r, err := k.note(ctx, store, casebook.NewLedgerEntry(id, d.At, d.Author, d.Reason, body))
		if err != nil {
			return err
		}
		if err = do(head, r); !errors.Is(err, casebook.ErrStale) || try == maxTries {
			return err
		}
	}
}

// Rotate wraps all case keys by another store key and says so in the ledger, in one step. Records are not
// touched: whoever has an old copy of the store and the old key can still read what is in that copy.
func (k *Keys) Rotate(ctx context.Context, store casebook.Store, to Key, d Deed) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	from := k.key
	if to.ID() == from.ID() {
		return fmt.Errorf("seal: the new key is the old one")
	}
	err := k.deed(ctx, store, d, casebook.KeyRotated{From: from.ID(), To: to.ID(), Holder: to.meta.Kind}, func(head string, r casebook.Record) error {
		_, err := k.store.Rewrap(ctx, from.ID(), to.meta, func(c casebook.CaseKey) ([]byte, error) {
			dataKey, err := from.unwrap(c.Case, c.Wrapped)
			if err != nil {
				return nil, err
			}
			defer clear(dataKey)
			return to.wrap(c.Case, dataKey, k.random)
		}, head, r)
		return err
	})
	if err == nil || errors.Is(err, casebook.ErrLingers) {
		k.key = to
	}
	return err
}
