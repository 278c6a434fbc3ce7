package casebook

import (
	"encoding/hex"
	"fmt"
	"io"
	"strconv"
	"time"
)

// NewID makes a UUIDv7 (RFC 9562, section 5.7): 48 bits of Unix milliseconds, then 74 random bits read from
// random. The clock and the randomness come from the caller, so that tests and demos can repeat them.
func NewID(at time.Time, random io.Reader) (string, error) {
	var b [16]byte
	if _, err := io.ReadFull(random, b[6:]); err != nil {
		return "", fmt.Errorf("casebook: make an ID: %w", err)
	}
	ms := uint64(at.UnixMilli())
	for i := range 6 {
		b[i] = byte(ms >> (40 - 8*i))
	}
	b[6] = b[6]&0x0f | 0x70
	b[8] = b[8]&0x3f | 0x80
	h := hex.EncodeToString(b[:])
	return h[:8] + "-" + h[8:12] + "-" + h[12:16] + "-" + h[16:20] + "-" + h[20:], nil
}

// IDTime is the time that a UUIDv7 carries; false for another ID.
func IDTime(id string) (time.Time, bool) {
	if len(id) != 36 || id[8] != '-' || id[14] != '7' {
		return time.Time{}, false
	}
	ms, err := strconv.ParseUint(id[:8]+id[9:13], 16, 64)
	if err != nil {
		return time.Time{}, false
	}
	return time.UnixMilli(int64(ms)), true
}
