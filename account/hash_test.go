package account

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/BurntSushi/toml"
	"golang.org/x/crypto/argon2"
)

// cheap is a cost for tests that are not about the cost.
var cheap = Cost{MemoryKiB: 64, Passes: 1, Lanes: 1}

// TestCheckArgon2id compares the hash that is used with the reference program of Argon2's authors.
func TestCheckArgon2id(t *testing.T) {
	var table struct {
		Row []struct {
			Password, Salt, Hash     string
			MemoryKiB, Passes, Lanes uint32
		}
	}
	if _, err := toml.DecodeFile("testdata/ref/argon2-cli/vectors.toml", &table); err != nil {
		t.Fatal(err)
	}
	if len(table.Row) < 4 {
		t.Fatalf("%d rows", len(table.Row))
	}
	for _, r := range table.Row {
		got := hex.EncodeToString(argon2.IDKey([]byte(r.Password), []byte(r.Salt), r.Passes, r.MemoryKiB, uint8(r.Lanes), uint32(len(r.Hash)/2)))
		if got != r.Hash {
			t.Errorf("m=%d t=%d p=%d: %s, want %s", r.MemoryKiB, r.Passes, r.Lanes, got, r.Hash)
		}
	}
}

// TestCheckPHC verifies what the reference program printed in PHC form.
func TestCheckPHC(t *testing.T) {
	raw, err := os.ReadFile("testdata/ref/argon2-cli/encoded.txt")
	if err != nil {
		t.Fatal(err)
	}
	h := NewHasher(cheap, 1, 1)
	n := 0
	for line := range strings.Lines(string(raw)) {
		password, encoded, ok := strings.Cut(strings.TrimSpace(line), "\t")
		if !ok {
			continue
		}
		n++
		if right, err := h.Verify(t.Context(), encoded, password); err != nil || !right {
			t.Errorf("%q: %v, %v", password, right, err)
		}
		if right, err := h.Verify(t.Context(), encoded, password+" "); err != nil || right {
			t.Errorf("another password was right: %v, %v", right, err)
		}
	}
	if n < 2 {
		t.Fatalf("%d lines", n)
	}
}

func TestHash(t *testing.T) {
	h := NewHasher(cheap, 2, 4)
	a, err := h.Hash(t.Context(), rand.Reader, "three blue herons at dawn")
	if err != nil {
		t.Fatal(err)
	}
	b, _ := h.Hash(t.Context(), rand.Reader, "three blue herons at dawn")
	if a == b || !strings.HasPrefix(a, "$argon2id$v=19$m=64,t=1,p=1$") {
		t.Errorf("hashes %s and %s", a, b)
	}
	for _, c := range []struct {
		hash, password string
		want           bool
	}{{a, "three blue herons at dawn", true}, {a, "three blue herons at dusk", false}, {"", "three blue herons at dawn", false}, {a, "", false}, {a, strings.Repeat("x", maxPasswordBytes+1), false}, {"", "", false}} {
		if got, err := h.Verify(t.Context(), c.hash, c.password); got != c.want || err != nil {
			t.Errorf("Verify(%.12s, %.12q) = %v, %v", c.hash, c.password, got, err)
		}
	}
	// The same letters, composed otherwise.
	c, _ := h.Hash(t.Context(), rand.Reader, must(Normal("cafe\u0301 au lait, s\u0327il vous pla\u0131t")))
	if ok, err := h.Verify(t.Context(), c, "caf\u00e9 au lait, \u015fil vous pla\u0131t"); !ok || err != nil {
		t.Errorf("composed letters: %v, %v", ok, err)
	}
}

func must(s string, ok bool) string {
	if !ok {
		panic(s)
	}
	return s
}

func TestHashRefusesBrokenAndHuge(t *testing.T) {
	h := NewHasher(cheap, 1, 1)
	for _, bad := range []string{"x", "$argon2id$v=19$m=64,t=1,p=1$$", "$argon2i$v=19$m=64,t=1,p=1$c29tZXNhbHQ$RdescudvJCsgt3ub+b+dWRWJTmaaJObG", "$argon2id$v=16$m=64,t=1,p=1$c29tZXNhbHQ$RdescudvJCsgt3ub+b+dWRWJTmaaJObG",
		"$argon2id$v=19$m=4194304,t=1,p=1$c29tZXNhbHQ$RdescudvJCsgt3ub+b+dWRWJTmaaJObG", "$argon2id$v=19$m=64,t=0,p=1$c29tZXNhbHQ$RdescudvJCsgt3ub+b+dWRWJTmaaJObG", "$argon2id$v=19$m=64,t=1,p=1$c29tZXNhbHQ$!"} {
		if ok, err := h.Verify(t.Context(), bad, "p"); ok || err == nil {
			t.Errorf("%q: %v, %v", bad, ok, err)
		}
	}
}

// TestHasherIsBounded: however many come, no more hashes run at a time than there are slots, and the rest is told so.
func TestHasherIsBounded(t *testing.T) {
	h := NewHasher(Cost{MemoryKiB: 4 << 10, Passes: 2, Lanes: 1}, 1, 3)
	h.slots <- struct{}{} // somebody is at it
	var wg sync.WaitGroup
	errs := make(chan error, 20)
	ctx, leave := context.WithCancel(t.Context())
	defer leave()
	for range 20 {
		wg.Add(1)
		go func() {
			defer wg.Done()
			_, err := h.Verify(ctx, "", "p")
			errs <- err
		}()
	}
	// Queue 3 and slots 1, of which the one slot is taken without a place in the count: 16 are told to come back while
	// four wait, and those leave only when their readers do.
	for i := range 16 {
		select {
		case err := <-errs:
			if !errors.Is(err, ErrBusy) {
				t.Errorf("answer %d while the slot is taken: %v", i, err)
			}
		case <-time.After(time.Minute):
			t.Fatalf("%d of 16 were told to come back", i)
		}
	}
	leave()
	wg.Wait()
	close(errs)
	for err := range errs {
		if !errors.Is(err, context.Canceled) {
			t.Errorf("a hash ran beside the one slot, or one too many was turned away: %v", err)
		}
	}
	<-h.slots
	if _, err := h.Verify(t.Context(), "", "p"); err != nil {
		t.Errorf("after the rush: %v", err)
	}
}

// BenchmarkUsualCost is what a sign-in takes: 100 to 500 ms is wanted.
func BenchmarkUsualCost(b *testing.B) {
	h := NewHasher(UsualCost, 1, 1)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := h.Verify(b.Context(), "", "three blue herons at dawn"); err != nil {
			b.Fatal(err)
		}
	}
}
