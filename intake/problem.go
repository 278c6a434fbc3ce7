package intake

import (
	"fmt"
	"sort"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Code names the sort of a problem; the strings are stable.
type Code string

// The sorts of problems. Those marked as notice do not stop a file from being used.
const (
	CodeSyntax       Code = "syntax"        // broken JSON
	CodeEncoding     Code = "encoding"      // not UTF-8, or half a character
	CodeControl      Code = "control"       // control characters in a text
	CodeNesting      Code = "nesting"       // lists in lists in lists
	CodeSize         Code = "size"          // too big as a whole
	CodeDuplicateKey Code = "duplicate_key" // one field twice
	CodeUnknownField Code = "unknown_field"
	CodeUnitField    Code = "unit_field" // a known field with another unit in its name
	CodeType         Code = "type"
	CodeUnitText     Code = "unit_text" // a number written as text, with its unit
	CodeWhole        Code = "whole"     // a fraction where a count is needed
	CodeNumber       Code = "number"    // not a number, or too big to be one
	CodeRange        Code = "range"
	CodeWord         Code = "word" // a word that is not in the list
	CodeMissing      Code = "missing"
	CodeLength       Code = "length" // a text too short or too long
	CodeItems        Code = "items"  // too few or too many items
	CodeDate         Code = "date"
	CodeTime         Code = "time"
	CodeZone         Code = "zone"
	CodeFormat       Code = "format" // an ID or a hash that does not look like one
	CodeUnknownKind  Code = "unknown_kind"
	CodeSameEntry    Code = "same_entry"
	CodeDuplicateID  Code = "duplicate_id"
	CodeOtherCase    Code = "other_case"
	CodeFuture       Code = "future"
	CodeOrder        Code = "order" // times in an impossible order
	CodeUnknownWound Code = "unknown_wound"
	CodeBeforeWound  Code = "before_wound"
	CodeCorrection   Code = "correction"
	CodeTissueSum    Code = "tissue_sum"
	CodeContradicts  Code = "contradicts"
	CodeTwice        Code = "twice"
	CodeMeaningless  Code = "meaningless"
	CodeCanister     Code = "canister"
	CodeQuestion     Code = "question"
	CodeMore         Code = "more" // the list of problems was cut
)

// Problem is one thing that is wrong with what arrived.
type Problem struct {
	// Pointer is the JSON pointer (RFC 6901) of the value; for forms it is the name of the field.
	Pointer string `json:"pointer"`
	// Entry is the ID of the entry, if it could be read.
	Entry string `json:"entry,omitempty"`
	Code  Code   `json:"code"`
	// Value is what was found there, shortened.
	Value   string `json:"value,omitempty"`
	Message string `json:"message"`
	// Remedy says what to do.
	Remedy string `json:"remedy"`
	// Line and Column count from 1; they are 0 when there is no text to point into.
	Line   int `json:"line,omitempty"`
	Column int `json:"column,omitempty"`
	// Notice marks what is worth knowing and stops nothing.
	Notice bool `json:"notice,omitempty"`
	// at is the byte offset that orders problems.
	at int
}

// String is the problem in one line, without control characters.
func (p Problem) String() string {
	var b strings.Builder
	if p.Pointer == "" {
		b.WriteString("the whole file")
	} else {
		b.WriteString(p.Pointer)
	}
	if p.Line > 0 {
		fmt.Fprintf(&b, " (line %d, column %d)", p.Line, p.Column)
	}
	if p.Notice {
		b.WriteString(" notice")
	}
	fmt.Fprintf(&b, " [%s]: %s %s", p.Code, p.Message, p.Remedy)
	return strings.Map(visible, b.String())
}

// visible keeps a file from steering the terminal or turning the text that a problem is printed in.
func visible(r rune) rune {
	if unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) {
		return utf8.RuneError
	}
	return r
}

// Problems is a list in document order. It is an error when it holds more than notices: use [Problems.Err].
type Problems []Problem

// Error lists every problem, one a line.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.String()
	}
	return strings.Join(lines, "\n")
}

// Err returns the list as an error, or nil when it is empty or holds only notices.
func (ps Problems) Err() error {
	for _, p := range ps {
		if !p.Notice {
			return ps
		}
	}
	return nil
}

// At returns the problems at one pointer or field name.
func (ps Problems) At(pointer string) Problems {
	var out Problems
	for _, p := range ps {
		if p.Pointer == pointer {
			out = append(out, p)
		}
	}
	return out
}

// Form turns pointers into the body of entry i of a list (/entries/0/body/tissue) into names of form fields
// (tissue); other pointers into that entry lose only their prefix (at). It is for showing what
// [CheckEntries] says about an entry beside the fields of the form that it was read from.
func (ps Problems) Form(i int) Problems {
	entry := "/entries/" + strconv.Itoa(i) + "/"
	out := append(Problems(nil), ps...)
	for j := range out {
		rest, ok := strings.CutPrefix(out[j].Pointer, entry)
		if ok {
			out[j].Pointer = strings.TrimPrefix(rest, "body/")
		}
	}
	return out
}

// Join puts lists together and drops repeats of the same code at the same place.
func Join(lists ...Problems) Problems {
	var out Problems
	type key struct {
		pointer string
		code    Code
		value   string
	}
	seen := map[key]bool{}
	for _, l := range lists {
		for _, p := range l {
			k := key{p.Pointer, p.Code, p.Value}
			if !seen[k] {
				seen[k] = true
				out = append(out, p)
			}
		}
	}
	return out
}

// collector gathers problems up to a limit and remembers which entries have one.
type collector struct {
	list Problems
	max  int
	more int
	bad  map[int]bool
}

func newCollector(max int) *collector { return &collector{max: max, bad: map[int]bool{}} }

// full tells that further problems are only counted, so that no work need go into their words.
func (c *collector) full() bool { return len(c.list) >= c.max }

func (c *collector) add(p Problem) {
	if i, ok := entryIndex(p.Pointer); ok && !p.Notice {
		c.bad[i] = true
	}
	if c.full() {
		c.more++
		return
	}
	p.Value = shorten(p.Value)
	c.list = append(c.list, p)
}

// done sorts by place, and fills in lines and columns when there is a text.
func (c *collector) done(src []byte) Problems {
	sort.SliceStable(c.list, func(i, j int) bool { return c.list[i].at < c.list[j].at })
	if src != nil {
		line, column, pos := 1, 1, 0
		for i := range c.list {
			at := min(max(c.list[i].at, pos), len(src))
			for ; pos < at; pos++ {
				switch {
				case src[pos] == '\n':
					line, column = line+1, 1
				case utf8.RuneStart(src[pos]):
					column++
				}
			}
			c.list[i].Line, c.list[i].Column = line, column
		}
	}
	if c.more > 0 {
		c.list = append(c.list, Problem{Code: CodeMore, Message: fmt.Sprintf("There are %d more problems.", c.more),
			Remedy: "Correct those above and read the file again."})
	}
	return c.list
}

// entryIndex returns the number of the entry that a pointer leads into.
func entryIndex(pointer string) (int, bool) {
	rest, ok := strings.CutPrefix(pointer, "/entries/")
	if !ok {
		return 0, false
	}
	digits, _, _ := strings.Cut(rest, "/")
	i, err := strconv.Atoi(digits)
	return i, err == nil
}

// shorten keeps values readable in a list.
func shorten(s string) string {
	const keep = 60
	if utf8.RuneCountInString(s) <= keep {
		return strings.ToValidUTF8(s, "\uFFFD")
	}
	return strings.ToValidUTF8(string([]rune(s)[:keep]), "\uFFFD") + "…"
}
