package intake

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"lowtide/unit"
)

// text reads a text and checks it against its words and lengths.
func (d *decoder) text(v reflect.Value, n *node, f *Field) {
	at := int(n.start)
	if n.kind != nodeText {
		remedy := "Write it in double quotes."
		if n.kind == nodeNumber || n.kind == nodeBool {
			remedy = fmt.Sprintf("Write %q, with quotes.", n.text)
		}
		d.report(at, CodeType, n.show(), fmt.Sprintf("%s: a text is needed here, and this is %s.", f.Words, n.kindWords()), remedy)
		return
	}
	if f.Enum != nil && !slices.Contains(f.Enum, n.text) {
		remedy := "Write one of " + words(f.Enum) + "."
		if len(f.Enum) == 1 {
			remedy = fmt.Sprintf("Write %q.", f.Enum[0])
		}
		if near := unit.Nearest(n.text, f.Enum); near != "" {
			remedy = fmt.Sprintf("Write %q if that is meant. The words are %s.", near, words(f.Enum))
		}
		d.report(at, CodeWord, n.show(), fmt.Sprintf("%s: %s is not one of the words.", f.Words, n.show()), remedy)
		return
	}
	if !utf8.ValidString(n.text) {
		d.report(at, CodeEncoding, n.show(), fmt.Sprintf("%s: the text is not UTF-8.", f.Words), "Type it again.")
		return
	}
	if i := strings.IndexFunc(n.text, isControl); i >= 0 {
		d.report(at, CodeControl, n.show(), fmt.Sprintf("%s: the text holds a control character.", f.Words), "Remove it; line breaks and tabs are fine.")
		return
	}
	chars := utf8.RuneCountInString(n.text)
	if chars < f.MinLength {
		d.report(at, CodeLength, n.show(), fmt.Sprintf("%s: %d characters are too few; at least %d are needed.", f.Words, chars, f.MinLength), "Write more.")
		return
	}
	if f.MaxLength > 0 && chars > f.MaxLength {
		d.report(at, CodeLength, n.show(), fmt.Sprintf("%s: %d characters are more than the %d that fit.", f.Words, chars, f.MaxLength), "Shorten it, or put the rest into a note.")
		return
	}
	v.SetString(n.text)
}

func isControl(r rune) bool { return r < 0x20 && r != '\n' && r != '\t' && r != '\r' || r == 0x7f }

// float reads a number, whatever its range.
func (d *decoder) float(n *node, f *Field) (float64, bool) {
	at := int(n.start)
	switch n.kind {
	case nodeNumber:
		x, err := strconv.ParseFloat(n.text, 64)
		if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
			d.report(at, CodeNumber, n.text, fmt.Sprintf("%s: %s is too big to be a number here.", f.Words, shorten(n.text)), f.example())
			return 0, false
		}
		if x == 0 {
			return 0, true // minus zero would print differently and change hashes
		}
		return x, true
	case nodeText:
		x, err := unit.Parse(n.text, f.unitOr1())
		if err != nil {
			d.report(at, CodeType, n.show(), fmt.Sprintf("%s: a number is needed here, and this is text that cannot be read as one (%v).", f.Words, err), f.example())
			return 0, false
		}
		d.report(at, CodeUnitText, n.show(), fmt.Sprintf("%s: the number is written as text.", f.Words), fmt.Sprintf("Write %s, without quotes%s.", printNumber(x), f.inUnit(", in ")))
		return 0, false
	}
	d.report(at, CodeType, n.show(), fmt.Sprintf("%s: a number is needed here, and this is %s.", f.Words, n.kindWords()), f.example())
	return 0, false
}

func (d *decoder) number(v reflect.Value, n *node, f *Field) {
	if x, ok := d.float(n, f); ok && d.inRange(x, n, f) {
		v.SetFloat(x)
	}
}

func (d *decoder) count(v reflect.Value, n *node, f *Field) {
	x, ok := d.float(n, f)
	if !ok {
		return
	}
	if x != math.Trunc(x) {
		d.report(int(n.start), CodeWhole, n.text, fmt.Sprintf("%s: %s is not a whole number.", f.Words, shorten(n.text)), "Write a whole number.")
		return
	}
	if math.Abs(x) > 1e9 || !d.inRange(x, n, f) {
		if math.Abs(x) > 1e9 {
			d.report(int(n.start), CodeRange, n.text, fmt.Sprintf("%s: %s is too big.", f.Words, shorten(n.text)), f.example())
		}
		return
	}
	v.SetInt(int64(x))
}

func (d *decoder) inRange(x float64, n *node, f *Field) bool {
	if (f.Min == nil || x >= *f.Min) && (f.Max == nil || x <= *f.Max) {
		return true
	}
	u := f.inUnit(" ")
	var span string
	switch {
	case f.Min != nil && f.Max != nil && *f.Min == *f.Max:
		span = "only " + printNumber(*f.Min) + u
	case f.Min != nil && f.Max != nil:
		span = fmt.Sprintf("%s to %s%s", printNumber(*f.Min), printNumber(*f.Max), u)
	case f.Min != nil:
		span = fmt.Sprintf("%s%s or more", printNumber(*f.Min), u)
	default:
		span = fmt.Sprintf("%s%s or less", printNumber(*f.Max), u)
	}
	d.report(int(n.start), CodeRange, n.text, fmt.Sprintf("%s: %s%s is not possible; %s can be.", f.Words, printNumber(x), u, span), rangeRemedy(x, f))
	return false
}

// slips are units that are easily written in place of the field's own.
var slips = map[string]string{"cm": "mm", "cm²": "mm²", "°C": "°F", "kg": "g", "mL": "L", "h": "min"}

// rangeRemedy offers the value that a likely slip stands for.
func rangeRemedy(x float64, f *Field) string {
	fits := func(y float64) bool { return (f.Min == nil || y >= *f.Min) && (f.Max == nil || y <= *f.Max) }
	if x < 0 && strings.HasPrefix(f.Name, "suction") && fits(-x) {
		return fmt.Sprintf("Suction is a depth below ambient, written without minus: write %s if that is meant.", printNumber(-x))
	}
	if from, ok := slips[f.Unit]; ok {
		if y, err := unit.Convert(x, from, f.Unit); err == nil && fits(y) {
			return fmt.Sprintf("Check the value and its unit. If it is %s %s, write %s.", printNumber(x), from, printNumber(y))
		}
	}
	return "Check the value and its unit" + f.inUnit(", which is ") + "."
}

func (d *decoder) yesNo(v reflect.Value, n *node, f *Field) {
	if n.kind == nodeBool {
		v.SetBool(n.text == "true")
		return
	}
	remedy := "Write true or false, without quotes; leave the field out when it is not known."
	if n.kind == nodeText || n.kind == nodeNumber {
		if b, ok := yesNoWord(n.text); ok {
			remedy = fmt.Sprintf("Write %t, without quotes.", b)
		}
	}
	d.report(int(n.start), CodeType, n.show(), fmt.Sprintf("%s: true or false is needed here, and this is %s.", f.Words, n.kindWords()), remedy)
}

// yesNoWord reads the words that people and forms write for true and false.
func yesNoWord(s string) (value, ok bool) {
	switch strings.ToLower(strings.TrimSpace(s)) {
	case "true", "yes", "on", "y", "1":
		return true, true
	case "false", "no", "off", "n", "0":
		return false, true
	}
	return false, false
}

// date reads a day, which stays text.
func (d *decoder) date(v reflect.Value, n *node, f *Field) {
	if n.kind == nodeText && strings.TrimSpace(n.text) == "" {
		return
	}
	if n.kind == nodeText {
		if _, err := time.Parse(time.DateOnly, n.text); err == nil {
			v.SetString(n.text)
			return
		}
	}
	d.report(int(n.start), CodeDate, n.show(), fmt.Sprintf("%s: this is not a day of the calendar written as year-month-day.", f.Words), dateRemedy(n.text))
}

func dateRemedy(text string) string {
	for _, layout := range []string{"2006/1/2", "2006.1.2", "2006-1-2", "20060102", "2 January 2006", "2 Jan 2006", "January 2, 2006", "Jan 2, 2006", time.RFC3339} {
		if t, err := time.Parse(layout, strings.TrimSpace(text)); err == nil {
			return fmt.Sprintf("Write %q.", t.Format(time.DateOnly))
		}
	}
	for _, layout := range []string{"2.1.2006", "2/1/2006", "2-1-2006", "1/2/2006"} {
		t, err := time.Parse(layout, strings.TrimSpace(text))
		if err == nil && t.Day() > 12 {
			return fmt.Sprintf("Write %q.", t.Format(time.DateOnly))
		}
	}
	return `Write year-month-day, such as "2026-03-14".`
}

// time reads a moment with its offset. It goes into a time.Time, or into a text in a correction.
func (d *decoder) time(v reflect.Value, n *node, f *Field) {
	at := int(n.start)
	if n.kind == nodeText && strings.TrimSpace(n.text) == "" {
		return
	}
	if n.kind != nodeText {
		d.report(at, CodeTime, n.show(), fmt.Sprintf("%s: a time is needed here, and this is %s.", f.Words, n.kindWords()), timeExample)
		return
	}
	t, err := readTime(n.text)
	if err != nil {
		d.report(at, CodeTime, n.show(), fmt.Sprintf("%s: %s cannot be read as a time with its offset.", f.Words, n.show()), timeRemedy(n.text))
		return
	}
	if t.Year() < firstYear || t.Year() > lastYear {
		d.report(at, CodeTime, n.show(), fmt.Sprintf("%s: the year %d cannot be.", f.Words, t.Year()), "Check the year.")
		return
	}
	if v.Kind() == reflect.String {
		v.SetString(t.Format(time.RFC3339Nano))
		return
	}
	v.Set(reflect.ValueOf(t))
}

// Years outside are slips of the keyboard: the therapy is younger, and no plan reaches further.
const firstYear, lastYear = 1990, 2199

const timeExample = `Write date, time and offset, such as "2026-03-14T09:30:00+01:00".`

// readTime reads RFC 3339. The result carries only its offset, so that it does not depend on the machine.
func readTime(text string) (time.Time, error) {
	var t time.Time
	if err := t.UnmarshalText([]byte(text)); err != nil {
		return t, err
	}
	return fixed(t), nil
}

// fixed gives a time a zone that is only an offset.
func fixed(t time.Time) time.Time {
	if _, off := t.Zone(); off != 0 {
		return t.In(time.FixedZone("", off))
	}
	return t.UTC()
}

func timeRemedy(text string) string {
	s := strings.TrimSpace(text)
	for _, layout := range []string{"2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04:05", "2006-01-02 15:04"} {
		if t, err := time.Parse(layout, s); err == nil {
			return fmt.Sprintf("Add the offset of the place from UTC, such as %q or %q.", t.Format("2006-01-02T15:04:05")+"+01:00", t.Format("2006-01-02T15:04:05")+"Z")
		}
	}
	for _, layout := range []string{"2006-01-02 15:04:05Z07:00", "2006-01-02 15:04:05 Z07:00", "2006-01-02T15:04Z07:00", "2006-01-02T15:04:05Z0700", "2006-01-02 15:04:05 Z0700"} {
		if t, err := time.Parse(layout, s); err == nil {
			return fmt.Sprintf("Write %q.", t.Format(time.RFC3339))
		}
	}
	return timeExample
}

func (f *Field) unitOr1() string {
	if f.Unit == "" {
		return "1"
	}
	return f.Unit
}

func (f *Field) inUnit(before string) string {
	if f.Unit == "" {
		return ""
	}
	return before + f.Unit
}

// example says what to write into an empty field.
func (f *Field) example() string {
	name := strconv.Quote(f.Name)
	switch {
	case len(f.Enum) > 0 && f.Type == TypeWords:
		return fmt.Sprintf("Write %s, a list of %s.", name, words(f.Enum))
	case len(f.Enum) > 0:
		return fmt.Sprintf("Write %s, one of %s.", name, words(f.Enum))
	}
	switch f.Type {
	case TypeNumber:
		return fmt.Sprintf("Write %s, a number%s.", name, f.inUnit(" in "))
	case TypeCount:
		return fmt.Sprintf("Write %s, a whole number.", name)
	case TypeYesNo:
		return fmt.Sprintf("Write %s: true or false.", name)
	case TypeDate:
		return fmt.Sprintf(`Write %s, such as "2026-03-14".`, name)
	case TypeTime:
		return fmt.Sprintf(`Write %s, such as "2026-03-14T09:30:00+01:00".`, name)
	case TypeWords, TypeRows:
		return fmt.Sprintf("Write %s, a list.", name)
	case TypeAnswers:
		return fmt.Sprintf(`Write %s, such as { "eschar": "no" }.`, name)
	}
	return fmt.Sprintf("Write %s.", name)
}
