package intake

import (
	"fmt"
	"strconv"
	"strings"

	"lowtide/unit"
)

// longestWord bounds the work for a suggestion: no known word is longer.
const longestWord = 48

// nearest returns the word that was most likely meant, or "" when none is near: equal but for case and
// separators, or at most a third of the letters away.
func nearest(word string, known []string) string {
	best, bestD := "", 1<<30
	w := plain(word)
	if w == "" || len(w) > longestWord {
		return ""
	}
	for _, k := range known {
		p := plain(k)
		if p == w {
			return k
		}
		d := distance(w, p)
		if d < bestD && d <= min(len(w), len(p))/3 {
			best, bestD = k, d
		}
	}
	return best
}

// plain drops what people vary: case, spaces, underscores, hyphens.
func plain(s string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case ' ', '_', '-', '.', '/':
			return -1
		}
		return r
	}, strings.ToLower(s))
}

// distance counts the letters to insert, delete, change or swap (restricted Damerau-Levenshtein distance).
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	var before []int
	last := make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		row := make([]int, len(y)+1)
		row[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last = last, row
	}
	return last[len(y)]
}

// suffixUnit is the unit that the end of a field's name gives, such as cm in depth_cm.
func suffixUnit(suffix string) (unit.Code, bool) {
	if suffix == "" {
		return unit.Code{}, false
	}
	if strings.EqualFold(suffix, "pct") || strings.EqualFold(suffix, "percent") {
		suffix = "%"
	}
	return unit.Find(suffix)
}

// otherUnit finds the known field that has the same name but for its unit, and the unit that was written
// (empty Print when none was).
func otherUnit(name string, fields []Field) (*Field, unit.Code, bool) {
	for i := range fields {
		f := &fields[i]
		j := strings.LastIndexByte(f.Name, '_')
		if j <= 0 || f.Type != TypeNumber {
			continue
		}
		rest, ok := strings.CutPrefix(plain(name), plain(f.Name[:j]))
		if _, hasUnit := suffixUnit(f.Name[j+1:]); !ok || !hasUnit {
			continue
		}
		if rest == "" {
			return f, unit.Code{}, true
		}
		if written, ok := suffixUnit(rest); ok {
			return f, written, true
		}
	}
	return nil, unit.Code{}, false
}

// unknownRemedy says what to do about a field that is not known, and which known field it stands for.
func unknownRemedy(name string, value *node, fields []Field) (code Code, remedy string, meant *Field) {
	if f, written, ok := otherUnit(name, fields); ok {
		remedy = fmt.Sprintf("Write %q, in %s.", f.Name, f.Unit)
		if written.Print == "" {
			return CodeUnitField, fmt.Sprintf("Write %q: the name carries the unit, here %s.", f.Name, f.Unit), f
		}
		if written.Print == f.Unit {
			return CodeUnknownField, remedy, f
		}
		base, _ := unit.Find(f.Unit)
		x, err := strconv.ParseFloat(value.text, 64)
		if (value.kind == nodeNumber || value.kind == nodeText) && err == nil && base.Dim == written.Dim {
			if y, err := unit.Convert(x, written.Print, f.Unit); err == nil {
				remedy = fmt.Sprintf("%s %s is %s %s: write %q: %s.", printNumber(x), written.Print, printNumber(y), f.Unit, f.Name, printNumber(y))
			}
		} else if base.Dim != written.Dim {
			remedy = fmt.Sprintf("Write %q, a %s in %s; %s is a unit of %s.", f.Name, base.Dim, f.Unit, written.Print, written.Dim)
		}
		return CodeUnitField, remedy, f
	}
	names := make([]string, len(fields))
	for i, f := range fields {
		names[i] = f.Name
	}
	if near := nearest(name, names); near != "" {
		f := findField(fields, near)
		return CodeUnknownField, fmt.Sprintf("Write %q%s if that is meant.", near, f.inUnit(", in ")), f
	}
	for _, f := range fields {
		if f.Type == TypeGroup && findField(f.Fields, name) != nil {
			return CodeUnknownField, fmt.Sprintf("It belongs inside %q.", f.Name), nil
		}
	}
	return CodeUnknownField, "Remove it, or write it into a note; docs/format/kinds.md lists the fields.", nil
}

// printNumber prints at most four significant digits beyond the point's need: enough for any bedside value.
func printNumber(x float64) string {
	abs := x
	if abs < 0 {
		abs = -abs
	}
	switch {
	case abs >= 1e15 || (abs > 0 && abs < 1e-4):
		return strconv.FormatFloat(x, 'g', 4, 64)
	case abs >= 100:
		return unit.Number(x, 1)
	case abs >= 10:
		return unit.Number(x, 2)
	}
	return unit.Number(x, 3)
}

// words lists allowed words for a message.
func words(list []string) string {
	quoted := make([]string, len(list))
	for i, w := range list {
		quoted[i] = strconv.Quote(w)
	}
	return strings.Join(quoted, ", ")
}
