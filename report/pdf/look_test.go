package pdf

import (
	"os"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/demo"
	"lowtide/equipment"
	"lowtide/report"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
)

var demoNow = time.Date(2026, 3, 4, 7, 30, 0, 0, time.UTC)

func inputs(t testing.TB) []report.Input {
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	by := map[string][]casebook.Entry{}
	var ids []string
	for _, e := range demo.Entries(demoNow, 1) {
		if by[e.Case] == nil {
			ids = append(ids, e.Case)
		}
		by[e.Case] = append(by[e.Case], e)
	}
	var out []report.Input
	for _, id := range ids {
		c := casebook.Fold(id, by[id])
		out = append(out, report.Input{Review: review.Of(state.Of(c, rules, equipment.BuiltIn(), nil, demoNow), rules), Rules: rules, Equipment: equipment.BuiltIn(), Demo: true})
	}
	return out
}

func TestLook(t *testing.T) {
	dir := os.Getenv("LOWTIDE_LOOK")
	if dir == "" {
		t.Skip("set LOWTIDE_LOOK to a folder to get the papers of the demo there")
	}
	all := append(inputs(t), hostile(t))
	for i, in := range all {
		list := papers(in)
		for _, lang := range report.LeafletLanguages {
			p, err := report.Leaflet(in, lang, 2)
			if err != nil {
				t.Fatal(err)
			}
			p.Kind += "-" + lang
			list = append(list, p)
		}
		for _, p := range list {
			for _, size := range []Size{A4, Letter} {
				raw, pages := write(t, p, size)
				name := dir + "/" + p.Kind + "-" + string(rune('a'+i)) + "-" + string(size) + ".pdf"
				t.Log(name, pages, len(raw))
				if err := os.WriteFile(name, raw, 0o600); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
}
