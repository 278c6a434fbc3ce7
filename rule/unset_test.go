package rule

import (
	"strings"
	"testing"
	"testing/fstest"
	"time"
)

const unsetRule = `id = "CAN-OWN-01"
area = "Canister"
title = "Above the own limit"
statement = "Your limit is {limit_mL}."
level = "Today"
scope = "canister"
applies = "known(canister.volume_mL)"
when = "canister.volume_mL > limit_mL"
headline = "{canister.volume_mL} is above {limit_mL}."
do = "Look."
acts = ["look pump"]
clears = "A lower reading."
source = "common-practice"
sure = "M"
from = 2026-01-01
[[value]]
name = "limit_mL"
unset = true
example = 100.0
unit = "mL"
words = "own limit"
[[case]]
name = "below"
want = "no"
facts = { "canister.volume_mL" = 99.0 }
[[case]]
name = "above"
want = "yes"
facts = { "canister.volume_mL" = 101.0 }
`

func unsetPack(rule string) fstest.MapFS {
	return fstest.MapFS{"data/CAN-OWN-01.toml": {Data: []byte(rule)},
		"source/common-practice.toml": {Data: []byte("id = \"common-practice\"\ntitle = \"common practice\"\nkind = \"common practice\"\n")}}
}

// TestUnset: a value that no source gives is empty until a protocol sets it; until then its rule is not asked, and its
// cases are run with the example.
func TestUnset(t *testing.T) {
	s := mustLoad(t, unsetPack(unsetRule))
	for _, c := range s.Test() {
		if !c.OK() || c.WithLocal != NotAsked {
			t.Errorf("%s: %s, and %s without a limit", c.Case.Name, c.Got, c.WithLocal)
		}
	}
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	judge := func(s *Set, at time.Time) Outcome {
		f := NewFacts(func(t time.Time) string { return t.Format(time.DateOnly) })
		f.Canister("").Set("canister.volume_mL", 50.0)
		return s.Judge(f, at)[0]
	}
	if o := judge(s, now); o.State != NotAsked {
		t.Errorf("without a limit: %s", o.State)
	}
	r := s.Rule("CAN-OWN-01")
	if r.StatementText() != "Your limit is not set." || !strings.Contains(r.Explain(), "limit_mL = not set: own limit") {
		t.Errorf("%q\n%s", r.StatementText(), r.Explain())
	}
	local, err := s.WithLocal(fstest.MapFS{"protocol.toml": {Data: []byte("name = \"ours\"\n[[change]]\nrule = \"CAN-OWN-01\"\nvalue = \"limit_mL\"\nto = 0.04\nunit = \"L\"\nreason = \"agreed\"\nby = \"Dr I. Vance\"\nfrom = 2026-02-01\n")}})
	if err != nil {
		t.Fatal(err)
	}
	if o := judge(local, now); o.State != Yes || o.Headline() != "50 mL is above 40 mL." {
		t.Errorf("with a limit: %s %q", o.State, o.Headline())
	}
	if o := judge(local, day("2026-01-15")); o.State != NotAsked || !o.Until.Equal(day("2026-02-01")) {
		t.Errorf("before the change is in force: %s until %s", o.State, o.Until)
	}
	if v := local.Rule("CAN-OWN-01").Values[0]; v.String() != "40 mL" || v.OriginalString() != "not set" {
		t.Errorf("%s instead of %s", v, v.OriginalString())
	}
	if s.Hash() == local.Hash() {
		t.Error("the hash does not tell of the limit")
	}
}

// TestUnsetRefused: only numbers can be empty, with an example, and expressions are checked all the same.
func TestUnsetRefused(t *testing.T) {
	for _, x := range []struct{ old, new, say string }{
		{"example = 100.0\n", "", "is missing"},
		{"example = 100.0\n", "example = \"much\"\n", "not a number"},
		{"unset = true\n", "unset = \"yes\"\n", "not true or false"},
		{"unit = \"mL\"\n", "unit = \"h\"\n", "puts mL against h"},
		{"unset = true\n", "unset = true\nvalue = 3.0\n", "not a key"},
	} {
		_, err := Load(unsetPack(strings.Replace(unsetRule, x.old, x.new, 1)))
		if err == nil || !strings.Contains(err.Error(), x.say) {
			t.Errorf("%q for %q: %v", x.new, x.old, err)
		}
	}
}
