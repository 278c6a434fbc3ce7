package account

import (
	"crypto/rand"
	"strings"
	"testing"
	"time"
)

var rfcSecret = []byte("12345678901234567890")

// TestCheckHOTP: RFC 4226, appendix D.
func TestCheckHOTP(t *testing.T) {
	for n, want := range []string{"755224", "287082", "359152", "969429", "338314", "254676", "287922", "162583", "399871", "520489"} {
		if got := hotp(rfcSecret, uint64(n), 6); got != want {
			t.Errorf("counter %d: %s, want %s", n, got, want)
		}
	}
}

// TestCheckTOTP: RFC 6238, appendix B, the SHA-1 rows.
func TestCheckTOTP(t *testing.T) {
	for at, want := range map[int64]string{59: "94287082", 1111111109: "07081804", 1111111111: "14050471", 1234567890: "89005924", 2000000000: "69279037", 20000000000: "65353130"} {
		if got := hotp(rfcSecret, counterAt(time.Unix(at, 0)), 8); got != want {
			t.Errorf("at %d: %s, want %s", at, got, want)
		}
	}
}

func TestCodes(t *testing.T) {
	secret := base32Plain.EncodeToString(rfcSecret)
	at := time.Unix(1234567890, 0)
	code := func(shift time.Duration) string { return hotp(rfcSecret, counterAt(at.Add(shift)), 6) }
	for _, c := range []struct {
		name, code string
		want       bool
	}{{"now", code(0), true}, {"with a space", code(0)[:3] + " " + code(0)[3:], true}, {"a step late", code(-30 * time.Second), true}, {"a step early", code(30 * time.Second), true},
		{"two steps late", code(-60 * time.Second), false}, {"two steps early", code(60 * time.Second), false}, {"short", code(0)[:5], false}, {"empty", "", false}, {"letters", "abcdef", false}} {
		if got := new(Codes).Check("m.holt", secret, c.code, at); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
	var codes Codes
	if !codes.Check("m.holt", secret, code(0), at) || codes.Check("m.holt", secret, code(0), at) || codes.Check("m.holt", secret, code(-30*time.Second), at) {
		t.Error("a code, or one before it, was taken twice")
	}
	if !codes.Check("j.okafor", secret, code(0), at) || !codes.Check("m.holt", secret, code(30*time.Second), at) {
		t.Error("another account's, or the next, code was not taken")
	}
	for _, bad := range []string{"", "AAAA", "not base32!"} {
		if new(Codes).Check("m.holt", bad, hotp(nil, counterAt(at), 6), at) {
			t.Errorf("secret %q was taken", bad)
		}
	}
}

func TestNewCodeSecret(t *testing.T) {
	a, err := NewCodeSecret(rand.Reader)
	if err != nil || len(a) != 32 {
		t.Fatal(a, err)
	}
	if got := CodeAddress(a, "m.holt", "ward 3"); !strings.HasPrefix(got, "otpauth://totp/Lowtide%20ward%203:m.holt?") || !strings.Contains(got, "secret="+a) {
		t.Error(got)
	}
}
