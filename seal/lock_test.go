package seal_test

import (
	"bytes"
	"crypto/rand"
	"errors"
	"testing"

	"lowtide/casebook"
	"lowtide/seal"
)

const devicePhrase = "four grey herons wade at noon"

// TestLocks: each lock opens the device alone, a wrong one does not, and what is kept holds neither key nor phrase.
func TestLocks(t *testing.T) {
	key, err := seal.NewKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	salt, err := seal.NewSalt(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	secret := bytes.Repeat([]byte{5}, 32)
	locks, err := seal.Locks(nil).WithPhrase(key, devicePhrase, rand.Reader)
	if err == nil {
		locks, err = locks.WithSecret(key, "passkey-1", salt, secret, rand.Reader)
	}
	if err != nil {
		t.Fatal(err)
	}
	raw, err := locks.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(raw, []byte("heron")) || bytes.Contains(raw, secret) || bytes.Contains(raw, []byte(key.Text())) {
		t.Error("what is kept gives something away")
	}
	again, err := seal.ReadLocks(raw)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := again.OpenPhrase(devicePhrase); err != nil || got.ID() != key.ID() {
		t.Errorf("by the phrase: %v", err)
	}
	if got, err := again.OpenSecret("passkey-1", secret); err != nil || got.ID() != key.ID() {
		t.Errorf("by the passkey: %v", err)
	}
	if _, err := again.OpenPhrase(devicePhrase + " "); !errors.Is(err, seal.ErrWrongKey) {
		t.Errorf("a wrong phrase: %v", err)
	}
	for _, wrong := range [][]byte{nil, secret[:31], bytes.Repeat([]byte{6}, 32)} {
		if _, err := again.OpenSecret("passkey-1", wrong); !errors.Is(err, seal.ErrWrongKey) {
			t.Errorf("a wrong secret: %v", err)
		}
	}
	if _, err := again.OpenSecret("passkey-2", secret); !errors.Is(err, seal.ErrNoLock) {
		t.Errorf("another passkey: %v", err)
	}
	if _, err := seal.Locks(nil).OpenPhrase(devicePhrase); !errors.Is(err, seal.ErrNoLock) {
		t.Errorf("no lock: %v", err)
	}
	if _, err := seal.Locks(nil).WithPhrase(key, "short", rand.Reader); !errors.Is(err, seal.ErrShort) {
		t.Errorf("a short phrase: %v", err)
	}
	// A second phrase takes the place of the first.
	changed, err := again.WithPhrase(key, "five grey herons wade at noon", rand.Reader)
	if err != nil || len(changed) != 2 {
		t.Fatalf("%d locks, %v", len(changed), err)
	}
	if _, err := changed.OpenPhrase(devicePhrase); !errors.Is(err, seal.ErrWrongKey) {
		t.Errorf("the phrase before: %v", err)
	}
	// A wrapped key moved to another lock does not open there.
	moved := seal.Locks{{Kind: seal.ByPasskey, ID: "passkey-2", Salt: salt, Wrapped: locks[1].Wrapped}}
	if _, err := moved.OpenSecret("passkey-2", secret); !errors.Is(err, seal.ErrWrongKey) {
		t.Errorf("a moved lock: %v", err)
	}
	// What a doctored lock may ask for is bounded.
	greedy := seal.Locks{locks[0]}
	greedy[0].MemoryKiB = 4 << 20
	if _, err := greedy.OpenPhrase(devicePhrase); !errors.Is(err, casebook.ErrBroken) {
		t.Errorf("4 GiB: %v", err)
	}
	for _, junk := range []string{"", "x", `[{"wrapped":1}]`} {
		if _, err := seal.ReadLocks([]byte(junk)); err == nil {
			t.Errorf("%q is read", junk)
		}
	}
}

func BenchmarkPhrase(b *testing.B) {
	key, err := seal.NewKey(rand.Reader)
	if err != nil {
		b.Fatal(err)
	}
	locks, err := seal.Locks(nil).WithPhrase(key, devicePhrase, rand.Reader)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := locks.OpenPhrase(devicePhrase); err != nil {
			b.Fatal(err)
		}
	}
}
