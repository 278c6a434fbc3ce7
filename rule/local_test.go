package rule

import (
	"strings"
	"testing"
	"testing/fstest"
	"time"
)

func day(s string) time.Time {
	t, err := time.Parse("2006-01-02", s)
	if err != nil {
		panic(err)
	}
	return t
}

func TestWithLocal(t *testing.T) {
	base := mustLoad(t, folder(t, "pack"))
	hash := base.Hash()
	s, err := base.WithLocal(folder(t, "protocol"))
	if err != nil {
		t.Fatal(err)
	}
	if s.Protocol != "Ward 7, March 2026" || s.Hash() == hash || base.Hash() != hash || base.Rule("CAN-AGE-01").Changed() {
		t.Error("the protocol is not in the new set alone")
	}
	v := s.Rule("CAN-AGE-01").Values[0]
	if !v.Local || v.String() != "5 days" || v.OriginalString() != "7 days" || v.Change.By != "Wound committee" {
		t.Errorf("value %+v", v)
	}
	if !s.Rule("CAN-AGE-01").Changed() || s.Rule("CAN-AGE-01").Local || s.Rule("VIS-CHANGE-01").Changed() {
		t.Error("the wrong rules say that they are changed")
	}
	if r := s.Rule("WARD-PAIN-01"); !r.Local || !r.Source().Local {
		t.Error("the added rule does not say that it is local")
	}
	if r := s.Rule("ORD-DEEP-01"); r.Off == nil || !r.Changed() || !strings.Contains(r.Explain(), "switched off: Checked at the pharmacy.") {
		t.Error("the rule that is switched off does not say so")
	}
	differ := map[string]State{}
	for _, c := range s.Test() {
		if !c.OK() {
			t.Errorf("%s %s: %s", c.Rule.ID, c.Case.Name, c.Got)
		}
		if c.Got != c.WithLocal {
			differ[c.Rule.ID+" "+c.Case.Name] = c.WithLocal
		}
	}
	if len(differ) != 1 || differ["CAN-AGE-01 just below"] != Yes {
		t.Errorf("examples that the protocol answers otherwise: %v", differ)
	}
}

// TestWithLocalDates: before its date a change is not in force; at its date it is, and Until says so beforehand.
func TestWithLocalDates(t *testing.T) {
	s, err := mustLoad(t, folder(t, "pack")).WithLocal(folder(t, "protocol"))
	if err != nil {
		t.Fatal(err)
	}
	from := day("2026-03-01")
	f := NewFacts(clockText)
	f.Set("therapy.open", true)
	f.Canister("").Set("canister.changed_at", from.Add(-130*time.Hour))
	for _, c := range []struct {
		name  string
		at    time.Time
		state State
		value string
		until time.Time
	}{
		{"an hour before", from.Add(-time.Hour), No, "7 days", from},
		{"just before", from.Add(-1), No, "7 days", from},
		{"at the date", from, Yes, "5 days", time.Time{}},
	} {
		o := outcome(t, s.Judge(f, c.at), "CAN-AGE-01")
		v := o.Values()[0]
		if o.State != c.state || v.String() != c.value || v.Local != (c.value == "5 days") || !o.Until.Equal(c.until) {
			t.Errorf("%s: %s, %s, until %v; want %+v", c.name, o.State, v, o.Until, c)
		}
	}
	if got := outcome(t, s.Judge(f, from), "CAN-AGE-01").Headline(); got != "In since Mon 23 Feb 14:00, not known full; at most 5 days." {
		t.Errorf("headline: %s", got)
	}
	for _, o := range s.Judge(f, from) {
		if o.Rule.ID == "ORD-DEEP-01" {
			t.Error("a rule that is switched off was asked")
		}
	}
}

// TestRuleDates: a rule is not asked outside its dates.
func TestRuleDates(t *testing.T) {
	fsys := folder(t, "pack")
	edit(t, fsys, age, "from = 2001-01-01", "from = 2001-01-01\nuntil = 2030-01-01")
	s := mustLoad(t, fsys)
	f := NewFacts(clockText)
	f.Set("therapy.open", true)
	f.Canister("").Set("canister.changed_at", day("1990-01-01"))
	for _, c := range []struct {
		at, until string
		state     State
	}{{"2000-12-31", "2001-01-01", NotAsked}, {"2001-01-01", "2030-01-01", Yes}, {"2030-01-01", "", NotAsked}} {
		o := outcome(t, s.Judge(f, day(c.at)), "CAN-AGE-01")
		until := ""
		if !o.Until.IsZero() {
			until = o.Until.Format("2006-01-02")
		}
		if o.State != c.state || until != c.until {
			t.Errorf("%s: %s until %s, want %s until %s", c.at, o.State, until, c.state, c.until)
		}
	}
}

func TestWithLocalRefuses(t *testing.T) {
	const p = protocolFile
	for _, c := range []struct{ name, file, old, new, key, what string }{
		{"no name", p, `name = "Ward 7, March 2026"`, ``, "name", "is missing"},
		{"no rule", p, `"CAN-AGE-01"`, `"CAN-AGE-09"`, "change[1].rule", "there is no rule CAN-AGE-09"},
		{"withdrawn rule", p, `"CAN-AGE-01"`, `"CAN-OLD-01"`, "change[1].rule", "is withdrawn"},
		{"own rule", p, `"CAN-AGE-01"`, `"WARD-PAIN-01"`, "change[1].rule", "is a rule of this protocol"},
		{"no value", p, `"limit_h"`, `"limit_d"`, "change[1].value", "has no value limit_d"},
		{"no unit", p, `unit = "d"`, ``, "change[1].unit", "is missing for a number"},
		{"other unit", p, `unit = "d"`, `unit = "mmHg"`, "change[1].unit", "cannot become"},
		{"other type", p, `to = 5`, `to = "five"`, "change[1].to", "and the value is 168"},
		{"no to", p, `to = 5`, ``, "change[1].to", "is missing"},
		{"too long", p, `to = 5`, `to = 5e9`, "change[1].to", "longer than 200 years"},
		{"no reason", p, `reason = "The supplier of the canisters asks for it."`, ``, "change[1].reason", "is missing"},
		{"no by", p, `by = "Wound committee"`, ``, "change[1].by", "is missing"},
		{"no from", p, `from = 2026-03-01`, ``, "change[1].from", "is missing"},
		{"twice", p, `[[off]]`, "[[change]]\nrule = \"CAN-AGE-01\"\nvalue = \"limit_h\"\nto = 6\nunit = \"d\"\nreason = \"x\"\nby = \"y\"\nfrom = 2026-04-01\n\n[[off]]", "change[2].value", "changed twice"},
		{"unknown key", p, `to = 5`, "to = 5\ntoo = 6", "change[1].too", "is not a key"},
		{"case of no term", p, `"canister.changed_at" = -120.1`, `"canister.changed" = 1`, "change[1].case[1].facts.canister.changed", "is not a term"},
		{"off without reason", p, `reason = "Checked at the pharmacy."`, ``, "off[1].reason", "is missing"},
		{"off of no rule", p, `"ORD-DEEP-01"`, `"ORD-DEEP-02"`, "off[1].rule", "there is no rule"},
		{"local rule without cases", "data/WARD-PAIN-01.toml", `want = "yes"`, `want = "no"`, "case", `no case wants "yes"`},
		{"local source unused", "data/WARD-PAIN-01.toml", `"ward-2026-sheet"`, `"common-practice"`, "", "no rule and no value rests on this source"},
	} {
		t.Run(c.name, func(t *testing.T) {
			fsys := folder(t, "protocol")
			edit(t, fsys, c.file, c.old, c.new)
			_, err := mustLoad(t, folder(t, "pack")).WithLocal(fsys)
			found, _ := err.(Problems)
			for _, p := range found {
				if p.Key == c.key && strings.Contains(p.What, c.what) {
					return
				}
			}
			t.Errorf("want %s: %s; got %v", c.key, c.what, err)
		})
	}
}

func TestWithLocalFiles(t *testing.T) {
	base := mustLoad(t, folder(t, "pack"))
	refused := func(name string, change func(fstest.MapFS), want string) {
		fsys := folder(t, "protocol")
		change(fsys)
		if _, err := base.WithLocal(fsys); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: want %q, got %v", name, want, err)
		}
	}
	refused("no protocol", func(f fstest.MapFS) { delete(f, protocolFile) }, "protocol.toml: cannot be read")
	refused("stray", func(f fstest.MapFS) { f["WARD-PAIN-02.toml"] = f["data/WARD-PAIN-01.toml"] }, "WARD-PAIN-02.toml: is not read")
	refused("odd file", func(f fstest.MapFS) { f["data/x.txt"] = f["data/WARD-PAIN-01.toml"] }, "neither a .toml nor a .md file")
	refused("built-in ID", func(f fstest.MapFS) {
		f[age] = &fstest.MapFile{Data: folder(t, "pack")[age].Data}
	}, "CAN-AGE-01 is also in")
	if _, err := base.WithLocal(fstest.MapFS{protocolFile: {Data: []byte(`name = "nothing changed"`)}}); err != nil {
		t.Error(err)
	}
}

func outcome(t *testing.T, outcomes []Outcome, id string) *Outcome {
	t.Helper()
	for i := range outcomes {
		if outcomes[i].Rule.ID == id {
			return &outcomes[i]
		}
	}
	t.Fatalf("no outcome of %s", id)
	return nil
}

// TestWithLocalTwoDates: two changes of one rule come into force each at its own date, whatever their order in the file.
func TestWithLocalTwoDates(t *testing.T) {
	const protocol = `
name = "two"
[[change]]
rule = "ORD-DEEP-01"
value = "deep"
to = 40
unit = "kPa"
reason = "x"
by = "y"
from = 2026-05-01
[[change]]
rule = "ORD-DEEP-01"
value = "usual"
to = ["foam"]
reason = "x"
by = "y"
from = 2026-03-01
`
	s, err := mustLoad(t, folder(t, "pack")).WithLocal(fstest.MapFS{protocolFile: {Data: []byte(protocol)}})
	if err != nil {
		t.Fatal(err)
	}
	f := NewFacts(clockText)
	f.Set("order.deepest_mmHg", 250)
	f.Set("order.filler", "gauze") // usual at first, from March not
	for _, c := range []struct {
		at    string
		state State
		deep  string
		until string
	}{
		{"2026-02-28", No, "200.5 mmHg", "2026-03-01"}, {"2026-03-01", Yes, "200.5 mmHg", "2026-05-01"},
		{"2026-04-30", Yes, "200.5 mmHg", "2026-05-01"},
		// 40 kPa are 40000 / 133.322 = 300.025 mmHg: 250 mmHg are no longer too deep.
		{"2026-05-01", No, "300.025 mmHg", "0001-01-01"},
	} {
		o := outcome(t, s.Judge(f, day(c.at)), "ORD-DEEP-01")
		if o.State != c.state || o.Values()[0].String() != c.deep || o.Until.Format("2006-01-02") != c.until {
			t.Errorf("%s: %s, %s until %v; want %+v", c.at, o.State, o.Values()[0], o.Until, c)
		}
	}
}
