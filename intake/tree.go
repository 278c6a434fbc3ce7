package intake

import (
	"strconv"
	"strings"
)

// nodeKind is the sort of a JSON value.
type nodeKind uint8

const (
	nodeNull nodeKind = iota
	nodeBool
	nodeNumber
	nodeText
	nodeList
	nodeObject
)

// node is one JSON value with its place in the source.
type node struct {
	kind nodeKind
	// bad says that a problem with this value is already reported: later checks pass it over.
	bad bool
	// cut says that the source ended or broke inside: what is missing is not held against it.
	cut bool
	// flat says that the items of a list share its name, as repeated form fields do.
	flat bool
	// text is a decoded text, the literal of a number, or "true" or "false".
	text       string
	start, end int32
	items      []node
	// labels are the indices that a form gave to the items, which may have holes.
	labels []string
	fields []member
}

// member is a field of an object; at is the place of its name.
type member struct {
	key   string
	at    int32
	value node
}

// get returns a field, or nil.
func (n *node) get(key string) *node {
	if n == nil {
		return nil
	}
	for i := range n.fields {
		if n.fields[i].key == key {
			return &n.fields[i].value
		}
	}
	return nil
}

// label is the path segment of item i; "" when items share their list's name.
func (n *node) label(i int) string {
	switch {
	case n.flat:
		return ""
	case n.labels != nil:
		return n.labels[i]
	}
	return strconv.Itoa(i)
}

// trace follows a pointer as far as it leads. It returns the place of the last value found, and the pointer
// with list positions replaced by the labels that a form gave.
func (n *node) trace(pointer string) (at int, labelled string) {
	at = int(n.start)
	var out strings.Builder
	for rest := pointer; rest != ""; {
		seg, next, _ := strings.Cut(rest[1:], "/")
		if next != "" || strings.HasSuffix(rest, "/") {
			next = "/" + next
		}
		rest = next
		if n == nil {
			out.WriteString("/" + seg)
			continue
		}
		var child *node
		label := seg
		switch n.kind {
		case nodeObject:
			child = n.get(unescape(seg))
		case nodeList:
			if i, err := strconv.Atoi(seg); err == nil && i >= 0 && i < len(n.items) {
				child, label = &n.items[i], n.label(i)
			}
		}
		if label != "" {
			out.WriteString("/" + label)
		}
		if child != nil {
			at = int(child.start)
		}
		n = child
	}
	return at, out.String()
}

var pointerEscapes = strings.NewReplacer("~", "~0", "/", "~1")
var pointerUnescapes = strings.NewReplacer("~1", "/", "~0", "~")

func escape(key string) string   { return pointerEscapes.Replace(key) }
func unescape(seg string) string { return pointerUnescapes.Replace(seg) }
