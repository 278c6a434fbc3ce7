package web

import (
	"net/url"
	"testing"
)

// FuzzSafePath: what is let through leads to this server, however a browser reads it.
func FuzzSafePath(f *testing.F) {
	for _, s := range []string{"/case/x?y=1#z", "//evil.example", "/\\evil.example", "/\t/evil.example", "https://evil.example", "/%2f/evil.example", "/..//evil.example"} {
		f.Add(s)
	}
	base, _ := url.Parse("https://ward.example/sign-in")
	f.Fuzz(func(t *testing.T, s string) {
		to := safePath(s)
		if to == "" {
			return
		}
		// A browser drops tabs and line breaks before it reads an address (WHATWG URL).
		if len(to) > 1 && (to[1] == '/' || to[1] == '\\' || to[1] == '\t') {
			t.Errorf("%q", to)
		}
		u, err := base.Parse(to)
		if err != nil || u.Host != base.Host || u.Scheme != "https" {
			t.Errorf("%q leads to %v, %v", to, u, err)
		}
	})
}
