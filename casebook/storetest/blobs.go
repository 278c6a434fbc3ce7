package storetest

import (
	"bytes"
	"context"
	"errors"
	"math/rand/v2"
	"slices"
	"testing"

	"lowtide/casebook"
)

func testBlobs(t *testing.T, s casebook.Store) {
	ctx := context.Background()
	// SHA-256 of "abc" and of no bytes: FIPS 180-2, appendix B.1, and NIST's example values.
	known := map[string][]byte{
		"ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad": []byte("abc"),
		"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855": nil,
	}
	for want, content := range known {
		for range 2 {
			if hash, err := s.PutBlob(ctx, content); err != nil || hash != want {
				t.Fatalf("PutBlob(%q) = %s, %v; want %s", content, hash, err, want)
			}
		}
		if got, err := s.Blob(ctx, want); err != nil || got == nil || string(got) != string(content) {
			t.Errorf("Blob(%s) = %q, %v", want, got, err)
		}
	}
	hashes, err := s.BlobHashes(ctx)
	if err != nil || len(hashes) != 2 || !slices.IsSorted(hashes) {
		t.Errorf("BlobHashes: %v, %v", hashes, err)
	}
	for _, absent := range []string{"", "abc", casebook.BlobHash([]byte("never put")), "../../etc/passwd"} {
		if content, err := s.Blob(ctx, absent); !errors.Is(err, casebook.ErrNotFound) || content != nil {
			t.Errorf("Blob(%q) = %q, %v; want ErrNotFound", absent, content, err)
		}
	}
	mustAppend(t, s, "a", "", NewRecord("a", "a1", "with a photo", hashes...))
}

func testLargeBlobs(t *testing.T, s casebook.Store) {
	ctx := context.Background()
	const size = 20 << 20
	rng := rand.New(rand.NewPCG(20, 1))
	content := make([]byte, size)
	for i := 0; i < size; i += 8 {
		word := rng.Uint64()
		for k := range 8 {
			content[i+k] = byte(word >> (8 * k))
		}
	}
	hash, err := s.PutBlob(ctx, content)
	if err != nil {
		t.Fatal(err)
	}
	got, err := s.Blob(ctx, hash)
	if err != nil || !bytes.Equal(got, content) {
		t.Fatalf("20 MB came back as %d bytes, %v", len(got), err)
	}
	// Its neighbour, one bit away, is another blob.
	content[size/2] ^= 1
	other, err := s.PutBlob(ctx, content)
	if err != nil || other == hash {
		t.Fatalf("%s, %v", other, err)
	}
}
