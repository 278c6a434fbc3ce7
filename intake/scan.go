package intake

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
)

// scanner turns bytes into a tree. After a slip that has only one reading (a missing or extra comma, a
// decimal comma, single quotes, a comment) it reports and goes on; anything else ends the reading, and what
// was read until there is kept and marked as cut.
type scanner struct {
	src    []byte
	pos    int
	limits Limits
	out    *collector
	path   []string
	// values counts what was built; over ends the reading.
	values int
	over   bool
}

// scan reads one JSON value that fills src. ok is false when nothing at all could be read.
func scan(src []byte, limits Limits, out *collector) (root node, ok bool) {
	s := &scanner{src: src, limits: limits, out: out}
	s.pos = len(src) - len(bytes.TrimPrefix(src, []byte("\ufeff")))
	if bytes.HasPrefix(src, []byte{0xff, 0xfe}) || bytes.HasPrefix(src, []byte{0xfe, 0xff}) {
		s.report(0, CodeEncoding, "", "The file is UTF-16, not UTF-8.", "Save it again as UTF-8.")
		return node{}, false
	}
	s.space()
	if s.pos == len(src) {
		s.report(s.pos, CodeSyntax, "", "The file is empty.", "Give a case file; docs/format/case.md has an example.")
		return node{}, false
	}
	root, ok = s.value()
	if !ok || s.over {
		return root, root.kind == nodeObject || root.kind == nodeList
	}
	if s.space(); s.pos < len(src) {
		s.report(s.pos, CodeSyntax, s.near(), "There is more text after the end of the JSON value.", "Remove what follows, or check for a bracket too many before it.")
	}
	return root, true
}

func (s *scanner) report(at int, code Code, value, message, remedy string) {
	var b strings.Builder
	for _, seg := range s.path {
		b.WriteString("/" + escape(seg))
	}
	s.out.add(Problem{Pointer: b.String(), Code: code, Value: value, Message: message, Remedy: remedy, at: at})
}

// stop ends the reading at the present place.
func (s *scanner) stop(message, remedy string) {
	if !s.over {
		s.report(s.pos, CodeSyntax, s.near(), message, remedy+" What follows was not read.")
	}
	s.over = true
}

// near is the text at the present place.
func (s *scanner) near() string {
	text, _, _ := bytes.Cut(s.src[s.pos:min(s.pos+20, len(s.src))], []byte("\n"))
	return strings.ToValidUTF8(string(text), "\uFFFD")
}

func (s *scanner) peek() byte {
	if s.pos < len(s.src) {
		return s.src[s.pos]
	}
	return 0
}

// space skips white space and comments.
func (s *scanner) space() {
	for s.pos < len(s.src) {
		switch c := s.src[s.pos]; {
		case c == ' ' || c == '\t' || c == '\n' || c == '\r':
			s.pos++
		case bytes.HasPrefix(s.src[s.pos:], []byte("//")):
			s.comment("\n")
		case bytes.HasPrefix(s.src[s.pos:], []byte("/*")):
			s.comment("*/")
		default:
			return
		}
	}
}

func (s *scanner) comment(end string) {
	s.report(s.pos, CodeSyntax, s.near(), "JSON has no comments.", "Remove it, or write a note.written entry.")
	i := bytes.Index(s.src[s.pos:], []byte(end))
	if i < 0 {
		s.pos = len(s.src)
		return
	}
	s.pos += i + len(end)
}

// value reads the value at the present place. ok is false when there is none that could be used.
func (s *scanner) value() (n node, ok bool) {
	s.values++
	if s.values > s.limits.Values {
		if !s.over {
			s.report(s.pos, CodeSize, "", fmt.Sprintf("The file holds more than %d values.", s.limits.Values), "Split it: one case a file.")
		}
		s.over = true
		return n, false
	}
	start := s.pos
	defer func() { n.start, n.end = int32(start), int32(s.pos) }()
	if len(s.path) >= s.limits.Depth && (s.peek() == '{' || s.peek() == '[') {
		s.report(s.pos, CodeNesting, "", fmt.Sprintf("Values are nested more than %d deep.", s.limits.Depth), "Check the brackets: no case file is nested so deeply.")
		s.skip()
		return node{kind: nodeNull, bad: true}, true
	}
	switch c := s.peek(); {
	case s.pos == len(s.src):
		s.stop("The file ends where a value should be.", "Complete the file: it may have been cut off on its way.")
		return n, false
	case c == '{':
		return s.object(), true
	case c == '[':
		return s.list(), true
	case c == '"' || c == '\'':
		return s.textNode(), true
	case c >= '0' && c <= '9', c == '-', c == '+', c == '.':
		return s.number(), true
	case isLetter(c):
		return s.word()
	}
	s.stop("This is not a JSON value.", "Write a text in straight double quotes, a number, true, false, a list or an object.")
	return n, false
}

func isLetter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c == '_' }

// object reads { ... }. The result is marked as cut when the reading ended inside.
func (s *scanner) object() node {
	n := node{kind: nodeObject}
	open := s.pos
	s.pos++
	index := map[string]bool{}
	for first := true; ; first = false {
		s.space()
		if s.peek() == '}' {
			if !first {
				s.report(s.pos, CodeSyntax, s.near(), "There is a comma before the closing bracket.", "Remove the comma.")
			}
			s.pos++
			return n
		}
		key, at, ok := s.key(open)
		if !ok {
			n.cut = true
			return n
		}
		s.path = append(s.path, key)
		twice := index[key]
		if twice {
			s.report(at, CodeDuplicateKey, key, fmt.Sprintf("The field %q is there twice.", key), "Keep one of the two.")
		}
		v, ok := s.memberValue()
		s.path = s.path[:len(s.path)-1]
		if ok && !twice {
			index[key] = true
			n.fields = append(n.fields, member{key, int32(at), v})
		}
		if s.over {
			n.cut = true
			return n
		}
		if !s.next('}', open) {
			n.cut = s.over
			return n
		}
	}
}

// key reads the name of a field and the colon after it.
func (s *scanner) key(open int) (key string, at int, ok bool) {
	for s.peek() == ',' {
		s.report(s.pos, CodeSyntax, s.near(), "There is a comma too many.", "Remove it.")
		s.pos++
		s.space()
	}
	at = s.pos
	switch c := s.peek(); {
	case s.pos == len(s.src):
		s.stop("The file ends inside the object that opens "+s.where(open)+".", "Complete the file: it may have been cut off on its way.")
		return "", at, false
	case c == '"' || c == '\'':
		t := s.textNode()
		key = t.text
		if s.over {
			return "", at, false
		}
	case isLetter(c):
		for s.pos < len(s.src) && (isLetter(s.peek()) || s.peek() >= '0' && s.peek() <= '9') {
			s.pos++
		}
		key = string(s.src[at:s.pos])
		s.report(at, CodeSyntax, key, "The name of a field has no quotes.", fmt.Sprintf("Write %s.", strconv.Quote(key)))
	default:
		s.stop("A field's name should be here.", `Write "name": value, with straight double quotes around the name.`)
		return "", at, false
	}
	s.space()
	switch c := s.peek(); {
	case c == ':':
		s.pos++
	case c == '=':
		s.report(s.pos, CodeSyntax, "=", "There is an equals sign where a colon should be.", "Write a colon.")
		s.pos++
	default:
		s.stop(fmt.Sprintf("There is no colon after the name %q.", shorten(key)), `Write "name": value.`)
		return "", at, false
	}
	return key, at, true
}

// memberValue reads the value of a field, and joins a number that was written with a decimal comma.
func (s *scanner) memberValue() (node, bool) {
	s.space()
	v, ok := s.value()
	if ok && v.kind == nodeNumber && s.pos+1 < len(s.src) && s.src[s.pos] == ',' && isDigit(s.src[s.pos+1]) {
		end := s.pos + 1
		for end < len(s.src) && isDigit(s.src[end]) {
			end++
		}
		s.report(int(v.start), CodeSyntax, string(s.src[v.start:end]), "The number has a decimal comma.",
			fmt.Sprintf("Write %s.%s.", s.src[v.start:s.pos], s.src[s.pos+1:end]))
		s.pos, v.bad, v.end = end, true, int32(end)
	}
	return v, ok
}

// list reads [ ... ].
func (s *scanner) list() node {
	n := node{kind: nodeList}
	open := s.pos
	s.pos++
	for first := true; ; first = false {
		s.space()
		for s.peek() == ',' {
			s.report(s.pos, CodeSyntax, s.near(), "There is a comma too many.", "Remove it.")
			s.pos++
			s.space()
		}
		if s.peek() == ']' {
			if !first {
				s.report(s.pos, CodeSyntax, s.near(), "There is a comma before the closing bracket.", "Remove the comma.")
			}
			s.pos++
			return n
		}
		s.path = append(s.path, strconv.Itoa(len(n.items)))
		v, ok := s.value()
		s.path = s.path[:len(s.path)-1]
		if ok {
			n.items = append(n.items, v)
		}
		if s.over {
			n.cut = true
			return n
		}
		if !s.next(']', open) {
			n.cut = s.over
			return n
		}
	}
}

// next goes over the comma to the next item; it is false when the container has closed or the reading ended.
func (s *scanner) next(closing byte, open int) bool {
	s.space()
	switch c := s.peek(); {
	case c == ',' && s.pos < len(s.src):
		s.pos++
		return true
	case c == closing:
		s.pos++
		return false
	case s.pos == len(s.src):
		what := "object"
		if closing == ']' {
			what = "list"
		}
		s.stop("The file ends inside the "+what+" that opens "+s.where(open)+".", "Complete the file: it may have been cut off on its way.")
		return false
	case c == '"' || c == '{' || c == '[':
		s.report(s.pos, CodeSyntax, s.near(), "There is no comma between two values.", "Write a comma before this one.")
		return true
	}
	s.stop(fmt.Sprintf("A comma or %q should be here, for what opens %s.", string(closing), s.where(open)), "Check the brackets and quotes around this place.")
	return false
}

// where tells the line of a place.
func (s *scanner) where(at int) string {
	return fmt.Sprintf("in line %d", bytes.Count(s.src[:at], []byte("\n"))+1)
}

// skip goes over a value without building it, in a loop: depth must not cost stack.
func (s *scanner) skip() {
	depth := 0
	for s.pos < len(s.src) {
		switch s.src[s.pos] {
		case '{', '[':
			depth++
		case '}', ']':
			depth--
		case '"':
			for s.pos++; s.pos < len(s.src) && s.src[s.pos] != '"'; s.pos++ {
				if s.src[s.pos] == '\\' {
					s.pos++
				}
			}
		}
		s.pos = min(s.pos+1, len(s.src))
		if depth == 0 {
			return
		}
	}
}
