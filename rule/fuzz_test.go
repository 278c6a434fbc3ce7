package rule

import (
	"errors"
	"testing"
	"testing/fstest"
)

// FuzzLoad mutates a rule, a source and a protocol: the loader never panics, and what it accepts can be judged,
// tested and explained.
// Slow: two sets of rules are loaded, compiled, tried on their examples and judged.
func FuzzLoad(f *testing.F) {
	pack, protocol := folder(f, "pack"), folder(f, "protocol")
	base := mustLoad(f, pack)
	for _, file := range []string{age, deep, change, "data/CAN-OLD-01.toml"} {
		f.Add(string(pack[file].Data), string(pack[note].Data), string(protocol[protocolFile].Data))
	}
	f.Add("when = '((((a.b'\nvalue = [1, {}]\ncase = [{facts = 3}]", "year = 1e9", "change = [[1]]\noff = {}")
	facts := benchFacts()
	f.Fuzz(func(t *testing.T, rule, source, local string) {
		s, err := Load(fstest.MapFS{
			age:             {Data: []byte(rule)},
			deep:            pack[deep],
			note:            {Data: []byte(source)},
			"data/other.md": {Data: []byte(rule)},
		})
		use(t, s, err, facts)
		s, err = base.WithLocal(fstest.MapFS{protocolFile: {Data: []byte(local)}})
		use(t, s, err, facts)
	})
}

func use(t *testing.T, s *Set, err error, facts *Facts) {
	if err != nil {
		var found Problems
		if !errors.As(err, &found) || len(found) == 0 || s != nil {
			t.Fatalf("refused without problems: %v", err)
		}
		return
	}
	s.Test()
	for _, o := range s.Judge(facts, exampleNow) {
		fingerprint(o)
	}
	for _, r := range s.Rules() {
		r.Explain()
	}
}

// FuzzCompile: mutates expressions, texts and due times only, which the fuzzer of whole files seldom reaches.
// Slow: a rule is loaded, compiled, tried on its examples and judged.
func FuzzCompile(f *testing.F) {
	for _, s := range []string{
		"since(visit.last_at) > 3", "not (visit.pain in [1, 2.5, -3]) and order.filler contains 'foam'",
		"order.filler matches \"^a.*\" or known(visit.pain)", "canister.volume_mL / 2 >= 1e3 - +4", "visit.pain ? 1 : 2",
		"{visit.pain} and {limit}", "visit.last_at + limit", "let x = 1; x", "a.b?.c", "#.x | map(.y)", "visit['pain'] > 1",
		"not in", "1 < visit.pain < 3", "visit.pain == nil", "x['a'].b()", "since(visit.last_at, 1) > 2", "`a` == 'a'",
	} {
		f.Add(s)
	}
	facts := benchFacts()
	f.Fuzz(func(t *testing.T, s string) {
		r := &Rule{ID: "X", Scope: ScopeCase, When: s, Headline: s, Due: s}
		r.Values = []Value{{Name: "limit", Value: 3.0, Unit: "h"}, {Name: "names", Value: []string{"a"}}}
		var found Problems
		ed := r.editionOf(r.valuesAt(exampleNow, true), exampleNow, &found)
		if ed.when == nil || len(ed.when.leaves) > maxLeaves {
			return
		}
		ed.mayBeUnknown()
		j := newJudge()
		j.lay(facts)
		j.wipe(ed)
		j.state(ed, exampleNow)
	})
}
