package casegen

import (
	"bytes"
	"image"
	"image/png"
	"sync"
	"time"
	_ "time/tzdata"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/rule"
	"lowtide/trouble"
)

var zoneNames = []string{"Europe/London", "Europe/Berlin", "America/Chicago", "Asia/Kolkata", "Pacific/Auckland", "UTC"}

// zones are read once: a zone costs more than a case.
var zones = sync.OnceValue(func() []*time.Location {
	var out []*time.Location
	for _, name := range zoneNames {
		z, err := time.LoadLocation(name)
		if err != nil {
			panic("casegen: " + err.Error()) // the zone data is compiled in
		}
		out = append(out, z)
	}
	return out
})

// vocabulary is what may be said in a field without a list of allowed words.
type vocabulary struct {
	nurses, said []string
	// named are the texts of fields by their name, lists those of lists.
	named, lists map[string][]string
}

var known = sync.OnceValue(func() *vocabulary {
	v := &vocabulary{
		nurses: []string{"n.moss", "n.reed", "n.tarn", "desk"},
		said: []string{"told the daughter", "looks paler than on Monday", "  spaces  ", "see also: wound B?", "über 5 % – »größer«", "a, b; c\nsecond line", "<b>not markup</b>", "=1+1",
			"eschar at the edge", "fever last night", "fell out of bed, tube torn", "anticoagulant since Tuesday", "x", "0", "none", "the pump stood on the floor all night and nobody heard it"},
		named: map[string][]string{
			"name": {"Invented Person", "Ada O'Nym", "Łukasz Ściana", "X"}, "phone": {"000 1", "000 2 ext. 5"}, "site": {"sacrum", "left heel", "abdomen, midline", "groin", "neck", "chest"},
			"by": {"Dr Invented", "Dr Elsewhere"}, "lot": {"L1", "L2", "L-0003"}, "program": {"test"}, "rules": {"0123456789abcdef"},
			"file": {"pump.csv"}, "mapping": {"time=1, suction=2:mmHg, delimiter=comma, decimal=point, header=1"}, "key": {"casegen"}, "why": {"the time cannot be read"},
			"goes_on": {"this case"}, "volume_model": {"cone", "even"}, "clock": {"toes", "heel"}, "marks": {""}, "marks_cm": {""}, "head_cm": {"0,1"}, "edge": {""}, "adds_to": {""},
		},
		lists: map[string][]string{},
	}
	for _, q := range casebook.Questions {
		v.lists["accepts_risks"] = append(v.lists["accepts_risks"], q.ID)
	}
	eq := equipment.BuiltIn()
	for _, p := range eq.Pumps {
		v.named["class"] = append(v.named["class"], p.ID)
	}
	for _, i := range eq.Items {
		v.named["item"] = append(v.named["item"], i.ID)
	}
	v.named["class"] = append(v.named["class"], "not in the list")
	v.named["item"] = append(v.named["item"], "something else")
	rules, err := rule.Builtin()
	if err != nil {
		panic("casegen: " + err.Error()) // the built-in rules load
	}
	for _, r := range rules.Rules() {
		v.lists["about"] = append(v.lists["about"], r.ID)
	}
	v.lists["open"] = v.lists["about"]
	for _, p := range rules.Payers() {
		v.named["payer"] = append(v.named["payer"], p.ID)
		for _, c := range p.Criteria {
			v.lists["documented"] = append(v.lists["documented"], c.ID)
		}
	}
	v.named["payer"] = append(v.named["payer"], "nobody-knows")
	for _, f := range shapes()[casebook.KindNoteWritten].fields {
		if f.Name == "signs" {
			v.lists["settles"] = f.Enum[1:]
		}
	}
	calls := trouble.BuiltIn()
	for _, c := range calls.Causes {
		v.named["found"] = append(v.named["found"], c.ID)
	}
	for _, c := range calls.Checks {
		v.named["check"] = append(v.named["check"], c.ID)
	}
	for _, s := range calls.Signs {
		v.named["question"] = append(v.named["question"], s.ID)
		v.lists["answers of "+s.ID] = []string{"unknown"}
		for _, a := range s.Answers {
			v.lists["answers of "+s.ID] = append(v.lists["answers of "+s.ID], a.ID)
		}
	}
	for _, d := range calls.Dangers {
		v.named["question"] = append(v.named["question"], "danger:"+d.ID)
		v.lists["answers of danger:"+d.ID] = []string{"yes", "no", "no", "no", "unknown"}
	}
	return v
})

// usualNumbers are what a reading usually is, by the name of its field. Plain experience, for invented cases only.
var usualNumbers = map[string][2]float64{
	"weight_kg": {45, 120}, "altitude_m": {0, 1800}, "suction_mmHg": {60, 160}, "hold_min": {1, 30}, "change_every_h": {24, 96}, "goal_depth_cm": {0.2, 2}, "goal_area_cm2": {1, 30},
	"duration_days": {14, 90}, "canister_mL": {200, 800}, "size_mL": {200, 800}, "volume_mL": {0, 400}, "battery_pct": {5, 100}, "temperature_C": {36, 39.5}, "systolic_mmHg": {80, 190},
	"systolic_usual_mmHg": {100, 150}, "above_cm": {-80, 60}, "motor_pct": {2, 80}, "first_mmHg": {80, 150}, "second_mmHg": {40, 150}, "seconds": {30, 300}, "depth_cm": {0.2, 5},
	"length_cm": {2, 14}, "width_cm": {1, 9}, "area_cm2": {2, 90}, "perimeter_cm": {5, 40}, "volume_cm3": {1, 150}, "count": {1, 4}, "ahead_min": {-20, 20}, "before_min": {-20, 20},
	"width_px": {400, 4000}, "height_px": {400, 4000}, "rows": {100, 5000}, "rows_not_used": {0, 50}, "row": {1, 90}, "ruler_cm": {5, 15}, "girth_cm": {20, 60}, "px_per_cm": {40, 200},
	"tilt_deg": {0, 30}, "check_ruler_mm": {97, 103}, "area_se_cm2": {0.1, 3}, "se_cm2": {0.1, 2}, "from_clock": {1, 12}, "to_clock": {1, 12},
}

// onePixel is a photo of nothing.
var onePixel = sync.OnceValue(func() []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, 1, 1))); err != nil {
		panic("casegen: " + err.Error()) // a buffer takes everything
	}
	return b.Bytes()
})
