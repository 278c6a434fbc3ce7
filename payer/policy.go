package payer

import (
	"bytes"
	"fmt"
	"strings"
	"time"

	"github.com/BurntSushi/toml"
)

// Verify stands beside everything that comes from a policy.
const Verify = "Verify with the payer's current text."

// Policy is what one payer asks for, as it was read. Nothing in it is certain to be in force today.
type Policy struct {
	// ID is the name of its file without .toml; Name is what pages show.
	ID   string `toml:"id"`
	Name string `toml:"name"`
	// Example marks a policy that only shows how another one is written.
	Example bool   `toml:"example"`
	Source  string `toml:"source"`
	// From is the day from which the text that was read is in force.
	From time.Time `toml:"from"`
	// HospitalCounts tells whether days of therapy in hospital count towards the end.
	HospitalCounts bool   `toml:"hospital_counts"`
	Note           string `toml:"note"`

	Limits   []Limit     `toml:"limit"`
	Criteria []Criterion `toml:"criterion"`
	Bars     []Bar       `toml:"bar"`
	Codes    []Code      `toml:"code"`
}

// Limit is a number of the policy. Those that a policy does not have are not limits of that payer.
type Limit struct {
	// ID is one of LimitIDs.
	ID      string  `toml:"id"`
	Value   float64 `toml:"value"`
	Unit    string  `toml:"unit"`
	Words   string  `toml:"words"`
	Locator string  `toml:"locator"`
	Sure    string  `toml:"sure"`
}

// LimitIDs are the limits that the clock knows, with their units.
var LimitIDs = map[string]string{
	"kits":        "per wound and month",
	"canisters":   "per month",
	"high_output": "mL/d",
	"month_days":  "d",
	"end_days":    "d",
	"end_months":  "months",
	"trial_days":  "d",
}

// Criterion is something that the record has to show.
type Criterion struct {
	ID    string `toml:"id"`
	Words string `toml:"words"`
	// Types are the types of wound that it is about; empty is every type.
	Types   []string `toml:"types"`
	Locator string   `toml:"locator"`
	Sure    string   `toml:"sure"`
}

// Bar is something whose presence ends or prevents payment. Question is the screening question that tells it.
type Bar struct {
	ID       string `toml:"id"`
	Words    string `toml:"words"`
	Question string `toml:"question"`
	Locator  string `toml:"locator"`
	Sure     string `toml:"sure"`
}

// Code is a code that the payer uses, with our own short label.
type Code struct {
	Code  string `toml:"code"`
	Words string `toml:"words"`
}

// Limit returns the limit with the ID.
func (p *Policy) Limit(id string) (Limit, bool) {
	for _, l := range p.Limits {
		if l.ID == id {
			return l, true
		}
	}
	return Limit{}, false
}

// value is a limit's number, or 0.
func (p *Policy) value(id string) float64 {
	l, _ := p.Limit(id)
	return l.Value
}

// Asks lists the criteria for wounds of these types.
func (p *Policy) Asks(types []string) []Criterion {
	var out []Criterion
	for _, c := range p.Criteria {
		fits := len(c.Types) == 0
		for _, t := range c.Types {
			for _, have := range types {
				fits = fits || t == have
			}
		}
		if fits {
			out = append(out, c)
		}
	}
	return out
}

// Problem is one thing that is wrong with a policy's file, with what to do.
type Problem struct{ Key, What, Do string }

// sures are how surely a number or criterion rests on the source, as in the Rulebook.
var sures = map[string]bool{"P": true, "P2": true, "C": true, "M": true}

// Parse reads a policy. It returns either a policy in which everything was checked, or all problems.
func Parse(raw []byte) (*Policy, []Problem) {
	var p Policy
	var wrong []Problem
	say := func(key, what, do string) { wrong = append(wrong, Problem{key, what, do}) }
	meta, err := toml.NewDecoder(bytes.NewReader(raw)).Decode(&p)
	if err != nil {
		return nil, []Problem{{"the file", "is not TOML that fits: " + strings.ReplaceAll(err.Error(), "\n", " "), "correct it at the place named"}}
	}
	for _, k := range meta.Undecoded() {
		say(k.String(), "is not known", "take it out or mend its spelling")
	}
	need := func(key, v, do string) {
		if strings.TrimSpace(v) == "" {
			say(key, "is missing", do)
		}
	}
	need("id", p.ID, "write the name of the file without .toml")
	need("name", p.Name, "write whose policy it is")
	need("source", p.Source, "name the text that was read, with its revision")
	if p.From.IsZero() {
		say("from", "is missing", "write the date from which that text is in force")
	}
	seen := map[string]bool{}
	own := func(kind, id string) string {
		key := kind + " " + id
		if id == "" || seen[key] {
			say(kind, fmt.Sprintf("%q is empty or stands twice", id), "give each its own id")
		}
		seen[key] = true
		return key
	}
	for _, l := range p.Limits {
		key := own("limit", l.ID)
		if want, ok := LimitIDs[l.ID]; !ok {
			say(key, "is not a limit that the clock knows", "use kits, canisters, high_output, month_days, end_days, end_months or trial_days")
		} else if l.Unit != want {
			say(key, fmt.Sprintf("has the unit %q", l.Unit), "write "+want)
		}
		if !(l.Value > 0 && l.Value <= 10000) || (l.ID == "end_months" || l.ID == "month_days" || l.ID == "end_days" || l.ID == "trial_days") && l.Value != float64(int(l.Value)) {
			say(key, fmt.Sprintf("is %v", l.Value), "write a number above 0; days and months are whole")
		}
		rests(say, key, l.Words, l.Locator, l.Sure)
	}
	for _, c := range p.Criteria {
		rests(say, own("criterion", c.ID), c.Words, c.Locator, c.Sure)
	}
	for _, b := range p.Bars {
		key := own("bar", b.ID)
		rests(say, key, b.Words, b.Locator, b.Sure)
		if b.Question == "" {
			say(key, "names no screening question", "name the question that tells it")
		}
	}
	for _, c := range p.Codes {
		if c.Code == "" || c.Words == "" {
			say("code", fmt.Sprintf("%q needs a code and words", c.Code), "give both, the words in your own")
		}
	}
	if len(wrong) > 0 {
		return nil, wrong
	}
	p.From = Date(p.From.Date())
	return &p, nil
}

func rests(say func(key, what, do string), key, words, locator, sure string) {
	if strings.TrimSpace(words) == "" || strings.TrimSpace(locator) == "" {
		say(key, "has no words or no locator", "say what it asks for and where in the source it stands")
	}
	if !sures[sure] {
		say(key, fmt.Sprintf("is sure = %q", sure), `write "P" (read), "P2" (read in a text that quotes it), "C" (computed) or "M" (from memory)`)
	}
}
