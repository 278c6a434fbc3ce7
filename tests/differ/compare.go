package main

import (
	"encoding/json"
	"fmt"
	"reflect"
	"regexp"
	"sort"
	"strconv"
	"strings"
)

// difference is one place at which two answers are not the same.
type difference struct {
	path string
	// base and next are the values, "" when there is none.
	base, next string
}

// compare lists the places at which two answers differ. JSON is walked: rows of a list that have a name of their own
// (a rule, an ID, a wound) are paired by it, so that a row that is new does not shift all others. Text is compared line
// by line.
func compare(base, next string) []difference {
	if base == next {
		return nil
	}
	var a, b any
	if json.Unmarshal([]byte(base), &a) == nil && json.Unmarshal([]byte(next), &b) == nil {
		var out []difference
		walk("", a, b, &out)
		return out
	}
	return lines(base, next)
}

func walk(path string, a, b any, out *[]difference) {
	if reflect.DeepEqual(a, b) {
		return
	}
	switch x := a.(type) {
	case map[string]any:
		if y, ok := b.(map[string]any); ok {
			pairs(path+".", x, y, out)
			return
		}
	case []any:
		if y, ok := b.([]any); ok {
			p, q := named(x), named(y)
			n := len(*out)
			pairs(path, p, q, out)
			if len(*out) == n {
				*out = append(*out, difference{path + "[order]", show(a), show(b)})
			}
			return
		}
	}
	*out = append(*out, difference{path, show(a), show(b)})
}

func pairs(path string, a, b map[string]any, out *[]difference) {
	keys := map[string]bool{}
	for k := range a {
		keys[k] = true
	}
	for k := range b {
		keys[k] = true
	}
	var list []string
	for k := range keys {
		list = append(list, k)
	}
	sort.Strings(list)
	for _, k := range list {
		x, inA := a[k]
		y, inB := b[k]
		switch {
		case inA && inB:
			walk(path+k, x, y, out)
		case inA:
			*out = append(*out, difference{path + k, show(x), ""})
		default:
			*out = append(*out, difference{path + k, "", show(y)})
		}
	}
}

// naming are the fields that name a row of a list, together.
var naming = []string{"rule", "id", "resourceType", "name", "wound", "pump", "code", "url", "entry"}

// named gives each row of a list a key: what names it, and a number where several have the same.
func named(list []any) map[string]any {
	out := map[string]any{}
	seen := map[string]int{}
	for i, v := range list {
		key := ""
		switch row := v.(type) {
		case map[string]any:
			if inner, ok := row["resource"].(map[string]any); ok {
				row = inner
			}
			for _, f := range naming {
				if s, ok := row[f].(string); ok && s != "" {
					key += " " + s
				}
			}
		case string:
			key = " " + row
		}
		if key == "" {
			key = " " + strconv.Itoa(i)
		}
		seen[key]++
		if n := seen[key]; n > 1 {
			key += " #" + strconv.Itoa(n)
		}
		out["["+key[1:]+"]"] = v
	}
	return out
}

// lines pairs two texts by their longest common lines, found by what is the same at both ends and then by content.
func lines(base, next string) []difference {
	a, b := strings.Split(base, "\n"), strings.Split(next, "\n")
	count := map[string]int{}
	for _, l := range a {
		count[l]++
	}
	var gone, come []string
	for _, l := range b {
		if count[l] > 0 {
			count[l]--
		} else {
			come = append(come, l)
		}
	}
	for i := len(a) - 1; i >= 0; i-- {
		if count[a[i]] > 0 {
			count[a[i]]--
			gone = append([]string{a[i]}, gone...)
		}
	}
	var out []difference
	for i := range max(len(gone), len(come)) {
		d := difference{path: "line"}
		if i < len(gone) {
			d.base = gone[i]
			d.path = "line " + head(gone[i])
		}
		if i < len(come) {
			d.next = come[i]
			if d.base == "" {
				d.path = "line " + head(come[i])
			}
		}
		out = append(out, d)
	}
	if len(out) == 0 {
		out = append(out, difference{"[order of lines]", "", ""})
	}
	return out
}

// head is what a line begins with: the words before its first figure or colon.
func head(line string) string {
	s := strings.TrimSpace(line)
	if i := strings.IndexAny(s, ":0123456789"); i >= 0 {
		s = s[:i]
	}
	if len(s) > 40 {
		s = s[:40]
	}
	return s
}

func show(v any) string {
	if s, ok := v.(string); ok {
		return s
	}
	raw, err := json.Marshal(v)
	if err != nil {
		return fmt.Sprint(v)
	}
	return string(raw)
}

// The names in brackets that stay in a group's path: those of rules. All others are of one case only.
var (
	ruleName = regexp.MustCompile(`\b[A-Z]{2,5}-[A-Z0-9]+-[0-9]{2}\b`)
	bracket  = regexp.MustCompile(`\[[^\[\]]*\]`)
)

// group is a path without what belongs to one case.
func group(path string) string {
	return bracket.ReplaceAllStringFunc(path, func(s string) string {
		if s == "[order]" || s == "[order of lines]" {
			return s
		}
		if r := ruleName.FindString(s); r != "" {
			return "[" + r + "]"
		}
		return "[*]"
	})
}

// must are what differs between any two programs: hashes of rules, program and review.
var (
	hashField = regexp.MustCompile(`"(rules|hash|program|head)": ?"([0-9a-f]{12,64})"`)
	printed   = regexp.MustCompile(`Rules [0-9a-f]{12}, review [0-9a-f]{12}`)
)

// normal replaces the hashes that a review carries, wherever its answer prints them whole or in short, by their names.
// known holds those of the review of the same case at the same time.
func normal(text string, known map[string]string) string {
	for hash, name := range known {
		text = strings.ReplaceAll(text, hash, name)
		text = strings.ReplaceAll(text, hash[:12], name)
	}
	return printed.ReplaceAllString(text, "Rules <rules>, review <review>")
}

// hashes are the hashes in a review's JSON by what they are of. That of the case's entries is not one of them: the same
// entries must have the same.
func hashes(review string) map[string]string {
	out := map[string]string{}
	for _, m := range hashField.FindAllStringSubmatch(review, -1) {
		if m[1] != "head" {
			out[m[2]] = "<" + m[1] + ">"
		}
	}
	return out
}
