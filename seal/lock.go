package seal

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"
	"golang.org/x/crypto/chacha20poly1305"
	"golang.org/x/text/unicode/norm"

	"lowtide/casebook"
)

// Lock is one way to open the key of a device: the key wrapped by what a phrase or a passkey gives. Nothing in it is secret.
type Lock struct {
	// Kind is "phrase" or "passkey".
	Kind string `json:"kind"`
	// ID tells passkeys apart: the credential's ID in base64url. Salt is what the passkey is asked for.
	ID   string `json:"id,omitempty"`
	Salt []byte `json:"salt"`
	// Passes, MemoryKiB and Lanes are the settings of Argon2id for a phrase.
	Passes    uint32 `json:"passes,omitempty"`
	MemoryKiB uint32 `json:"memory_kib,omitempty"`
	Lanes     uint8  `json:"lanes,omitempty"`
	Wrapped   []byte `json:"wrapped"`
}

// Locks are the ways to open one device; each opens it alone.
type Locks []Lock

// Kinds of a [Lock].
const (
	ByPhrase  = "phrase"
	ByPasskey = "passkey"
)

// A phrase on a phone takes the second choice of RFC 9106, section 4, in one lane: a browser computes on one core, and
// 64 MiB fit beside the pages. Measured: 1.3 s in js/wasm, 0.8 s outside (BenchmarkPhrase, two shared cores).
const (
	phonePasses    = 3
	phoneMemoryKiB = 64 << 10
	phoneLanes     = 1
	// maxPhoneMemoryKiB bounds what a doctored lock may ask for.
	maxPhoneMemoryKiB = 256 << 10
	// secretSize is the size of what a passkey gives: the output of its PRF extension (W3C Web Authentication Level 3,
	// section 10.1.4).
	secretSize = 32
)

// ErrNoLock: no lock of this kind, or of this passkey, is on the device.
var ErrNoLock = errors.New("seal: the device has no such lock")

// ReadLocks reads what [Locks.Bytes] wrote.
func ReadLocks(raw []byte) (l Locks, err error) {
	if err := json.Unmarshal(raw, &l); err != nil {
		return nil, fmt.Errorf("seal: the locks of the device: %w: %w", casebook.ErrBroken, err)
	}
	return l, nil
}

// Bytes is how locks are kept.
func (l Locks) Bytes() ([]byte, error) { return json.Marshal(l) }

// NewSalt draws what a passkey is asked for.
func NewSalt(random io.Reader) ([]byte, error) {
	salt := make([]byte, secretSize)
	_, err := io.ReadFull(random, salt)
	return salt, err
}

// WithPhrase adds a phrase, in the place of the one before. Error: [ErrShort].
func (l Locks) WithPhrase(key Key, phrase string, random io.Reader) (Locks, error) {
	if n := utf8.RuneCountInString(norm.NFC.String(phrase)); n < MinPassphrase {
		return nil, fmt.Errorf("seal: %w: it has %d characters and needs %d; several words make a good one", ErrShort, n, MinPassphrase)
	}
	salt := make([]byte, saltSize)
	if _, err := io.ReadFull(random, salt); err != nil {
		return nil, fmt.Errorf("seal: draw a salt: %w", err)
	}
	one := Lock{Kind: ByPhrase, Salt: salt, Passes: phonePasses, MemoryKiB: phoneMemoryKiB, Lanes: phoneLanes}
	secret, err := one.ofPhrase(phrase)
	if err != nil {
		return nil, err
	}
	return l.with(key, one, secret, random)
}

// WithSecret adds what a passkey gives for a salt, in the place of what this passkey gave before. secret: 32 bytes.
func (l Locks) WithSecret(key Key, id string, salt, secret []byte, random io.Reader) (Locks, error) {
	if len(secret) != secretSize || id == "" {
		return nil, fmt.Errorf("seal: a passkey gave %d bytes, not %d", len(secret), secretSize)
	}
	return l.with(key, Lock{Kind: ByPasskey, ID: id, Salt: salt}, secret, random)
}

func (l Locks) with(key Key, one Lock, secret []byte, random io.Reader) (Locks, error) {
	var err error
	if one.Wrapped, err = one.wrapper(secret).wrap(one.Kind+one.ID, key.secret, random); err != nil {
		return nil, err
	}
	out := Locks{}
	for _, x := range l {
		if x.Kind != one.Kind || x.ID != one.ID {
			out = append(out, x)
		}
	}
	return append(out, one), nil
}

// OpenPhrase opens the device with its phrase. Errors: [ErrWrongKey], [ErrNoLock].
func (l Locks) OpenPhrase(phrase string) (Key, error) {
	for _, one := range l {
		if one.Kind != ByPhrase {
			continue
		}
		secret, err := one.ofPhrase(phrase)
		if err != nil {
			return Key{}, err
		}
		return one.open(secret)
	}
	return Key{}, ErrNoLock
}

// OpenSecret opens the device with what a passkey gives for the lock's salt. Errors: [ErrWrongKey], [ErrNoLock].
func (l Locks) OpenSecret(id string, secret []byte) (Key, error) {
	for _, one := range l {
		if one.Kind == ByPasskey && one.ID == id {
			return one.open(secret)
		}
	}
	return Key{}, ErrNoLock
}

func (one Lock) ofPhrase(phrase string) ([]byte, error) {
	if one.Passes < 1 || one.Passes > maxPasses || one.Lanes < 1 || one.MemoryKiB < 8*uint32(one.Lanes) || one.MemoryKiB > maxPhoneMemoryKiB || len(one.Salt) < 8 {
		return nil, fmt.Errorf("seal: %w: the lock asks for settings out of bounds (%d passes, %d KiB, %d lanes)", casebook.ErrBroken, one.Passes, one.MemoryKiB, one.Lanes)
	}
	return argon2.IDKey([]byte(norm.NFC.String(phrase)), one.Salt, one.Passes, one.MemoryKiB, one.Lanes, chacha20poly1305.KeySize), nil
}

// wrapper is the key that wraps the device's: made of the secret for this alone, so that nothing else that the passkey's
// secret might be used for has it.
func (one Lock) wrapper(secret []byte) Key {
	return keyOf(subkey(secret, "lowtide device lock 1", chacha20poly1305.KeySize), casebook.KeyMeta{})
}

func (one Lock) open(secret []byte) (Key, error) {
	if len(secret) != secretSize {
		return Key{}, fmt.Errorf("seal: a passkey gave %d bytes, not %d: %w", len(secret), secretSize, ErrWrongKey)
	}
	raw, err := one.wrapper(secret).unwrap(one.Kind+one.ID, one.Wrapped)
	if err != nil {
		return Key{}, fmt.Errorf("seal: %w: this does not open the device", ErrWrongKey)
	}
	return keyOf(raw, casebook.KeyMeta{Kind: FromFile}), nil
}
