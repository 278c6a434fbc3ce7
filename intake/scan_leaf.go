package intake

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

// textNode reads a quoted text and reports what JSON does not allow in one, once for each sort.
func (s *scanner) textNode() node {
	start, quote := s.pos, s.src[s.pos]
	n := node{kind: nodeText}
	if quote != '"' {
		s.report(start, CodeSyntax, s.near(), "The text has single quotes.", "Write double quotes.")
		n.bad = true
	}
	var b strings.Builder
	told := map[string]bool{}
	tell := func(code Code, message, remedy string) {
		n.bad = true
		if !told[message] {
			told[message] = true
			s.report(s.pos, code, "", message, remedy)
		}
	}
	for s.pos++; ; {
		if s.pos >= len(s.src) {
			s.pos = start
			s.stop("The text that starts here has no closing quote.", "Write the closing quote.")
			s.pos = len(s.src)
			n.text, n.bad = b.String(), true
			return n
		}
		c := s.src[s.pos]
		switch {
		case c == quote:
			s.pos++
			n.text = b.String()
			return n
		case c == '\\':
			s.escape(&b, tell)
		case c < 0x20:
			tell(CodeControl, "The text holds a line break or another control character as it is.", `Write \n for a line break, and remove other control characters.`)
			b.WriteByte(c)
			s.pos++
		case c < utf8.RuneSelf:
			b.WriteByte(c)
			s.pos++
		default:
			r, size := utf8.DecodeRune(s.src[s.pos:])
			if r == utf8.RuneError && size == 1 {
				tell(CodeEncoding, "The text is not UTF-8 here.", "Save the file again as UTF-8.")
			}
			b.WriteRune(r)
			s.pos += size
		}
	}
}

// escape reads a backslash and what belongs to it.
func (s *scanner) escape(b *strings.Builder, tell func(Code, string, string)) {
	if s.pos+1 >= len(s.src) {
		s.pos++
		return
	}
	c := s.src[s.pos+1]
	const from, to = `"\/bfnrt`, "\"\\/\b\f\n\r\t"
	if i := strings.IndexByte(from, c); i >= 0 {
		b.WriteByte(to[i])
		s.pos += 2
		return
	}
	if c != 'u' {
		tell(CodeSyntax, fmt.Sprintf("JSON has no escape \\%s.", shorten(strings.ToValidUTF8(string(rune(c)), "?"))), `Write \\ for a backslash.`)
		s.pos++
		return
	}
	r, ok := s.hex4(s.pos + 2)
	if !ok {
		tell(CodeSyntax, `The escape \u needs four hexadecimal digits.`, `Write the character itself, or \u and four digits.`)
		s.pos += 2
		return
	}
	s.pos += 6
	if utf16.IsSurrogate(r) {
		low, ok := rune(0), false
		if s.pos+1 < len(s.src) && s.src[s.pos] == '\\' && s.src[s.pos+1] == 'u' {
			low, ok = s.hex4(s.pos + 2)
		}
		r = utf16.DecodeRune(r, low)
		if !ok || r == utf8.RuneError {
			tell(CodeEncoding, `The text holds half a character (a lone surrogate, \ud800 to \udfff).`, "Write the whole character.")
			b.WriteRune(utf8.RuneError)
			return
		}
		s.pos += 6
	}
	b.WriteRune(r)
}

func (s *scanner) hex4(at int) (rune, bool) {
	if at+4 > len(s.src) {
		return 0, false
	}
	x, err := strconv.ParseUint(string(s.src[at:at+4]), 16, 32)
	return rune(x), err == nil
}

// number reads everything that looks like part of a number, and reports when JSON would not read it so.
func (s *scanner) number() node {
	start := s.pos
	for s.pos < len(s.src) && (isDigit(s.src[s.pos]) || strings.IndexByte("+-.eE", s.src[s.pos]) >= 0) {
		s.pos++
	}
	n := node{kind: nodeNumber, text: string(s.src[start:s.pos])}
	if n.text == "-" && strings.HasPrefix(string(s.src[s.pos:min(s.pos+8, len(s.src))]), "Infinity") {
		s.pos += len("Infinity")
		n.bad = true
		s.report(start, CodeNumber, "-Infinity", "-Infinity is not a number that can be used.", "Leave the field out when the value is not known.")
		return n
	}
	if !isNumber(n.text) {
		n.bad = true
		remedy := "Write digits with a decimal point, such as 0.5."
		if x, err := strconv.ParseFloat(n.text, 64); err == nil {
			remedy = "Write " + printNumber(x) + "."
		}
		s.report(start, CodeSyntax, n.text, fmt.Sprintf("%s is not how JSON writes a number.", shorten(n.text)), remedy)
	}
	return n
}

// isNumber tells whether a text follows the grammar of numbers in RFC 8259, section 6.
func isNumber(t string) bool {
	digits := func() bool {
		i := 0
		for i < len(t) && isDigit(t[i]) {
			i++
		}
		t = t[i:]
		return i > 0
	}
	t = strings.TrimPrefix(t, "-")
	if strings.HasPrefix(t, "0") {
		t = t[1:]
	} else if !digits() {
		return false
	}
	if strings.HasPrefix(t, ".") {
		if t = t[1:]; !digits() {
			return false
		}
	}
	if t != "" && (t[0] == 'e' || t[0] == 'E') {
		t = t[1:]
		if t != "" && (t[0] == '+' || t[0] == '-') {
			t = t[1:]
		}
		if !digits() {
			return false
		}
	}
	return t == ""
}

// word reads true, false and null, and what other languages write for them.
func (s *scanner) word() (node, bool) {
	start := s.pos
	for s.pos < len(s.src) && (isLetter(s.src[s.pos]) || isDigit(s.src[s.pos])) {
		s.pos++
	}
	w := string(s.src[start:s.pos])
	if len(s.path) == 0 && w != "true" && w != "false" && w != "null" {
		s.pos = start
		s.stop("The file is not JSON.", "Give a case file; docs/format/case.md has an example.")
		return node{}, false
	}
	switch w {
	case "true", "false":
		return node{kind: nodeBool, text: w}, true
	case "null":
		return node{kind: nodeNull}, true
	}
	switch low := strings.ToLower(w); low {
	case "true", "false":
		s.report(start, CodeSyntax, w, w+" is not how JSON writes it.", "Write "+low+".")
	case "nan", "infinity", "inf":
		s.report(start, CodeNumber, w, w+" is not a number that can be used.", "Leave the field out when the value is not known.")
	case "none", "nil", "undefined", "null":
		s.report(start, CodeSyntax, w, w+" is not how JSON writes an absent value.", "Leave the field out.")
	default:
		s.report(start, CodeSyntax, w, fmt.Sprintf("%s has no quotes.", shorten(w)), fmt.Sprintf("Write %s.", strconv.Quote(shorten(w))))
	}
	return node{kind: nodeNull, bad: true}, true
}
