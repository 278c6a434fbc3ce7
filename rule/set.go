package rule

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"sort"
	"sync"

	"lowtide/payer"
	"lowtide/rule/value"
)

// Set is a checked pack of rules, with a local protocol laid over it if there is one. It does not change, and may
// be used from several goroutines at once.
type Set struct {
	// Protocol is the name of the local protocol, empty without one.
	Protocol string

	rules   []*Rule // by area, then ID; withdrawn ones too
	sources []*Source
	payers  func() []*payer.Policy
	shared  []*Shared      // by ID
	values  []value.Values // from one local change of a shared value to the next
	hash    string
	scratch sync.Pool

	asked []*Rule // neither withdrawn nor off
}

// Rules returns the rules by area, then ID. Those that a local protocol switched off are among them, with Off set;
// withdrawn ones are not.
func (s *Set) Rules() []*Rule {
	var out []*Rule
	for _, r := range s.rules {
		if r.Withdrawn == nil {
			out = append(out, r)
		}
	}
	return out
}

// Withdrawn returns the rules that were taken out of use.
func (s *Set) Withdrawn() []*Rule {
	var out []*Rule
	for _, r := range s.rules {
		if r.Withdrawn != nil {
			out = append(out, r)
		}
	}
	return out
}

// Rule returns the rule with that ID, withdrawn or not, or nil.
func (s *Set) Rule(id string) *Rule {
	for _, r := range s.rules {
		if r.ID == id {
			return r
		}
	}
	return nil
}

// Sources returns the sources by ID.
func (s *Set) Sources() []Source {
	out := make([]Source, len(s.sources))
	for i := range s.sources {
		out[i] = *s.sources[i]
	}
	return out
}

// Hash is the SHA-256, in hexadecimal, over the canonical content of the set: every shared value, rule, source and
// payer's policy with the local changes in it, and the table of acts, as JSON in the order of the set. The layout of files and of TOML does not enter.
func (s *Set) Hash() string { return s.hash }

// link checks what needs more than one file, and compiles every rule.
func (s *Set) link(found *Problems) {
	sources := map[string]*Source{}
	used := map[string]bool{}
	for _, src := range s.sources {
		if sources[src.ID] != nil {
			*found = append(*found, Problem{"source/" + src.ID + ".toml", "id", "there are two sources with this ID", "rename one"})
		}
		sources[src.ID] = src
	}
	s.linkShared(sources, used, found)
	files := map[string]string{}
	for _, r := range s.rules {
		if other, twice := files[r.ID]; twice && r.ID != "" {
			*found = append(*found, Problem{r.file, "id", r.ID + " is also in " + other, "IDs are never reused; take the next number"})
		}
		files[r.ID] = r.file
		used[r.SourceID] = true
		r.source = linkSource(r.file, r.SourceID, r.Locator, sources, found)
		if r.made == nil && r.Withdrawn == nil { // a withdrawn rule may use terms that are gone
			r.compile(found)
		}
	}
	for _, src := range s.sources {
		if src.ID != "" && !used[src.ID] {
			*found = append(*found, Problem{"source/" + src.ID + ".toml", "", "no rule and no value rests on this source", "take it out or cite it"})
		}
	}
}

// linkSource finds the source of a rule or a value and asks for a place within a published one.
func linkSource(file, id, locator string, sources map[string]*Source, found *Problems) *Source {
	src := sources[id]
	if src == nil && id != "" {
		*found = append(*found, Problem{file, "source", "there is no source " + id, "add source/" + id + ".toml or correct the name"})
	}
	if src != nil && locator == "" && src.published() {
		*found = append(*found, Problem{file, "locator", "is missing", "say where in the source: chapter, table, section"})
	}
	return src
}

// computeHash is the hash of [Set.Hash].
func (s *Set) computeHash() string {
	raw, err := json.Marshal(struct {
		Protocol string
		Values   []*Shared
		Rules    []*Rule
		Sources  []*Source
		Payers   []*payer.Policy
		Plan     *PlanTable
	}{s.Protocol, s.shared, s.rules, s.sources, s.Payers(), Plans()})
	if err != nil {
		panic("rule: a checked set has no JSON: " + err.Error())
	}
	sum := sha256.Sum256(raw)
	return hex.EncodeToString(sum[:])
}

// finish sorts and hashes a set that has no problems.
func (s *Set) finish() {
	sort.Slice(s.rules, func(i, j int) bool {
		a, b := s.rules[i], s.rules[j]
		if x, y := rank(Areas, a.Area), rank(Areas, b.Area); x != y {
			return x < y
		}
		return a.ID < b.ID
	})
	sort.Slice(s.sources, func(i, j int) bool { return s.sources[i].ID < s.sources[j].ID })
	sort.Slice(s.shared, func(i, j int) bool { return s.shared[i].Name < s.shared[j].Name })
	s.values = valueEditions(s.shared)
	if s.hash == "" { // that of the rules of the program was computed when their table was written
		s.hash = s.computeHash()
	}
	for _, r := range s.rules {
		if r.Withdrawn != nil || r.Off != nil {
			continue
		}
		s.asked = append(s.asked, r)
	}
	s.scratch.New = func() any { return newJudge() }
}
