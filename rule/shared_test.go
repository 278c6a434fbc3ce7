package rule

import (
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"lowtide/rule/value"
)

// sharedPack has two rules that use one shared value, and one value that is empty until it is set.
func sharedPack() fstest.MapFS {
	rule := func(id, more string) *fstest.MapFile {
		return &fstest.MapFile{Data: []byte(`id = "` + id + `"
area = "Visits"
title = "Off"
statement = "After {stay} it is replaced."
level = "Today"
scope = "case"
use = "stay"
applies = "known(therapy.off_since)"
when = "since(therapy.off_since) > stay"
headline = "Off for longer than {stay}."
do = "Look, by {stay}."
acts = ["look pump"]
due = "therapy.off_since + stay"
clears = "It runs."
source = "common-practice"
sure = "M"
from = 2026-01-01
[[case]]
name = "below"
want = "no"
facts = { "therapy.off_since" = -1.9 }
[[case]]
name = "above"
want = "yes"
facts = { "therapy.off_since" = -2.1 }
` + more)}
	}
	return fstest.MapFS{
		"data/VIS-A-01.toml":          rule("VIS-A-01", ""),
		"data/VIS-B-01.toml":          rule("VIS-B-01", ""),
		"value/stay.toml":             {Data: []byte("id = \"stay\"\nwords = \"longest time off\"\nvalue = 2\nunit = \"h\"\nsource = \"common-practice\"\nsure = \"M\"\nfrom = 2020-01-01\n")},
		"value/own.toml":              {Data: []byte("id = \"own\"\nwords = \"own limit\"\nunset = true\nexample = 100.0\nunit = \"mL/h\"\nsource = \"common-practice\"\nsure = \"M\"\nfrom = 2020-01-01\n")},
		"source/common-practice.toml": {Data: []byte("id = \"common-practice\"\ntitle = \"common practice\"\nkind = \"common practice\"\n")},
	}
}

const sharedProtocol = `name = "ours"
[[change]]
value = "stay"
to = 60
unit = "min"
reason = "agreed"
by = "Dr I. Vance"
from = 2026-03-01
[[change.case]]
rule = "VIS-B-01"
name = "ours"
want = "yes"
facts = { "therapy.off_since" = -1.1 }
`

// TestShared: a change of a shared value reaches every rule that uses it, its texts and due times, and the values in force,
// from its day on.
func TestShared(t *testing.T) {
	base := mustLoad(t, sharedPack())
	s, err := base.WithLocal(fstest.MapFS{"protocol.toml": {Data: []byte(sharedProtocol)}})
	if err != nil {
		t.Fatal(err)
	}
	if v := base.Values(day("2026-04-01")); v.Text("stay") != "2 h" || !v.Until().IsZero() || base.Hash() == s.Hash() {
		t.Errorf("the built-in set has changed: %s until %s", v.Text("stay"), v.Until())
	}
	for _, c := range s.Test() {
		if !c.OK() {
			t.Errorf("%s %s: %s", c.Rule.ID, c.Case.Name, c.Got)
		}
	}
	f := NewFacts(clockText)
	f.Set("therapy.off_since", day("2026-02-28"))
	if o := s.Judge(f, day("2026-02-28")); o[0].State != No || o[0].Values()[0].Local {
		t.Errorf("before its day: %s", o[0].State)
	}
	f = NewFacts(clockText)
	at := day("2026-03-02")
	f.Set("therapy.off_since", at.Add(-90*time.Minute))
	for _, o := range s.Judge(f, at) {
		if o.State != Yes || o.Headline() != "Off for longer than 1 h." || o.Do() != "Look, by 1 h." || !o.Due().Equal(at.Add(-30*time.Minute)) || !o.Values()[0].Local {
			t.Errorf("%s: %s %q %q %v", o.Rule.ID, o.State, o.Headline(), o.Do(), o.Due())
		}
		if o.Rule.StatementText() != "After 1 h it is replaced." || !o.Rule.Changed() {
			t.Errorf("%s says %q", o.Rule.ID, o.Rule.StatementText())
		}
	}
	before, after := s.Values(day("2026-02-28")), s.Values(day("2026-03-01"))
	if before.Text("stay") != "2 h" || !before.Until().Equal(day("2026-03-01")) || after.In("stay", "min") != 60 || !after.Until().IsZero() {
		t.Errorf("in force: %s until %s, then %s", before.Text("stay"), before.Until(), after.Text("stay"))
	}
	if x, _ := before.Find("stay"); x.Local {
		t.Error("a number is called local before its day")
	}
	if x, _ := after.Find("stay"); !x.Local {
		t.Error("a local number is not called local")
	}
	if _, ok := after.Maybe("own", "mL/h"); ok || after.Text("own") != value.NotSet {
		t.Error("an empty value has a number")
	}
	if got := len(s.Shared()[1].Rules()); s.Shared()[1].Name != "stay" || got != 2 {
		t.Errorf("%d rules use it", got)
	}
}

func TestSharedRefuses(t *testing.T) {
	for _, c := range []struct{ name, file, old, new, key, what string }{
		{"no unit", "value/stay.toml", "unit = \"h\"\n", "", "unit", "is missing for a number"},
		{"no source", "value/stay.toml", "source = \"common-practice\"\n", "", "source", "is missing"},
		{"no date", "value/stay.toml", "from = 2020-01-01\n", "", "from", "is missing"},
		{"no words", "value/stay.toml", "words = \"longest time off\"\n", "", "words", "is missing"},
		{"no number", "value/stay.toml", "value = 2\n", "", "value", "is missing"},
		{"a text", "value/stay.toml", "value = 2", "value = \"2\"", "value", "is 2"},
		{"nothing", "value/stay.toml", "value = 2", "value = 0", "value", "is 0"},
		{"another name", "value/stay.toml", "id = \"stay\"", "id = \"rest\"", "id", "is not the name of the file"},
		{"a term", "value/stay.toml", "id = \"stay\"", "id = \"therapy\"", "id", "cannot name a value"},
		{"unknown source", "value/stay.toml", "\"common-practice\"", "\"nobody\"", "source", "there is no source nobody"},
		{"later than its rule", "value/stay.toml", "2020-01-01", "2026-02-01", "use[1]", "is not in force on every day"},
		{"ends before its rule", "value/stay.toml", "from = 2020-01-01", "from = 2020-01-01\nuntil = 2027-01-01", "use[1]", "is not in force on every day"},
		{"unknown", "data/VIS-A-01.toml", "use = \"stay\"", "use = \"rest\"", "use[1]", "there is no shared value rest"},
		{"twice", "data/VIS-A-01.toml", "use = \"stay\"", "use = [\"stay\", \"stay\"]", "use[2]", "is named twice"},
		{"not asked for", "data/VIS-A-01.toml", "use = \"stay\"\n", "", "when", "there is no value stay"},
		{"own of that name", "data/VIS-A-01.toml", "[[case]]", "[[value]]\nname = \"stay\"\nvalue = 1\nunit = \"h\"\nwords = \"x\"\n[[case]]", "use[1]", "is also a value of this rule"},
		{"a number for a name", "data/VIS-A-01.toml", "use = \"stay\"", "use = 3", "use", "not a name"},
		{"not used", "data/VIS-A-01.toml", "use = \"stay\"", "use = [\"stay\", \"own\"]", "value[2].name", "is used nowhere"},
	} {
		t.Run(c.name, func(t *testing.T) {
			fsys := sharedPack()
			edit(t, fsys, c.file, c.old, c.new)
			_, err := Load(fsys)
			wantProblem(t, err, c.key, c.what)
		})
	}
	for _, c := range []struct{ name, old, new, key, what string }{
		{"in one rule alone", "value = \"stay\"", "rule = \"VIS-A-01\"\nvalue = \"stay\"", "change[1].rule", "is shared with other rules"},
		{"by an earlier name", "value = \"stay\"", "rule = \"VIS-A-01\"\nvalue = \"limit_h\"", "change[1].value", "has no value limit_h"},
		{"unknown", "value = \"stay\"", "value = \"rest\"", "change[1].value", "there is no shared value rest"},
		{"other unit", "unit = \"min\"", "unit = \"mmHg\"", "change[1].unit", "cannot become"},
		{"nothing", "to = 60", "to = 0", "change[1].to", "is 0"},
		{"below nothing", "to = 60", "to = -60", "change[1].to", "is -1"},
		{"example of no rule", "rule = \"VIS-B-01\"", "", "change[1].case[1].rule", "is missing"},
		{"example of another rule", "rule = \"VIS-B-01\"", "rule = \"VIS-C-01\"", "change[1].case[1].rule", "does not use stay"},
		{"twice", "name = \"ours\"\n[[change]]", "name = \"ours\"\n[[change]]\nvalue = \"stay\"\nto = 3\nunit = \"h\"\nreason = \"x\"\nby = \"y\"\nfrom = 2026-03-01\n[[change]]", "change[2].value", "changed twice"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if !strings.Contains(sharedProtocol, c.old) {
				t.Fatal("nothing to change")
			}
			_, err := mustLoad(t, sharedPack()).WithLocal(fstest.MapFS{"protocol.toml": {Data: []byte(strings.Replace(sharedProtocol, c.old, c.new, 1))}})
			wantProblem(t, err, c.key, c.what)
		})
	}
}

// TestSharedLocalOfItsOwn: a protocol may bring shared values of its own for its own rules.
func TestSharedLocalOfItsOwn(t *testing.T) {
	pack := sharedPack()
	local := fstest.MapFS{"protocol.toml": {Data: []byte("name = \"ours\"\n")}, "value/our_stay.toml": {Data: []byte(strings.Replace(string(pack["value/stay.toml"].Data), "\"stay\"", "\"our_stay\"", 1))},
		"data/VIS-OUR-01.toml": {Data: []byte(strings.NewReplacer("VIS-A-01", "VIS-OUR-01", "stay", "our_stay").Replace(string(pack["data/VIS-A-01.toml"].Data)))}}
	s, err := mustLoad(t, pack).WithLocal(local)
	if err != nil {
		t.Fatal(err)
	}
	if x, ok := s.Values(day("2026-03-01")).Find("our_stay"); !ok || !x.Local {
		t.Errorf("%+v, %v", x, ok)
	}
	local["value/stay.toml"] = pack["value/stay.toml"]
	_, err = mustLoad(t, pack).WithLocal(local)
	wantProblem(t, err, "id", "is also in")
}

func wantProblem(t *testing.T, err error, key, what string) {
	t.Helper()
	found, _ := err.(Problems)
	for _, p := range found {
		if p.Key == key && strings.Contains(p.What, what) {
			return
		}
	}
	t.Errorf("want %s: %s; got %v", key, what, err)
}
