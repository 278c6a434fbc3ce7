package chart

import (
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
)

// twoPumps is a patient with a pump on each of two wounds, each with an order of its own.
func twoPumps() *casebook.Case {
	return casebook.Fold("c", story(
		0.0, casebook.PersonRegistered{Name: "Invented Person", Place: "home", Zone: "Europe/Berlin"},
		0.1, casebook.WoundFound{Wound: "A", Site: "heel", Type: "pressure"},
		0.1, casebook.WoundFound{Wound: "B", Site: "hip", Type: "pressure"},
		0.2, casebook.OrderWritten{Wounds: []string{"A"}, Stages: []casebook.Stage{{SuctionMmHg: 125}}},
		0.3, casebook.PumpAssigned{Pump: "P-1", Class: "portable", CanisterML: ptr(300.0), Wounds: []string{"A"}},
		1.0, casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "A"}}, SuctionMmHg: ptr(120.0)},
		24.0, casebook.OrderWritten{Wounds: []string{"B"}, Stages: []casebook.Stage{{SuctionMmHg: 75}}},
		24.1, casebook.PumpAssigned{Pump: "P-2", Class: "portable", CanisterML: ptr(500.0), Wounds: []string{"B"}},
		25.0, casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "B"}}, SuctionMmHg: ptr(70.0)},
		26.0, casebook.CanisterRead{Pump: "P-1", VolumeML: ptr(90.0)},
		27.0, casebook.CanisterRead{Pump: "P-2", VolumeML: ptr(40.0)},
		28.0, casebook.CanisterRead{VolumeML: ptr(95.0)},
		30.0, casebook.AlarmReported{Alarm: "leak", SuctionMmHg: ptr(10.0)},
		31.0, casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "A"}, {Wound: "B"}}, SuctionMmHg: ptr(60.0)},
		32.0, casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "B"}}, SuctionMmHg: ptr(0.0)},
	))
}

// TestSeveralPumps: each pump has its own order, suction and canister, and what names no pump is drawn at none.
func TestSeveralPumps(t *testing.T) {
	k := stateOf(t, twoPumps(), t0.Add(40*time.Hour))
	tide := TideOf(k, 0)
	if len(tide.pumps) != 2 {
		t.Fatalf("%d pumps", len(tide.pumps))
	}
	want := []struct {
		pump, order string
		shown       []float64
		read        float64
		doing       string
	}{{"P-2", "ordered 75 mmHg", []float64{70, 0}, 40, "off"}, {"P-1", "ordered 125 mmHg", []float64{120}, 90, "not known"}}
	for i, p := range tide.pumps {
		w := want[i]
		if p.Pump != w.pump || len(p.Orders) != 1 || orderWords(p.Orders[0]) != w.order || !p.Orders[0].To.Equal(k.AsOf) {
			t.Errorf("%s: %+v", p.Pump, p.Orders)
		}
		var shown []float64
		for _, s := range p.Shown {
			shown = append(shown, float64(s.Suction))
		}
		if len(shown) != len(w.shown) || shown[0] != w.shown[0] || shown[len(shown)-1] != w.shown[len(w.shown)-1] {
			t.Errorf("%s: shown %v", p.Pump, shown)
		}
		if n := len(p.Canisters); n != 1 || p.Canisters[0][len(p.Canisters[0])-1].ML != w.read {
			t.Errorf("%s: canisters %+v", p.Pump, p.Canisters)
		}
		if last := p.Spells[len(p.Spells)-1]; i == 0 && doingWords(last.Doing) != w.doing {
			t.Errorf("%s: %s", p.Pump, last.Doing)
		}
	}
	if p := tide.pumps[0]; !p.Spells[0].From.Equal(t0.Add(24*time.Hour + 6*time.Minute)) {
		t.Errorf("P-2 begins at %s, before it came", p.Spells[0].From)
	}
	// Two numbers name no pump: the alarm's, and that of a visit to both.
	if n := len(tide.tide.Unnamed); n != 2 {
		t.Errorf("%d unnamed: %+v", n, tide.tide.Unnamed)
	}
	svg, text := tide.Drawing(358, "t").SVG(), ""
	wellFormed(t, svg)
	for _, want := range []string{"Pump P-2 (wound B): suction, mmHg", "Pump P-1 (wound A): suction, mmHg", "Pump P-2: canister, mL", "Pump P-1: canister, mL"} {
		if !strings.Contains(svg, want) {
			t.Errorf("no %q", want)
		}
	}
	for _, r := range tide.Table().Rows {
		text += strings.Join(r.Cells, " | ") + "\n"
	}
	for _, want := range []string{"Order written for pump P-1: ordered 125 mmHg", "Order written for pump P-2: ordered 75 mmHg", "Suction shown at a visit of pump P-1: 120 mmHg", "Suction shown at an alarm, pump not named: 10 mmHg",
		"Suction shown at a visit, pump not named: 60 mmHg", "Canister of pump P-1 read: 90 mL", "Canister of a pump not named read: 95 mL", "Therapy of pump P-2: off until now"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	if strings.Contains(text, "Order ended") {
		t.Errorf("an order of one wound ended that of the other:\n%s", text)
	}
}

// TestSwappedPump: where a second pump came for the wound of the first, nobody knows of the first from then on.
func TestSwappedPump(t *testing.T) {
	k := stateOf(t, casebook.Fold("c", story(
		0.0, casebook.OrderWritten{Stages: []casebook.Stage{{SuctionMmHg: 125}}},
		0.1, casebook.PumpAssigned{Pump: "P-1", Wounds: []string{"A"}},
		1.0, casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "A"}}, SuctionMmHg: ptr(120.0)},
		10.0, casebook.PumpAssigned{Pump: "P-2", Wounds: []string{"A"}},
		11.0, casebook.PowerNoted{Therapy: "on"},
	)), t0.Add(20*time.Hour))
	pumps := k.Tide().Pumps
	if len(pumps) != 2 || pumps[0].Pump != "P-2" || len(pumps[1].Shown) != 1 {
		t.Fatalf("%+v", pumps)
	}
	last := pumps[1].Spells[len(pumps[1].Spells)-1]
	if doingWords(last.Doing) != "not known" || !last.From.Equal(t0.Add(10*time.Hour)) || !last.To.Equal(k.AsOf) {
		t.Errorf("the first pump: %+v", last)
	}
	if last := pumps[0].Spells[len(pumps[0].Spells)-1]; doingWords(last.Doing) != "on" || !last.From.Equal(t0.Add(11*time.Hour)) {
		t.Errorf("the second pump: %+v", last)
	}
}
