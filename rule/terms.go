package rule

import "strings"

// index finds a term of the vocabulary; slots number the terms within their scope, and alias is the name that the
// expression language sees (it would read a dot as a member access).
var (
	index  = map[string]int{}
	slots  = make([]int, len(Vocabulary))
	alias  = make([]string, len(Vocabulary))
	heads  = map[string]bool{}
	counts = map[Scope]int{}
)

func init() {
	for i, t := range Vocabulary {
		if _, twice := index[t.Name]; twice {
			panic("rule: term listed twice: " + t.Name)
		}
		index[t.Name] = i
		slots[i] = counts[t.Scope]
		counts[t.Scope]++
		alias[i] = strings.ReplaceAll(t.Name, ".", "__")
		head, _, _ := strings.Cut(t.Name, ".")
		heads[head] = true
	}
}
