package pumplog

import (
	"fmt"
	"sort"
	"strconv"
	"strings"
)

// Channel is what a column means.
type Channel string

// The channels that are read. A column that is none of them is left out.
const (
	Time    Channel = "time"        // date and time of day, or a count since 1970
	Date    Channel = "date"        // the date alone; Clock is then the time of day
	Clock   Channel = "clock"       // the time of day alone
	Elapsed Channel = "elapsed"     // time since the log began; the beginning has to be told
	Suction Channel = "suction"     // suction at the pump
	Ordered Channel = "set suction" // what the pump was set to; shown, not judged by
	Flow    Channel = "flow"        // flow of air through the pump
	Motor   Channel = "motor"       // the motor's share of time, or whether it runs
	Battery Channel = "battery"     // charge
	Plugged Channel = "plugged in"  // whether the pump is on mains
	Therapy Channel = "therapy"     // whether therapy is on
	Alarm   Channel = "alarm"       // alarm in words
	Pump    Channel = "pump"        // which pump
)

// Channels lists them in the order in which pages show them, with the units each can have. The first unit is the one
// that is kept.
var Channels = []struct {
	Channel Channel
	Units   []string
}{
	{Time, []string{"", "s", "ms"}}, {Date, nil}, {Clock, nil}, {Elapsed, []string{"s", "min", "h", "ms"}},
	{Suction, []string{"mmHg", "kPa", "cmH2O", "mbar", "Pa", "inHg"}},
	{Ordered, []string{"mmHg", "kPa", "cmH2O", "mbar", "Pa", "inHg"}},
	{Flow, []string{"mL/min", "L/min", "mL/h", "L/h"}}, {Motor, []string{"%", "share"}}, {Battery, []string{"%", "share"}},
	{Plugged, nil}, {Therapy, nil}, {Alarm, nil}, {Pump, nil},
}

// factor turns a value in a unit into the kept one.
//
// Source: 1 mmHg = 133.322 Pa = 1.35951 cmH2O (clinical reference 2.23; ISO 80000-4); 1 inHg = 25.4 mmHg.
func factor(c Channel, unit string) (f float64, ok bool) {
	switch c {
	case Suction, Ordered:
		f = map[string]float64{"mmHg": 1, "kPa": 1000 / 133.322, "cmH2O": 1 / 1.35951, "mbar": 100 / 133.322, "Pa": 1 / 133.322, "inHg": 25.4}[unit]
	case Flow:
		f = map[string]float64{"mL/min": 1, "L/min": 1000, "mL/h": 1.0 / 60, "L/h": 1000.0 / 60}[unit]
	case Motor, Battery:
		f = map[string]float64{"%": 1, "share": 100}[unit]
	case Time:
		f = map[string]float64{"": 1, "s": 1000, "ms": 1}[unit]
	case Elapsed:
		f = map[string]float64{"s": 1000, "min": 60e3, "h": 3600e3, "ms": 1}[unit]
	default:
		return 1, unit == ""
	}
	return f, f > 0
}

// Column is one column of the table with what it means.
type Column struct {
	// Number counts from 1; Name is the header's text, "" when there is none.
	Number int     `json:"column"`
	Name   string  `json:"name,omitempty"`
	Means  Channel `json:"means"`
	Unit   string  `json:"unit,omitempty"`
	// Negative tells that suction is written as a negative pressure.
	Negative bool `json:"negative,omitempty"`
}

// Mapping says how a table is read. It is made by [Look], corrected by a person, and kept with the import.
type Mapping struct {
	// Delimiter is ",", ";", "\t" or "|"; Decimal is "." or ",".
	Delimiter string `json:"delimiter"`
	Decimal   string `json:"decimal"`
	// HeaderLine is the line of the header, 0 when there is none; the table starts on the line after it.
	HeaderLine int      `json:"header_line"`
	Columns    []Column `json:"columns"`
	// Names are the header's texts of all columns, in their order.
	Names []string `json:"names,omitempty"`
	// Dates is the order of numeric dates: "day first", "month first" or "year first"; "" when none are written so.
	Dates string `json:"dates,omitempty"`
}

// Find returns the column with the meaning, or nil.
func (m Mapping) Find(c Channel) *Column {
	for i := range m.Columns {
		if m.Columns[i].Means == c {
			return &m.Columns[i]
		}
	}
	return nil
}

// Check lists what keeps the mapping from being used.
func (m Mapping) Check() []string {
	var out []string
	has := func(c Channel) bool { return m.Find(c) != nil }
	if !has(Time) && !(has(Date) && has(Clock)) && !has(Elapsed) {
		out = append(out, "No column is the time. Say which one holds it, or which two hold the date and the time of day.")
	}
	if !has(Suction) {
		out = append(out, "No column is the suction. Say which one holds it.")
	}
	seen := map[Channel]int{}
	for _, c := range m.Columns {
		if first := seen[c.Means]; first > 0 {
			out = append(out, fmt.Sprintf("Columns %d and %d are both %q. Keep one.", first, c.Number, c.Means))
		}
		seen[c.Means] = c.Number
		if c.Number < 1 || c.Number > maxColumns {
			out = append(out, fmt.Sprintf("There is no column %d; columns count from 1 to %d.", c.Number, maxColumns))
		}
		if _, ok := factor(c.Means, c.Unit); !ok {
			out = append(out, fmt.Sprintf("Column %d: %q is no unit of %q. Use one of: %s.", c.Number, c.Unit, c.Means, strings.Join(unitsOf(c.Means), ", ")))
		}
	}
	return out
}

func unitsOf(c Channel) []string {
	for _, x := range Channels {
		if x.Channel == c {
			return x.Units
		}
	}
	return nil
}

// Print writes the mapping as the text that [ParseMapping] reads.
func (m Mapping) Print() string {
	parts := make([]string, 0, len(m.Columns)+4)
	for _, c := range m.Columns {
		s := string(c.Means) + "=" + strconv.Itoa(c.Number)
		if c.Unit != "" {
			s += ":" + c.Unit
		}
		if c.Negative {
			s += ":negative"
		}
		parts = append(parts, s)
	}
	if m.Dates != "" {
		parts = append(parts, "dates="+m.Dates)
	}
	name := m.Delimiter
	for word, d := range delimiterWords {
		if d == m.Delimiter {
			name = word
		}
	}
	parts = append(parts, "delimiter="+name)
	if m.Decimal == "," {
		parts = append(parts, "decimal=comma")
	} else {
		parts = append(parts, "decimal=point")
	}
	return strings.Join(append(parts, "header="+strconv.Itoa(m.HeaderLine)), ", ")
}

var delimiterWords = map[string]string{"comma": ",", "semicolon": ";", "tab": "\t", "pipe": "|"}

// ParseMapping changes a guessed mapping by a text such as
//
//	time=1, suction=Druck:kPa:negative, battery=4, delimiter=semicolon, decimal=comma, dates=day first
//
// Columns are named by number or by header. Parts that the text does not name stay as guessed, but a column that the
// text gives a new meaning loses its old one. "ignore=5" leaves a column out. Problems lists every part that cannot be
// used.
func ParseMapping(text string, guess Mapping) (m Mapping, problems []string) {
	m = guess
	m.Columns = append([]Column(nil), guess.Columns...)
	for _, part := range strings.Split(text, ",") {
		part = strings.TrimSpace(part)
		if part == "" {
			continue
		}
		key, value, ok := strings.Cut(part, "=")
		key, value = strings.ToLower(strings.TrimSpace(key)), strings.TrimSpace(value)
		if !ok || value == "" {
			problems = append(problems, fmt.Sprintf("%q is not of the form meaning=column. Write for example suction=3:kPa.", part))
			continue
		}
		if why := m.set(key, value); why != "" {
			problems = append(problems, why)
		}
	}
	m.order()
	return m, problems
}

func (m *Mapping) set(key, value string) string {
	switch key {
	case "delimiter":
		d, ok := delimiterWords[value]
		if !ok {
			return fmt.Sprintf("delimiter=%s: use comma, semicolon, tab or pipe.", value)
		}
		m.Delimiter = d
		return ""
	case "decimal":
		d, ok := map[string]string{"comma": ",", "point": "."}[value]
		if !ok {
			return fmt.Sprintf("decimal=%s: use point or comma.", value)
		}
		m.Decimal = d
		return ""
	case "dates":
		if value != "day first" && value != "month first" && value != "year first" {
			return fmt.Sprintf("dates=%s: use day first, month first or year first.", value)
		}
		m.Dates = value
		return ""
	case "header":
		n, err := strconv.Atoi(value)
		if err != nil || n < 0 || n > headLines {
			return fmt.Sprintf("header=%s: give the number of the header's line, 0 for none, at most %d.", value, headLines)
		}
		m.HeaderLine = n
		return ""
	}
	means := Channel(key)
	if key != "ignore" && !isChannel(means) {
		return fmt.Sprintf("%q is nothing that a column can mean. Use one of: %s.", key, channelWords())
	}
	parts := strings.Split(value, ":")
	n, err := strconv.Atoi(parts[0])
	name := ""
	if err != nil {
		name = parts[0]
		for i, s := range m.Names {
			if strings.EqualFold(s, parts[0]) {
				n = i + 1
			}
		}
	} else if n >= 1 && n <= len(m.Names) {
		name = m.Names[n-1]
	}
	if n < 1 || n > maxColumns {
		return fmt.Sprintf("%s=%s: no column has that name; give its name as in the header, or its number counted from 1.", key, value)
	}
	kept := m.Columns[:0:0]
	for _, c := range m.Columns {
		if c.Number != n && c.Means != means {
			kept = append(kept, c)
		}
	}
	m.Columns = kept
	if key == "ignore" {
		return ""
	}
	c := Column{Number: n, Name: name, Means: means}
	if u := unitsOf(means); len(u) > 0 {
		c.Unit = u[0]
	}
	for _, p := range parts[1:] {
		if p == "negative" {
			c.Negative = true
		} else {
			c.Unit = p
		}
	}
	m.Columns = append(m.Columns, c)
	return ""
}

func (m *Mapping) order() {
	sort.Slice(m.Columns, func(i, j int) bool { return m.Columns[i].Number < m.Columns[j].Number })
}

func isChannel(c Channel) bool {
	for _, x := range Channels {
		if x.Channel == c {
			return true
		}
	}
	return false
}

func channelWords() string {
	var out []string
	for _, x := range Channels {
		out = append(out, string(x.Channel))
	}
	return strings.Join(out, ", ")
}
