package intake

import (
	"fmt"
	"strconv"
	"strings"

	"lowtide/unit"
)

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
		rest, ok := strings.CutPrefix(unit.Plain(name), unit.Plain(f.Name[:j]))
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
	if near := unit.Nearest(name, names); near != "" {
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
