package account

import "testing"

// FuzzParseHash: whatever stands in the store, reading it never asks for more memory than was ever made here.
func FuzzParseHash(f *testing.F) {
	f.Add("$argon2id$v=19$m=65536,t=4,p=2$c29tZXNhbHQ$RdescudvJCsgt3ub+b+dWRWJTmaaJObG")
	f.Add("$argon2id$v=19$m=4294967295,t=0,p=300$$")
	f.Fuzz(func(t *testing.T, s string) {
		c, salt, sum, err := parseHash(s)
		if err == nil && (c.MemoryKiB > maxMemoryKiB || c.MemoryKiB < 8 || c.Passes == 0 || c.Passes > 20 || c.Lanes == 0 || c.Lanes > 16 || len(salt) < 8 || len(sum) < 16 || len(sum) > 64) {
			t.Errorf("%q: %+v", s, c)
		}
	})
}

// FuzzCheckPassword: no text makes it fall over, and what it takes is in its normal form and within the limits.
func FuzzCheckPassword(f *testing.F) {
	f.Add("three blue herons at dawn", "m.holt")
	f.Add("\u0301\u0301\u0301\u0301\u0301\u0301\u0301\u0301\u0301\u0301\u0301\u0301\u0301\u0301\u0301\u0301", "\xff")
	f.Fuzz(func(t *testing.T, password, context string) {
		n, err := CheckPassword(password, context)
		if err != nil {
			return
		}
		if again, ok := Normal(n); !ok || again != n || len([]rune(n)) < MinPassword || len([]rune(n)) > MaxPassword {
			t.Errorf("%q was taken as %q", password, n)
		}
	})
}
