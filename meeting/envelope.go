package meeting

import (
	"bytes"
	"crypto/ed25519"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"filippo.io/age"
)

// Envelope is an entry or a file as a device sends it.
type Envelope struct {
	// Device is the ID of the device that wrote it.
	Device string `json:"device"`
	// Entry is the entry's canonical bytes; nil for a file.
	Entry []byte `json:"entry,omitempty"`
	// Case, File and Content are a file of a case, under the name that entries give it.
	Case    string `json:"case,omitempty"`
	File    string `json:"file,omitempty"`
	Content []byte `json:"content,omitempty"`
	// Signature is Ed25519 (RFC 8032) over everything above.
	Signature []byte `json:"signature"`
}

var (
	errNotCanonical = errors.New("meeting: the bytes are not those that the entry is written with")
	// ErrOpen: an envelope cannot be opened, or is none.
	ErrOpen = errors.New("meeting: this is no envelope for this server")
)

// signed is what the signature is over: each part preceded by its length, so that no two envelopes share it.
func (e Envelope) signed() []byte {
	var out []byte
	for _, part := range [][]byte{[]byte("lowtide envelope 1"), []byte(e.Device), e.Entry, []byte(e.Case), []byte(e.File), e.Content} {
		out = binary.BigEndian.AppendUint64(out, uint64(len(part)))
		out = append(out, part...)
	}
	return out
}

// SealTo signs the envelope and seals it to the server: only the server can read it.
func (e Envelope) SealTo(to age.Recipient, key ed25519.PrivateKey) ([]byte, error) {
	e.Signature = ed25519.Sign(key, e.signed())
	raw, err := json.Marshal(e)
	if err != nil {
		return nil, err
	}
	return sealFor(raw, to)
}

// sealFor seals bytes so that only the holder of a key can read them.
func sealFor(raw []byte, to age.Recipient) ([]byte, error) {
	var out bytes.Buffer
	w, err := age.Encrypt(&out, to)
	if err == nil {
		_, err = w.Write(raw)
	}
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		return nil, fmt.Errorf("meeting: seal: %w", err)
	}
	return out.Bytes(), nil
}

// OpenEnvelope opens an envelope with the server's key. It does not judge the signature: see [Envelope.SignedBy]. Error:
// [ErrOpen].
func OpenEnvelope(sealed []byte, key age.Identity) (Envelope, error) {
	var e Envelope
	raw, err := openFor(sealed, key)
	if err != nil {
		return e, fmt.Errorf("%w: %w", ErrOpen, err)
	}
	if err := json.Unmarshal(raw, &e); err != nil {
		return e, fmt.Errorf("%w: %w", ErrOpen, err)
	}
	return e, nil
}

func openFor(sealed []byte, key age.Identity) ([]byte, error) {
	r, err := age.Decrypt(bytes.NewReader(sealed), key)
	if err != nil {
		return nil, err
	}
	return io.ReadAll(r)
}

// SignedBy tells whether the device's key signed the envelope.
func (e Envelope) SignedBy(key ed25519.PublicKey) bool {
	return len(key) == ed25519.PublicKeySize && ed25519.Verify(key, e.signed(), e.Signature)
}
