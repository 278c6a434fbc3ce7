package rule

import (
	"strings"
	"time"

	"lowtide/rule/value"
	"lowtide/unit"
)

// text is a sentence with placeholders.
type text []piece

// piece is literal words, or the value of a term (when term is not negative), or a named value.
type piece struct {
	words string
	term  int
	value string
	in    string // the unit in which the value is printed, or the way in which a term is said; empty is its own unit
}

// ways are how a term that is a number of a unit can be said in words: {fluid.fresh_pct in odds}.
var ways = map[string]struct {
	unit string
	say  func(float64) string
}{
	"odds":  {"%", func(pct float64) string { return unit.Chance(pct / 100) }},
	"times": {"", unit.Times},
	"fall":  {"%", func(pct float64) string { return unit.Fall(pct / 100) }},
	"more":  {"%", func(pct float64) string { return unit.Times(1 + pct/100) }},
}

// parseText splits "since {canister.changed_at}" into pieces.
func (c *compiler) parseText(s string) text {
	var out text
	for s != "" {
		i := strings.IndexAny(s, "{}")
		if i < 0 {
			return append(out, piece{words: s, term: -1})
		}
		if i > 0 {
			out = append(out, piece{words: s[:i], term: -1})
		}
		j := strings.IndexAny(s[i+1:], "{}")
		if s[i] == '}' || j < 0 || s[i+1+j] == '{' {
			c.say("a brace without its partner", "write placeholders as {TERM} or {VALUE}")
			return nil
		}
		name, in := value.Placeholder(s[i+1 : i+1+j])
		s = s[i+j+2:]
		if k, ok := c.values[name]; ok {
			c.used[name] = true
			if _, err := unit.Convert(1, k.unit, in); err != nil && in != "" {
				c.say("{"+name+" in "+in+"}: "+err.Error(), "leave the unit out, or write one of the same dimension")
				return nil
			}
			out = append(out, piece{term: -1, value: name, in: in})
		} else if !strings.Contains(name, ".") {
			c.say("there is no value {"+name+"}", "add a [[value]] of that name, name a shared one under use, or write a term as {GROUP.NAME}")
		} else if k, ok := c.find(name); ok {
			if w, ok := ways[in]; in != "" && (!ok || Vocabulary[k].Type != Number || Vocabulary[k].Unit != w.unit) {
				c.say("{"+name+" in "+in+"}: the term cannot be said in that way", "leave the way out; odds, fall and more are for a percentage, times for a factor")
				return nil
			}
			out = append(out, piece{term: k, in: in})
		}
	}
	return out
}

// print fills the placeholders; facts may be nil when the text has values only.
func (t text) print(f *Facts, ed *edition) string {
	if len(t) == 1 && t[0].term < 0 && t[0].value == "" {
		return t[0].words
	}
	var b strings.Builder
	for _, p := range t {
		switch {
		case p.value != "":
			k := ed.values[p.value]
			if x, ok := k.value.(float64); ok && p.in != "" {
				b.WriteString(value.PrintIn(x, k.unit, p.in))
			} else {
				b.WriteString(printValue(k.value, k.unit))
			}
		case p.term >= 0:
			if f == nil {
				b.WriteString(Vocabulary[p.term].Words)
				continue
			}
			if x, ok := f.at(p.term).value.(float64); ok && p.in != "" {
				b.WriteString(ways[p.in].say(x))
				continue
			}
			b.WriteString(f.printed(p.term))
		default:
			b.WriteString(p.words)
		}
	}
	return b.String()
}

// printed prints what is known of a term, with its unit.
func (f *Facts) printed(term int) string {
	switch v := f.at(term).value.(type) {
	case nil:
		return "not known"
	case time.Time:
		return f.print(v)
	default:
		return printAny(v, Vocabulary[term].Unit, false)
	}
}

// printValue prints a constant with its unit, to three decimals (six below 1): more than constants are written with.
func printValue(v any, u string) string {
	if v == nil {
		return value.NotSet
	}
	return printAny(v, u, true)
}

// printAny prints a value with its unit; [value.Print] says how numbers are rounded.
func printAny(v any, u string, exact bool) string {
	switch v := v.(type) {
	case bool:
		if v {
			return "yes"
		}
		return "no"
	case string:
		return v
	case []string:
		return strings.Join(v, ", ")
	case []float64:
		parts := make([]string, len(v))
		for i := range v {
			parts[i] = value.Print(v[i], u, exact)
		}
		return strings.Join(parts, ", ")
	case float64:
		return value.Print(v, u, exact)
	}
	return "not known"
}
