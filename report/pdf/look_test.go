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
		out = append(out, report.Input{Case: c, Review: review.Of(c, rules, equipment.BuiltIn(), demoNow), Rules: rules, Equipment: equipment.BuiltIn(), Demo: true})
	}
	return out
}

func TestLook(t *testing.T) {
	dir := os.Getenv("LOWTIDE_LOOK")
	if dir == "" {
		t.Skip("set LOWTIDE_LOOK to a folder to get the papers of the demo there")
	}
	for i, in := range inputs(t) {
		for _, p := range papers(in) {
			raw, pages, err := Write(p, A4)
			if err != nil {
				t.Fatal(err)
			}
			name := dir + "/" + p.Kind + "-" + string(rune('a'+i)) + ".pdf"
			t.Log(name, pages, len(raw))
			if err := os.WriteFile(name, raw, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
}
