package web_test

import (
	"strings"
	"testing"

	"lowtide/casebook"
	"lowtide/web/page"
)

// TestWhichPump: the forms of a canister ask for the pump only where there are several, and the case's page then has each.
func TestWhichPump(t *testing.T) {
	c := newClient(t)
	patients(c)
	canister, visit := page.CasePath(oneCase, "add", "canister.read"), page.CasePath(oneCase, "visit")
	if c.open(canister).controls["pump"] != nil || c.open(visit).controls["canister/pump"] != nil {
		t.Error("with one pump the form asks which it is")
	}
	c.add(oneCase, day, casebook.PumpAssigned{Pump: "P-2", Class: "portable", CanisterML: p(500.0), Wounds: []string{"B"}})
	f := c.open(canister)
	if k := f.controls["pump"]; k == nil || strings.TrimSpace(strings.Join(k.values, " ")) != "P-1 P-2" {
		t.Fatalf("%+v", f.controls["pump"])
	}
	if c.open(visit).controls["canister/pump"] == nil {
		t.Error("the visit does not ask for the pump")
	}
	f.values.Set("pump", "P-2")
	f.values.Set("volume_mL", "120")
	c.send(f)
	k, ok := c.entries(oneCase)[len(c.entries(oneCase))-1].Body.(casebook.CanisterRead)
	if !ok || k.Pump != "P-2" {
		t.Fatalf("%+v", k)
	}
	words := c.get(page.CasePath(oneCase)).Body.String()
	for _, want := range []string{"Pump P-2, in it", "Pump P-1, in it", "Canister full, pump P-2", "Canister full, pump P-1"} {
		if !strings.Contains(words, want) {
			t.Errorf("the case does not say %q", want)
		}
	}
}
