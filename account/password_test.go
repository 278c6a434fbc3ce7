package account

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestCheckPassword(t *testing.T) {
	for _, c := range []struct{ password, refusedFor string }{
		{"three blue herons at dawn", ""},
		{"kettle-marsh-ribbon-plum", ""},
		{"Zx9!qP2#vL7@mK4$", ""},
		{"großer Regenbogen über Köln", ""},
		{"雨の日は静かに本を読む夕方の部屋", ""},
		{"fourteen chars", "fewer than 15"},
		{"fifteen chars x", ""},
		{"", "fewer than 15"},
		{strings.Repeat("ab c", 65), "longer than 256"},
		{"tab\tin the middle of it", "typed"},
		{"aaaaaaaaaaaaaaaaaaaa", "over and over"},
		{"correct correct correct", "over and over"},
		{"abcabcabcabcabcabc", "over and over"},
		{"lighthouse1234567", "one word"},
		{"!!!!!l1ghth0us3!!!!!", "one word"},
		{"Password1234567!", "one word"},
		{"P@ssw0rd!!!!!!!!", "one word"},
		{"123456789012345", "row of keys"},
		{"qwertyuiopasdfghjkl", "row of keys"},
		{"0987654321poiuytrewq", "row of keys"},
		{"lowtidelowtidelow", "over and over"},
		{"mara holt lowtide 1", "row of keys, or a name"},
		{"mara.holt.2026.lowtide", "row of keys, or a name"},
		{"counterrevolutionary", "common"},
	} {
		_, err := CheckPassword(c.password, "m.holt", "Mara Holt")
		var r *Refused
		switch {
		case c.refusedFor == "" && err != nil:
			t.Errorf("%q: %v", c.password, err)
		case c.refusedFor != "" && (!errors.As(err, &r) || !strings.Contains(r.What, c.refusedFor) || r.Next == ""):
			t.Errorf("%q: %v, want %q", c.password, err, c.refusedFor)
		}
	}
}

// TestCommonPasswordsAreBlocked: whatever is long enough is refused when it is a common password with padding.
func TestCommonPasswordsAreBlocked(t *testing.T) {
	for _, w := range []string{"password", "dragon", "sunshine", "princess", "football", "monkey", "welcome", "nightingale", "hospital", "nurse", "pressure"} {
		for _, pad := range []string{"1234567890", "2026!2026!", "!!!!!!!!!!!"} {
			if _, err := CheckPassword(w + pad); err == nil {
				t.Errorf("%s was taken", w+pad)
			}
		}
	}
}

// TestBlocklistRarelyWrong: random passphrases are refused by the filter in less than one of a thousand.
func TestBlocklistRarelyWrong(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	wrong, n := 0, 5000
	for range n {
		var b strings.Builder
		for range 16 + r.IntN(8) {
			b.WriteByte("abcdefghijklmnopqrstuvwxyz0123456789 "[r.IntN(37)])
		}
		if paddedWord(b.String()) || blocked.has(b.String()) {
			wrong++
		}
	}
	if wrong > n/1000 {
		t.Errorf("%d of %d random passwords were refused", wrong, n)
	}
}

// TestLawBloomNeverMisses: every word that was added is found, also after writing and reading.
func TestLawBloomNeverMisses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOfN(rapid.String(), 1, 200).Draw(t, "words")
		b := NewBloom(len(words), 10)
		for _, w := range words {
			b.Add(w)
		}
		back, err := ParseBloom(b.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range words {
			if !back.has(w) {
				t.Fatalf("%q is missed", w)
			}
		}
	})
}

func TestBlocklistFile(t *testing.T) {
	if blocked.words < 50_000 || !blocked.has("password") || !blocked.has("lighthouse") || blocked.has("xqzvkjwpdfgh") {
		t.Errorf("%d words", blocked.words)
	}
	for _, bad := range []string{"", "LtB1", "LtB2\x00\x00\x00\x01\x00\x00\x00\x01x", "LtB1\x00\x00\x00\x00\x00\x00\x00\x01x"} {
		if _, err := ParseBloom([]byte(bad)); err == nil {
			t.Errorf("%q was read", bad)
		}
	}
}

// TestLawNormalTwice: the normal form of a normal form is itself.
func TestLawNormalTwice(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.String().Draw(t, "s")
		n, ok := Normal(s)
		if !ok {
			return
		}
		if m, ok := Normal(n); ok && m != n {
			t.Fatal(fmt.Sprintf("%q gives %q gives %q", s, n, m))
		}
	})
}
