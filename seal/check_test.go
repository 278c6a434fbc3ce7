package seal_test

import (
	"bytes"
	"context"
	"encoding/hex"
	"encoding/json"
	"os"
	"testing"

	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/seal"
)

// TestCheckLibsodium: the bytes that docs/format/store.md describes, made by libsodium from that page, are those
// that this package makes, and it opens them.
func TestCheckLibsodium(t *testing.T) {
	ctx := context.Background()
	text, err := os.ReadFile("testdata/ref/libsodium/vectors.json")
	if err != nil {
		t.Fatal(err)
	}
	var v struct {
		StoreKey string `json:"store_key"`
		DataKey  string `json:"data_key"`
		Nonce    string
		KeyID    string `json:"key_id"`
		Case     string
		Wrapped  string
		Records  []struct{ ID, Plain, Sealed string }
		Blob     struct{ Plain, Sealed string }
	}
	if err := json.Unmarshal(text, &v); err != nil {
		t.Fatal(err)
	}
	bin := func(s string) []byte {
		b, err := hex.DecodeString(s)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	key, err := seal.NewKey(bytes.NewReader(bin(v.StoreKey)))
	if err != nil || key.ID() != v.KeyID {
		t.Fatalf("key ID %s, want %s (%v)", key.ID(), v.KeyID, err)
	}
	// The ledger's key comes first out of the randomness, then that of the case: data key, then nonce.
	s := memory.New()
	random := bytes.NewReader(append(bytes.Repeat([]byte{7}, 32+24), append(bin(v.DataKey), bin(v.Nonce)...)...))
	keys, err := seal.Start(ctx, s, key, random)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range v.Records {
		got, err := keys.Seal(ctx, casebook.Record{ID: r.ID, Case: v.Case, Bytes: bin(r.Plain)})
		if err != nil || hex.EncodeToString(got) != r.Sealed {
			t.Errorf("record %s: %x, %v; want %s", r.ID, got, err, r.Sealed)
		}
		plain, err := keys.Open(ctx, nil, casebook.Record{ID: r.ID, Case: v.Case, Bytes: bin(r.Sealed)})
		if err != nil || hex.EncodeToString(plain) != r.Plain {
			t.Errorf("record %s opens to %x, %v", r.ID, plain, err)
		}
	}
	if got, err := keys.SealBlob(ctx, v.Case, bin(v.Blob.Plain)); err != nil || hex.EncodeToString(got) != v.Blob.Sealed {
		t.Errorf("the blob: %v", err)
	}
	if k, _, _ := s.CaseKey(ctx, v.Case); hex.EncodeToString(k.Wrapped) != v.Wrapped {
		t.Errorf("wrapped %x, want %s", k.Wrapped, v.Wrapped)
	}
}
