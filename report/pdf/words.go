package pdf

import (
	"strings"
	"unicode"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/text/unicode/bidi"
	"golang.org/x/text/unicode/norm"

	"github.com/go-fonts/dejavu/dejavusans"
)

// missing stands for a sign that the typeface lacks.
const missing = '□'

// typeface answers which signs can be printed.
var typeface = func() *sfnt.Font {
	f, err := sfnt.Parse(dejavusans.TTF)
	if err != nil {
		panic("the embedded typeface cannot be read: " + err.Error())
	}
	return f
}()

// printable brings words into the order and the shapes in which they are printed, left to right (Unicode Annex 9), and
// replaces what the typeface lacks. lacks tells whether anything was replaced.
func printable(s string) (out string, lacks bool) {
	plain := true
	for i := range len(s) {
		plain = plain && s[i] >= ' ' && s[i] < 0x7f
	}
	if plain {
		return s, false
	}
	s = norm.NFC.String(strings.ToValidUTF8(s, string(unicode.ReplacementChar)))
	s = visual(joined(s))
	var b strings.Builder
	var buf sfnt.Buffer
	for _, r := range s {
		switch {
		case r == '\t' || r == '\n' || r == '\r':
			r = ' '
		case unicode.IsControl(r) || unicode.In(r, unicode.Cf):
			continue
		case r > 0xffff:
			// the subsets that are embedded reach no further
			r, lacks = missing, true
		default:
			if i, err := typeface.GlyphIndex(&buf, r); err != nil || i == 0 {
				r, lacks = missing, true
			}
		}
		b.WriteRune(r)
	}
	return b.String(), lacks
}

// visual reorders words with right-to-left parts for printing from the left, in a line that itself runs from the left
// (Unicode Annex 9: the rules W1 to W7, N1, N2, I1 and L2, without explicit embeddings and paired brackets).
func visual(s string) string {
	rs := []rune(s)
	class := make([]bidi.Class, len(rs))
	rtl := false
	for i, r := range rs {
		c, _ := bidi.LookupRune(r)
		class[i] = c.Class()
		rtl = rtl || class[i] == bidi.R || class[i] == bidi.AL
	}
	if !rtl {
		return s
	}
	level := levels(class)
	for i, l := range level { // L4
		if m, ok := mirrored[rs[i]]; ok && l%2 == 1 {
			rs[i] = m
		}
	}
	most := 0
	for _, l := range level {
		most = max(most, l)
	}
	for l := most; l > 0; l-- {
		for i := 0; i < len(rs); i++ {
			j := i
			for j < len(rs) && level[j] >= l {
				j++
			}
			if j > i {
				reverse(rs[i:j])
				reverse(level[i:j])
				i = j
			}
		}
	}
	return string(rs)
}

var mirrored = map[rune]rune{'(': ')', ')': '(', '[': ']', ']': '[', '{': '}', '}': '{', '<': '>', '>': '<', '«': '»', '»': '«'}

func reverse[T any](v []T) {
	for i, j := 0, len(v)-1; i < j; i, j = i+1, j-1 {
		v[i], v[j] = v[j], v[i]
	}
}

// levels resolves the classes of a line that runs from the left.
func levels(class []bidi.Class) []int {
	c := append([]bidi.Class(nil), class...)
	n := len(c)
	last := bidi.L
	for i := range c { // W1: a mark is as what it stands on; W2: numbers behind Arabic letters
		switch c[i] {
		case bidi.NSM:
			c[i] = bidi.ON
			if i > 0 {
				c[i] = c[i-1]
			}
		case bidi.EN:
			if last == bidi.AL {
				c[i] = bidi.AN
			}
		}
		if c[i] == bidi.L || c[i] == bidi.R || c[i] == bidi.AL {
			last = c[i]
		}
	}
	for i := range c { // W3
		if c[i] == bidi.AL {
			c[i] = bidi.R
		}
	}
	for i := 1; i+1 < n; i++ { // W4: one separator between two numbers
		if a := c[i-1]; a == c[i+1] && (c[i] == bidi.ES && a == bidi.EN || c[i] == bidi.CS && (a == bidi.EN || a == bidi.AN)) {
			c[i] = a
		}
	}
	for i := 0; i < n; i++ { // W5: signs beside a number
		if c[i] != bidi.ET {
			continue
		}
		j := i
		for j < n && c[j] == bidi.ET {
			j++
		}
		if i > 0 && c[i-1] == bidi.EN || j < n && c[j] == bidi.EN {
			for k := i; k < j; k++ {
				c[k] = bidi.EN
			}
		}
		i = j - 1
	}
	last = bidi.L
	for i := range c { // W6, W7
		switch c[i] {
		case bidi.ES, bidi.ET, bidi.CS:
			c[i] = bidi.ON
		case bidi.L, bidi.R:
			last = c[i]
		case bidi.EN:
			if last == bidi.L {
				c[i] = bidi.L
			}
		}
	}
	level := make([]int, n)
	strong := func(x bidi.Class) bidi.Class {
		if x == bidi.EN || x == bidi.AN {
			return bidi.R
		}
		return x
	}
	for i := 0; i < n; { // N1, N2 and I1
		switch c[i] {
		case bidi.L:
			i++
		case bidi.R:
			level[i] = 1
			i++
		case bidi.EN, bidi.AN:
			level[i] = 2
			i++
		default:
			j := i
			for j < n && c[j] != bidi.L && c[j] != bidi.R && c[j] != bidi.EN && c[j] != bidi.AN {
				j++
			}
			if i > 0 && j < n && strong(c[i-1]) == bidi.R && strong(c[j]) == bidi.R {
				for k := i; k < j; k++ {
					level[k] = 1
				}
			}
			i = j
		}
	}
	return level
}

// joined replaces Arabic letters by the forms in which they are written beside their neighbours. The forms stand in
// Unicode's block FE70 to FEFF in the order isolated, final, initial, medial; letters with two forms join only to the
// letter before them.
func joined(s string) string {
	rs := []rune(s)
	arabic := false
	for _, r := range rs {
		arabic = arabic || r >= 0x0621 && r <= 0x064a
	}
	if !arabic {
		return s
	}
	out := make([]rune, 0, len(rs))
	joinsOn := func(i int) bool { // to the letter after it
		return i >= 0 && i < len(rs) && (rs[i] == 0x0640 || forms[rs[i]].n == 4)
	}
	joinsBack := func(i int) bool { // to the letter before it
		return i >= 0 && i < len(rs) && (rs[i] == 0x0640 || forms[rs[i]].n >= 2)
	}
	// marks above and below letters do not part them
	mark := func(i int) bool { return i >= 0 && i < len(rs) && unicode.Is(unicode.Mn, rs[i]) }
	for i, r := range rs {
		f, ok := forms[r]
		if !ok {
			out = append(out, r)
			continue
		}
		before, after := i-1, i+1
		for mark(before) {
			before--
		}
		for mark(after) {
			after++
		}
		back := f.n >= 2 && joinsOn(before)
		on := f.n == 4 && joinsBack(after)
		switch {
		case back && on:
			out = append(out, f.first+3)
		case on:
			out = append(out, f.first+2)
		case back:
			out = append(out, f.first+1)
		default:
			out = append(out, f.first)
		}
	}
	return string(out)
}

// form is where the forms of a letter begin, and how many there are.
type form struct {
	first rune
	n     int
}

// forms are found from Unicode's own decompositions: each presentation form decomposes to its letter.
var forms = func() map[rune]form {
	out := map[rune]form{}
	for r := rune(0xfe80); r <= 0xfef4; r++ {
		d := []rune(norm.NFKD.String(string(r)))
		if len(d) > 1 {
			d = []rune(norm.NFKC.String(string(r)))
		}
		if len(d) != 1 {
			continue
		}
		f, ok := out[d[0]]
		if !ok {
			f.first = r
		}
		f.n++
		out[d[0]] = f
	}
	return out
}()
