package account

import (
	"crypto/sha256"
	_ "embed"
	"encoding/binary"
	"errors"
)

//go:generate go run ./gen -out blocklist.bloom

// blocklist.bloom is made by account/gen from word lists of Debian packages, which it names.
//
//go:embed blocklist.bloom
var blocklistFile []byte

var blocked = mustBloom(blocklistFile)

// Bloom is a Bloom filter: it never misses a word that was added, and takes a few others for members. The file is
// "LtB1", the number of hashes (4 bytes), the number of words (4 bytes), both big-endian, then the bits.
type Bloom struct {
	hashes, words uint32
	bits          []byte
}

const bloomHead = 12

// NewBloom makes an empty filter with bitsPerWord bits for each of n words and the best number of hashes.
func NewBloom(n, bitsPerWord int) *Bloom {
	return &Bloom{hashes: uint32(float64(bitsPerWord)*0.6931 + 0.5), bits: make([]byte, (n*bitsPerWord+7)/8)}
}

// ParseBloom reads a filter from its file.
func ParseBloom(file []byte) (*Bloom, error) {
	if len(file) <= bloomHead || string(file[:4]) != "LtB1" {
		return nil, errors.New("account: this is no list of blocked passwords")
	}
	b := &Bloom{binary.BigEndian.Uint32(file[4:]), binary.BigEndian.Uint32(file[8:]), file[bloomHead:]}
	if b.hashes == 0 || b.hashes > 64 {
		return nil, errors.New("account: the list of blocked passwords is damaged")
	}
	return b, nil
}

func mustBloom(file []byte) *Bloom {
	b, err := ParseBloom(file)
	if err != nil {
		panic(err) // the file is part of the program
	}
	return b
}

// Bytes is the filter's file.
func (b *Bloom) Bytes() []byte {
	out := append([]byte("LtB1"), make([]byte, 8)...)
	binary.BigEndian.PutUint32(out[4:], b.hashes)
	binary.BigEndian.PutUint32(out[8:], b.words)
	return append(out, b.bits...)
}

// Add adds a word.
func (b *Bloom) Add(word string) {
	for i := range b.hashes {
		at := b.at(word, i)
		b.bits[at/8] |= 1 << (at % 8)
	}
	b.words++
}

func (b *Bloom) has(word string) bool {
	for i := range b.hashes {
		if at := b.at(word, i); b.bits[at/8]&(1<<(at%8)) == 0 {
			return false
		}
	}
	return true
}

// at is the ith bit of a word, by double hashing (Kirsch and Mitzenmacher 2006).
func (b *Bloom) at(word string, i uint32) uint64 {
	sum := sha256.Sum256([]byte(word))
	first, second := binary.BigEndian.Uint64(sum[:]), binary.BigEndian.Uint64(sum[8:])|1
	return (first + uint64(i)*second) % uint64(8*len(b.bits))
}
