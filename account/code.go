package account

import (
	"crypto/hmac"
	"crypto/sha1"
	"crypto/subtle"
	"encoding/base32"
	"encoding/binary"
	"fmt"
	"io"
	"net/url"
	"strings"
	"sync"
	"time"
)

// One-time codes (RFC 6238): HMAC-SHA-1, six digits, steps of 30 s. SHA-1 is what every program for codes can do; its
// weakness against collisions does not touch HMAC (RFC 6238, appendix B; RFC 4226, appendix B).
const (
	codeStep   = 30 * time.Second
	codeDigits = 6
	// codeSkew is how many steps a telephone's clock may be off, each way (RFC 6238, section 5.2).
	codeSkew = 1
)

var base32Plain = base32.StdEncoding.WithPadding(base32.NoPadding)

// NewCodeSecret makes a secret of 160 random bits (RFC 4226, section 4, R6) in base32.
func NewCodeSecret(random io.Reader) (string, error) {
	var b [20]byte
	if _, err := io.ReadFull(random, b[:]); err != nil {
		return "", fmt.Errorf("account: make a secret: %w", err)
	}
	return base32Plain.EncodeToString(b[:]), nil
}

// CodeAddress is the address from which a program for codes takes the secret.
func CodeAddress(secret, name, where string) string {
	v := url.Values{"secret": {secret}, "issuer": {"Lowtide " + where}}
	return "otpauth://totp/" + url.PathEscape("Lowtide "+where+":"+name) + "?" + v.Encode()
}

// hotp is the code of a counter (RFC 4226, section 5.3).
func hotp(secret []byte, counter uint64, digits int) string {
	var c [8]byte
	binary.BigEndian.PutUint64(c[:], counter)
	m := hmac.New(sha1.New, secret)
	m.Write(c[:])
	sum := m.Sum(nil)
	at := sum[len(sum)-1] & 0x0f
	n := binary.BigEndian.Uint32(sum[at:]) & 0x7fffffff
	mod := uint32(1)
	for range digits {
		mod *= 10
	}
	return fmt.Sprintf("%0*d", digits, n%mod)
}

// counterAt is the number of the step (RFC 6238, section 4.2).
func counterAt(now time.Time) uint64 {
	return uint64(max(0, now.Unix())) / uint64(codeStep/time.Second)
}

// Codes checks one-time codes and takes each only once. It is safe for several goroutines.
type Codes struct {
	mu   sync.Mutex
	used map[string]uint64
}

// Check tells whether the code is right for the secret now and was not used before. What is remembered of used codes
// ends with the program: a code lives 90 s at most.
func (c *Codes) Check(name, secret, code string, now time.Time) bool {
	key, err := base32Plain.DecodeString(secret)
	code = strings.Join(strings.Fields(code), "")
	if err != nil || len(key) < 16 || len(code) != codeDigits {
		return false
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.used == nil {
		c.used = map[string]uint64{}
	}
	at, found := counterAt(now), uint64(0)
	for n := at - min(at, codeSkew); n <= at+codeSkew; n++ {
		if subtle.ConstantTimeCompare([]byte(hotp(key, n, codeDigits)), []byte(code)) == 1 {
			found = max(found, n)
		}
	}
	// The secret is part of the key: a new secret starts anew.
	id := name + "\x00" + secret
	if found == 0 || found <= c.used[id] {
		return false
	}
	c.used[id] = found
	return true
}

// CodeAt is the one-time code of a secret at a moment, as a telephone shows it; empty for a secret that is none.
func CodeAt(secret string, at time.Time) string {
	key, err := base32Plain.DecodeString(secret)
	if err != nil {
		return ""
	}
	return hotp(key, counterAt(at), codeDigits)
}
