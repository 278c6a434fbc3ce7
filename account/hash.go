package account

import (
	"context"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"strings"
	"sync/atomic"

	"golang.org/x/crypto/argon2"
)

// Cost is what one hash costs (RFC 9106).
type Cost struct {
	MemoryKiB uint32
	Passes    uint32
	Lanes     uint8
}

// UsualCost is the second recommended option of RFC 9106, section 4 (64 MiB), with two lanes for machines of two cores
// and four passes instead of three, so that a hash takes more than 100 ms. docs/decisions/0014 has what was measured.
var UsualCost = Cost{MemoryKiB: 64 << 10, Passes: 4, Lanes: 2}

const (
	saltLen, hashLen = 16, 32
	// maxMemoryKiB bounds what a stored hash may ask for.
	maxMemoryKiB = 256 << 10
)

// ErrBusy: so many people sign in at this moment that the request was not taken.
var ErrBusy = errors.New("too many people sign in at this moment")

// Hasher hashes passwords, never more than a few at a time: what signing in takes of memory is bounded by slots times
// the cost, whoever asks and how often.
type Hasher struct {
	cost    Cost
	slots   chan struct{}
	waiting atomic.Int64
	queue   int64
}

// NewHasher allows slots hashes at a time, and queue more that wait.
func NewHasher(cost Cost, slots, queue int) *Hasher {
	return &Hasher{cost: cost, slots: make(chan struct{}, slots), queue: int64(queue)}
}

// Hash makes a hash in PHC form. The password must be in its [Normal] form. Errors: [ErrBusy], ctx's and random's.
func (h *Hasher) Hash(ctx context.Context, random io.Reader, normal string) (string, error) {
	salt := make([]byte, saltLen)
	if _, err := io.ReadFull(random, salt); err != nil {
		return "", fmt.Errorf("account: make a salt: %w", err)
	}
	sum, err := h.sum(ctx, h.cost, salt, normal, hashLen)
	if err != nil {
		return "", err
	}
	b64 := base64.RawStdEncoding.EncodeToString
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, h.cost.MemoryKiB, h.cost.Passes, h.cost.Lanes, b64(salt), b64(sum)), nil
}

// Verify tells whether the password is that of the hash. An empty hash, of an account that does not exist or has no
// password, takes the same work and is never right. Errors: [ErrBusy], ctx's, and a hash that cannot be read.
func (h *Hasher) Verify(ctx context.Context, encoded, password string) (bool, error) {
	normal, ok := Normal(password)
	cost, salt, want := h.cost, make([]byte, saltLen), make([]byte, hashLen)
	known := encoded != ""
	if known {
		var err error
		if cost, salt, want, err = parseHash(encoded); err != nil {
			return false, err
		}
	}
	got, err := h.sum(ctx, cost, salt, normal, len(want))
	if err != nil {
		return false, err
	}
	same := subtle.ConstantTimeCompare(got, want) == 1
	return same && known && ok, nil
}

// sum waits for a slot.
func (h *Hasher) sum(ctx context.Context, cost Cost, salt []byte, normal string, n int) ([]byte, error) {
	if h.waiting.Add(1) > h.queue+int64(cap(h.slots)) {
		h.waiting.Add(-1)
		return nil, ErrBusy
	}
	defer h.waiting.Add(-1)
	select {
	case h.slots <- struct{}{}:
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	defer func() { <-h.slots }()
	return argon2.IDKey([]byte(normal), salt, cost.Passes, cost.MemoryKiB, cost.Lanes, uint32(n)), nil
}

// parseHash reads a hash in PHC form and refuses one that would take more memory than any that was ever made here.
func parseHash(encoded string) (cost Cost, salt, sum []byte, err error) {
	bad := fmt.Errorf("account: the password's hash cannot be read")
	part := strings.Split(encoded, "$")
	var version int
	if len(part) != 6 || part[0] != "" || part[1] != "argon2id" {
		return cost, nil, nil, bad
	}
	if n, err := fmt.Sscanf(part[2], "v=%d", &version); n != 1 || err != nil || version != argon2.Version {
		return cost, nil, nil, bad
	}
	if n, err := fmt.Sscanf(part[3], "m=%d,t=%d,p=%d", &cost.MemoryKiB, &cost.Passes, &cost.Lanes); n != 3 || err != nil {
		return cost, nil, nil, bad
	}
	if cost.MemoryKiB < 8 || cost.MemoryKiB > maxMemoryKiB || cost.Passes < 1 || cost.Passes > 20 || cost.Lanes < 1 || cost.Lanes > 16 {
		return cost, nil, nil, bad
	}
	if salt, err = base64.RawStdEncoding.DecodeString(part[4]); err != nil || len(salt) < 8 || len(salt) > 64 {
		return cost, nil, nil, bad
	}
	if sum, err = base64.RawStdEncoding.DecodeString(part[5]); err != nil || len(sum) < 16 || len(sum) > 64 {
		return cost, nil, nil, bad
	}
	return cost, salt, sum, nil
}
