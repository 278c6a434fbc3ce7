package review_test

import (
	"math"
	"testing"

	"lowtide/casebook"
	"lowtide/state"
)

// TestCanister: what is in the canister now, what it gave, and what nobody can tell.
func TestCanister(t *testing.T) {
	pump := func(h float64, name string, mL *float64) step {
		return at(h, casebook.PumpAssigned{Pump: name, CanisterML: mL})
	}
	look := func(h float64, colour string) step { return at(h, casebook.CanisterRead{Colour: colour}) }
	swapped := func(h float64, sizeML *float64) step {
		return at(h, casebook.CanisterRead{Changed: yes, SizeML: sizeML})
	}
	volume := func(h, mL float64) step { return at(h, read(mL, "straw")) }
	for _, x := range []struct {
		name  string
		steps []step
		want  known
	}{
		{"nothing recorded", nil, known{"canister.size_mL": nil, "canister.volume_mL": nil, "canister.full_pct": nil, "canister.changed_at": nil, "canister.colour": nil, "canister.dropped": nil, "canister.output_mL_d": nil}},
		{"a pump with its canister", []step{pump(-50, "P-1", num(300))}, known{"canister.size_mL": 300.0, "canister.changed_at": noonPlus(-50), "canister.volume_mL": nil, "canister.full_pct": nil}},
		{"a pump whose canister nobody named", []step{pump(-50, "P-1", nil), volume(-2, 120)}, known{"canister.size_mL": nil, "canister.changed_at": nil, "canister.volume_mL": 120.0, "canister.full_pct": nil}},
		{"a reading", []step{pump(-50, "P-1", num(300)), volume(-2, 120)}, known{"canister.volume_mL": 120.0, "canister.full_pct": 40.0, "canister.read_at": noonPlus(-2), "canister.dropped": false}},
		{"changed after the reading", []step{pump(-50, "P-1", num(300)), at(-2, fresh(280, "straw"))}, known{"canister.volume_mL": 0.0, "canister.full_pct": 0.0, "canister.changed_at": noonPlus(-2)}},
		{"a new canister of another size", []step{pump(-50, "P-1", num(300)), swapped(-2, num(500)), volume(-1, 100)}, known{"canister.size_mL": 500.0, "canister.full_pct": 20.0}},
		{"size named without a change", []step{pump(-50, "P-1", num(300)), at(-1, casebook.CanisterRead{VolumeML: num(100), SizeML: num(400)})}, known{"canister.full_pct": 25.0, "canister.changed_at": noonPlus(-50)}},
		{"the pump recorded late keeps an earlier change", []step{at(-60, fresh(200, "straw")), pump(-50, "P-1", num(300))}, known{"canister.changed_at": noonPlus(-60), "canister.size_mL": 300.0}},
		{"another pump: its canister has not been read", []step{pump(-90, "P-1", num(300)), volume(-60, 280), at(-50, casebook.PumpReturned{Pump: "P-1"}), pump(-50, "P-2", num(500))},
			known{"canister.size_mL": 500.0, "canister.volume_mL": nil, "canister.changed_at": noonPlus(-50), "canister.dropped": nil}},
		{"another pump: a lower reading is no drop", []step{pump(-90, "P-1", num(300)), volume(-60, 280), at(-50, casebook.PumpReturned{Pump: "P-1"}), pump(-50, "P-2", num(500)), volume(-2, 40)},
			known{"canister.volume_mL": 40.0, "canister.dropped": false, "canister.output_mL_d": nil}},
		{"the same pump written down again keeps its reading", []step{pump(-90, "P-1", num(300)), volume(-60, 280), pump(-50, "P-1", num(300))}, known{"canister.volume_mL": 280.0, "canister.changed_at": noonPlus(-90)}},

		// Output: newest reading against the earlier one nearest to 24 h before it, at least 12 h.
		{"one reading gives no output", []step{pump(-50, "P-1", num(300)), volume(-2, 120)}, known{"canister.output_mL_d": nil}},
		{"a day apart", []step{volume(-26, 40), volume(-2, 100)}, known{"canister.output_mL_d": 60.0}},
		{"exactly 12 h", []step{volume(-14, 40), volume(-2, 70)}, known{"canister.output_mL_d": 60.0}},
		{"less than 12 h", []step{volume(-13.9, 40), volume(-2, 70)}, known{"canister.output_mL_d": nil}},
		{"nearest to 24 h of several", []step{volume(-52, 0), volume(-28, 10), volume(-20, 100), volume(-2, 140)}, known{"canister.output_mL_d": 130.0 / 26 * 24}},
		{"across a change whose volume was read", []step{volume(-26, 40), at(-14, fresh(250, "straw")), volume(-2, 30)}, known{"canister.output_mL_d": 240.0, "canister.dropped": false}},
		{"across a change whose volume was not read", []step{volume(-26, 40), swapped(-14.5, nil), volume(-2, 30)}, known{"canister.output_mL_d": 30 / 12.5 * 24}},
		{"just changed, volume not read", []step{volume(-26, 40), swapped(-5, nil), volume(-2, 30)}, known{"canister.output_mL_d": nil}},
		{"no fluid at all", []step{volume(-26, 40), volume(-2, 40)}, known{"canister.output_mL_d": 0.0, "canister.dropped": false}},

		{"a drop", []step{volume(-26, 140), volume(-2, 40)}, known{"canister.dropped": true, "canister.output_mL_d": nil}},
		{"a drop is not explained by the next reading", []step{volume(-26, 140), volume(-2, 40), volume(-1, 60)}, known{"canister.dropped": true, "canister.volume_mL": 60.0}},
		{"a drop, and a change since", []step{volume(-26, 140), volume(-2, 40), at(-1, fresh(60, "straw"))}, known{"canister.dropped": false}},
		{"a change between them, recorded late", []step{volume(-26, 140), volume(-2, 40), swapped(-20, nil)}, known{"canister.dropped": false}},
		{"a slip corrected", []step{volume(-26, 140).called("slip"), volume(-2, 40), replaces(-1, "slip", read(14, "straw"))}, known{"canister.dropped": false, "canister.output_mL_d": 26.0}},

		// Colours stay when they worry (docs/decisions/0004).
		{"the newest colour", []step{look(-5, "clear"), look(-2, "straw")}, known{"canister.colour": "straw", "canister.colour_at": noonPlus(-2)}},
		{"a plain colour is good for its own reading only", []step{look(-5, "straw"), at(-2, casebook.CanisterRead{VolumeML: num(90)})}, known{"canister.colour": nil, "canister.colour_at": nil}},
		{"a colour that worries stays", []step{look(-5, "bright red"), at(-2, casebook.CanisterRead{VolumeML: num(90)})}, known{"canister.colour": "bright red", "canister.colour_at": noonPlus(-5), "canister.read_at": noonPlus(-2)}},
		{"a new canister does not take it away", []step{look(-5, "cloudy"), swapped(-2, nil)}, known{"canister.colour": "cloudy"}},
		{"another pump does not take it away", []step{pump(-90, "P-1", num(300)), at(-60, read(90, "bright red")), at(-50, casebook.PumpReturned{Pump: "P-1"}), pump(-50, "P-2", num(500))}, known{"canister.colour": "bright red"}},
		{"a look at another colour does", []step{look(-5, "bright red"), look(-2, "straw")}, known{"canister.colour": "straw"}},
	} {
		x.want.check(t, x.name, factsOf(x.steps...))
	}
	for colour, stays := range map[string]bool{"clear": false, "straw": false, "pink": true, "blood-tinged": true, "bright red": true, "brown": true, "green": true, "cloudy": true} {
		got := factsOf(look(-5, colour), swapped(-2, nil)).Canister("").Known("canister.colour")
		if (got == any(colour)) != stays {
			t.Errorf("%s after a change: %v, stays %v", colour, got, stays)
		}
	}
}

// TestCanisterTotal: the running total counts every canister and starts anew where it broke.
func TestCanisterTotal(t *testing.T) {
	k := state.CanisterOf(caseOf(at(-60, read(40, "straw")), at(-50, fresh(250, "straw")), at(-40, read(30, "straw")), at(-30, casebook.CanisterRead{Changed: yes}), at(-20, read(20, "straw")), at(-10, read(5, "straw"))))
	want := []struct {
		mL      float64
		segment int
	}{{40, 0}, {250, 0}, {280, 0}, {0, 1}, {20, 1}, {5, 2}}
	if len(k.Collected) != len(want) {
		t.Fatalf("%d points: %+v", len(k.Collected), k.Collected)
	}
	for i, w := range want {
		if g := k.Collected[i]; math.Abs(g.ML-w.mL) > 1e-9 || g.Segment != w.segment || g.Entry == "" {
			t.Errorf("point %d: %+v, want %v mL in segment %d", i, g, w.mL, w.segment)
		}
	}
}
