package seal

import (
	"crypto/cipher"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/binary"
	"fmt"

	"golang.org/x/crypto/chacha20poly1305"

	"lowtide/casebook"
)

// caseKey seals the records and blobs of one case.
type caseKey struct {
	id   string
	aead cipher.AEAD
	// nonceKey makes nonces: see nonce.
	nonceKey []byte
	dataKey  []byte
}

func newCaseKey(id string, dataKey []byte) *caseKey {
	return &caseKey{id: id, aead: newAEAD(subkey(dataKey, "lowtide seal 1", chacha20poly1305.KeySize)),
		nonceKey: subkey(dataKey, "lowtide nonce 1", sha256.Size), dataKey: dataKey}
}

// parts joins byte strings, each preceded by its length in eight big-endian bytes, so that no two lists give the
// same bytes.
func parts(list ...string) []byte {
	size := 0
	for _, p := range list {
		size += 8 + len(p)
	}
	out := make([]byte, 0, size)
	for _, p := range list {
		out = binary.BigEndian.AppendUint64(out, uint64(len(p)))
		out = append(out, p...)
	}
	return out
}

// nonce is the start of HMAC-SHA256 over what is sealed and where it belongs.
func (k *caseKey) nonce(aad, plain []byte) []byte {
	mac := hmac.New(sha256.New, k.nonceKey)
	var n [8]byte
	binary.BigEndian.PutUint64(n[:], uint64(len(aad)))
	mac.Write(n[:])
	mac.Write(aad)
	mac.Write(plain)
	return mac.Sum(nil)[:chacha20poly1305.NonceSizeX]
}

const headSize = len(casebook.SealTag) + chacha20poly1305.NonceSizeX

func (k *caseKey) seal(aad, plain []byte) []byte {
	out := make([]byte, 0, headSize+len(plain)+chacha20poly1305.Overhead)
	nonce := k.nonce(aad, plain)
	out = append(append(out, casebook.SealTag...), nonce...)
	return k.aead.Seal(out, nonce, plain, aad)
}

func (k *caseKey) open(dst, aad, sealed []byte) ([]byte, error) {
	if !casebook.IsSealed(sealed) || len(sealed) < headSize+chacha20poly1305.Overhead {
		return nil, fmt.Errorf("seal: %w: the bytes are not sealed", casebook.ErrBroken)
	}
	out, err := k.aead.Open(dst, sealed[len(casebook.SealTag):headSize], sealed[headSize:], aad)
	if err != nil {
		return nil, fmt.Errorf("seal: %w: the bytes are not what was sealed for this place", casebook.ErrBroken)
	}
	return out, nil
}

func recordAAD(caseID, id string) []byte { return parts("lowtide record 1", caseID, id) }
func blobAAD(caseID string) []byte       { return parts("lowtide blob 1", caseID) }
