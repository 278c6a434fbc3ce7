package page

import (
	"sort"
	"strconv"
	"strings"
	"time"

	"lowtide/intake"
)

// rows draws those that were typed, at least one, and one more when that was asked for.
func (b *formBuilder) rows(out *FormField, f *intake.Field) {
	out.Control, out.Wide = ControlRows, true
	n := 0
	for _, i := range b.rowNumbers(out.Pointer) {
		n = max(n, i+1)
	}
	n = max(n, 1)
	if b.More == out.Pointer {
		n++
	}
	if f.MaxItems > 0 {
		n = min(n, f.MaxItems)
		out.More = n < f.MaxItems
	}
	for i := range n {
		out.Rows = append(out.Rows, b.fields(f.Fields, out.Pointer+"/"+strconv.Itoa(i)+"/"))
	}
}

// maxRow is the greatest row number that a form can have: no list of a body is longer.
const maxRow = 60

// rowNumbers lists the numbers of rows that the form holds, filled or not, below maxRow.
func (b *formBuilder) rowNumbers(pointer string) []int {
	seen := map[int]bool{}
	for name := range b.Values {
		rest, ok := strings.CutPrefix(name, pointer+"/")
		if !ok {
			continue
		}
		digits, _, _ := strings.Cut(rest, "/")
		if i, err := strconv.Atoi(digits); err == nil && i >= 0 && i < maxRow {
			seen[i] = true
		}
	}
	var out []int
	for i := range seen {
		out = append(out, i)
	}
	sort.Ints(out)
	return out
}

// wrong returns the problems at a pointer, in words.
func (b *formBuilder) wrong(pointer string) []string {
	var out []string
	for _, p := range b.Problems {
		if p.Pointer == pointer && !p.Notice {
			out = append(out, p.Message+" "+p.Remedy)
		}
	}
	return out
}

// list makes the list of problems at the top: each links to its field, or to the nearest part that holds it.
func (b *formBuilder) list() []FormProblem {
	var out []FormProblem
	for _, p := range b.Problems {
		if p.Notice {
			continue
		}
		f := FormProblem{Text: p.Message, Remedy: p.Remedy}
		for at := p.Pointer; at != ""; {
			if label, ok := b.known[at]; ok {
				f.Label, f.Href = label, "#"+fieldID(at)
				break
			}
			i := strings.LastIndexByte(at, '/')
			if i < 0 {
				break
			}
			at = at[:i]
		}
		out = append(out, f)
	}
	return out
}

// below tells whether anything was typed or is wrong below a prefix: a folded part is opened then.
func (b *formBuilder) below(prefix string) bool {
	for name, values := range b.Values {
		if strings.HasPrefix(name, prefix) && !strings.HasSuffix(name, "?") && strings.TrimSpace(strings.Join(values, "")) != "" {
			return true
		}
	}
	for _, p := range b.Problems {
		if strings.HasPrefix(p.Pointer, prefix) {
			return true
		}
	}
	return false
}

func isDay(s string) bool {
	_, err := time.Parse(time.DateOnly, s)
	return err == nil
}

// isLocal tells whether a browser's field for day and time can show the text.
func isLocal(s string) bool {
	for _, layout := range []string{"2006-01-02T15:04", "2006-01-02T15:04:05"} {
		if _, err := time.Parse(layout, s); err == nil {
			return true
		}
	}
	return false
}

// LocalValue writes an instant as a form's field for day and time holds it. Where that would read back as another
// instant (in the hour that comes twice) it is written with its offset.
func LocalValue(t time.Time, zone *time.Location) string {
	layout := "2006-01-02T15:04"
	switch {
	case t.Nanosecond() != 0:
		return t.Format(time.RFC3339Nano)
	case t.Second() != 0:
		layout += ":05"
	}
	text := t.In(zone).Format(layout)
	if back, problem := intake.ReadClock(text, zone); problem != nil || !back.Equal(t) {
		return t.Format(time.RFC3339Nano)
	}
	return text
}

// hidden is a value that goes with the form unseen.
func hidden(name, value string) FormField {
	return FormField{Control: ControlHidden, Name: name, Pointer: strings.TrimSuffix(name, "?"), Value: value}
}

// preset marks a field as one that counts only beside others.
func preset(f FormField) FormField {
	f.Name = f.Pointer + "?"
	return f
}
