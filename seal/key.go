package seal

import (
	"crypto/cipher"
	"crypto/hkdf"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"
	"golang.org/x/crypto/chacha20poly1305"
	"golang.org/x/text/unicode/norm"

	"lowtide/casebook"
)

// Where a store key comes from.
const (
	FromFile       = "file"
	FromPassphrase = "passphrase"
	FromCase       = "derived"
)

// Key is a store key: 32 secret bytes that wrap the case keys, and how they came about.
type Key struct {
	secret []byte
	meta   casebook.KeyMeta
}

// ID tells keys apart; it is computed from the secret and does not give it away.
func (k Key) ID() string { return k.meta.ID }

// Meta is what a store notes about its key.
func (k Key) Meta() casebook.KeyMeta { return k.meta }

// NewKey draws a store key for a key file.
func NewKey(random io.Reader) (Key, error) {
	secret := make([]byte, chacha20poly1305.KeySize)
	if _, err := io.ReadFull(random, secret); err != nil {
		return Key{}, fmt.Errorf("seal: draw a key: %w", err)
	}
	return keyOf(secret, casebook.KeyMeta{Kind: FromFile}), nil
}

func keyOf(secret []byte, meta casebook.KeyMeta) Key {
	meta.ID = hex.EncodeToString(subkey(secret, "lowtide store key id 1", 8))
	return Key{secret: secret, meta: meta}
}

// subkey is HKDF-Expand with SHA-256; the secrets it is given are uniform already.
func subkey(secret []byte, label string, size int) []byte {
	out, err := hkdf.Expand(sha256.New, secret, label, size)
	if err != nil {
		panic("seal: " + err.Error()) // only for sizes far above any that is asked for
	}
	return out
}

// Passphrase settings. RFC 9106, section 4, recommends as its second choice 3 passes, 4 lanes and 64 MiB; a store
// is opened seldom, so it takes four times the memory.
const (
	passes    = 3
	lanes     = 4
	memoryKiB = 256 << 10
	saltSize  = 16
	// MinPassphrase is the least length in characters: 15, as NIST SP 800-63B asks where a passphrase is the
	// only factor.
	MinPassphrase = 15
)

// What a store may ask for, so that a doctored file cannot make the program take all memory or run for hours.
const (
	maxPasses    = 64
	maxMemoryKiB = 4 << 20
)

// ErrShort: the passphrase is too short.
var ErrShort = errors.New("the passphrase is too short")

// NewPassphraseKey makes a store key of a passphrase with a new salt.
func NewPassphraseKey(passphrase string, random io.Reader) (Key, error) {
	if n := utf8.RuneCountInString(norm.NFC.String(passphrase)); n < MinPassphrase {
		return Key{}, fmt.Errorf("seal: %w: it has %d characters and needs %d; several words make a good one", ErrShort, n, MinPassphrase)
	}
	salt := make([]byte, saltSize)
	if _, err := io.ReadFull(random, salt); err != nil {
		return Key{}, fmt.Errorf("seal: draw a salt: %w", err)
	}
	return passphraseKey(passphrase, casebook.KeyMeta{Kind: FromPassphrase, Salt: salt, Passes: passes, MemoryKiB: memoryKiB, Lanes: lanes})
}

// PassphraseKey makes the store key that meta was noted for. A wrong passphrase is [ErrWrongKey].
func PassphraseKey(passphrase string, meta casebook.KeyMeta) (Key, error) {
	k, err := passphraseKey(passphrase, meta)
	if err == nil && k.ID() != meta.ID {
		return Key{}, fmt.Errorf("seal: %w: the passphrase is not the one that this store was sealed with; nothing was changed", ErrWrongKey)
	}
	return k, err
}

func passphraseKey(passphrase string, meta casebook.KeyMeta) (Key, error) {
	if meta.Passes < 1 || meta.Passes > maxPasses || meta.Lanes < 1 || meta.MemoryKiB < 8*uint32(meta.Lanes) || meta.MemoryKiB > maxMemoryKiB || len(meta.Salt) < 8 {
		return Key{}, fmt.Errorf("seal: %w: the store asks for passphrase settings out of bounds (%d passes, %d KiB, %d lanes)", casebook.ErrBroken, meta.Passes, meta.MemoryKiB, meta.Lanes)
	}
	// The same words typed on two systems can come as other bytes; NFC makes them one.
	secret := argon2.IDKey([]byte(norm.NFC.String(passphrase)), meta.Salt, meta.Passes, meta.MemoryKiB, meta.Lanes, chacha20poly1305.KeySize)
	return keyOf(secret, meta), nil
}

// ErrWrongKey: the key is not the one that the store was sealed with.
var ErrWrongKey = errors.New("wrong key")

// wrapAAD ties a wrapped key to its case and to the key that wraps it.
func (k Key) wrapAAD(caseID string) []byte {
	return parts("lowtide case key 1", k.meta.ID, caseID)
}

func (k Key) wrapper() cipher.AEAD {
	return newAEAD(subkey(k.secret, "lowtide wrap 1", chacha20poly1305.KeySize))
}

func newAEAD(key []byte) cipher.AEAD {
	aead, err := chacha20poly1305.NewX(key)
	if err != nil {
		panic("seal: " + err.Error()) // only for a key of another size
	}
	return aead
}

// wrap seals a data key: a random nonce of 24 bytes, then the sealed key.
func (k Key) wrap(caseID string, dataKey []byte, random io.Reader) ([]byte, error) {
	out := make([]byte, chacha20poly1305.NonceSizeX, chacha20poly1305.NonceSizeX+len(dataKey)+chacha20poly1305.Overhead)
	if _, err := io.ReadFull(random, out); err != nil {
		return nil, fmt.Errorf("seal: draw a nonce: %w", err)
	}
	return k.wrapper().Seal(out, out, dataKey, k.wrapAAD(caseID)), nil
}

func (k Key) unwrap(caseID string, wrapped []byte) ([]byte, error) {
	if len(wrapped) != chacha20poly1305.NonceSizeX+chacha20poly1305.KeySize+chacha20poly1305.Overhead {
		return nil, fmt.Errorf("seal: the key of case %s: %w: it has %d bytes", caseID, casebook.ErrBroken, len(wrapped))
	}
	nonce, sealed := wrapped[:chacha20poly1305.NonceSizeX], wrapped[chacha20poly1305.NonceSizeX:]
	dataKey, err := k.wrapper().Open(nil, nonce, sealed, k.wrapAAD(caseID))
	if err != nil {
		return nil, fmt.Errorf("seal: the key of case %s: %w: it does not open under store key %s", caseID, casebook.ErrBroken, k.ID())
	}
	return dataKey, nil
}
