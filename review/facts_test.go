package review_test

import (
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
)

// caseOf folds steps into a case; times are in hours from noon.
func caseOf(steps ...step) *casebook.Case { return casebook.Fold("tidy", entries(steps...)) }

func factsOf(steps ...step) *rule.Facts {
	rules, err := builtinOnce()
	if err != nil {
		panic(err)
	}
	return review.Facts(state.Of(caseOf(steps...), rules, equipment.BuiltIn(), nil, noon))
}

// known is what a term must be; nil is "not known".
type known map[string]any

func (want known) check(t *testing.T, name string, f *rule.Facts) {
	t.Helper()
	for term, v := range want {
		got := knownOf(f, term)
		if x, ok := v.(float64); ok {
			if y, ok := got.(float64); ok && math.Abs(x-y) < 1e-9 {
				continue
			}
		}
		if x, ok := v.(time.Time); ok {
			if y, ok := got.(time.Time); ok && x.Equal(y) {
				continue
			}
		}
		if !reflect.DeepEqual(got, v) {
			t.Errorf("%s: %s is %v, want %v", name, term, got, v)
		}
	}
}

// TestFactsOfTherapy: whether therapy runs is the newest word; what nobody said is not known.
func TestFactsOfTherapy(t *testing.T) {
	alarm := func(h float64, kind string, off *time.Time) step {
		return at(h, casebook.AlarmReported{Alarm: kind, OffSince: off})
	}
	power := func(h float64, therapy string) step { return at(h, casebook.PowerNoted{Therapy: therapy}) }
	shows := func(h float64, mmHg *float64, therapy string) step {
		return at(h, change(func(d *casebook.DressingChanged) {
			d.SuctionMmHg, d.Power = mmHg, &casebook.PowerNoted{Therapy: therapy}
		}))
	}
	on := known{"therapy.off": false, "therapy.off_since": nil}
	open := known{"therapy.off": nil, "therapy.off_since": nil}
	for _, x := range []struct {
		name  string
		steps []step
		want  known
	}{
		{"nothing said", []step{at(-9, order(nil))}, open},
		{"noted as on", []step{power(-3, "on")}, on},
		{"noted as off", []step{power(-3, "off")}, known{"therapy.off": true, "therapy.off_since": noonPlus(-3)}},
		{"battery alone says nothing", []step{power(-3, "off"), at(-2, casebook.PowerNoted{BatteryPct: num(50)})}, known{"therapy.off": true, "therapy.off_since": noonPlus(-3)}},
		{"off twice: the earlier moment", []step{power(-3, "off"), power(-1, "off")}, known{"therapy.off": true, "therapy.off_since": noonPlus(-3)}},
		{"off, then an alarm says since when", []step{power(-1, "off"), alarm(-0.5, "leak", when(-4))}, known{"therapy.off": true, "therapy.off_since": noonPlus(-4)}},
		{"an unsettled alarm: not known", []step{power(-5, "on"), alarm(-3, "leak", nil)}, open},
		{"an unsettled alarm does not undo off", []step{power(-5, "off"), alarm(-3, "leak", nil)}, known{"therapy.off": true, "therapy.off_since": noonPlus(-5)}},
		{"an alarm that was settled", []step{alarm(-3, "leak", when(-3.5)), at(-2, settled("leak"))}, on},
		{"a change that shows suction", []step{power(-5, "off"), shows(-3, num(125), "")}, on},
		{"a change that shows none", []step{shows(-3, num(0), "")}, known{"therapy.off": true, "therapy.off_since": noonPlus(-3)}},
		{"a change: what is said of therapy comes before what is shown", []step{shows(-3, num(0), "on")}, on},
		{"a change that says nothing", []step{power(-5, "on"), shows(-3, nil, "")}, open},
		{"not known after off: the new off starts anew", []step{power(-9, "off"), shows(-5, nil, ""), power(-2, "off")}, known{"therapy.off": true, "therapy.off_since": noonPlus(-2)}},
		{"a correction moves the off", []step{power(-3, "off").called("p"), retimes(-1, "p", -6)}, known{"therapy.off": true, "therapy.off_since": noonPlus(-6)}},
		{"the time off that ended", []step{power(-9, "off"), power(-6.5, "on"), power(-5, "off"), power(-4, "on")}, known{"therapy.off": false, "therapy.off_h": 2.5}},
		{"a change ends its memory", []step{power(-9, "off"), power(-6.5, "on"), shows(-5, num(125), "")}, known{"therapy.off_h": nil}},
		{"time off before the change does not count", []step{shows(-5, num(125), ""), alarm(-4, "leak", when(-8)), power(-3.5, "on")}, known{"therapy.off_h": 1.5}},
		{"off that is not over", []step{power(-9, "off")}, known{"therapy.off_h": nil}},
	} {
		x.want.check(t, x.name, factsOf(x.steps...))
	}
}

// TestFactsOfAlarms: an alarm stays open until its own kind is settled, or the pump is seen to draw.
func TestFactsOfAlarms(t *testing.T) {
	alarm := func(h float64, kind string) step { return at(h, casebook.AlarmReported{Alarm: kind}) }
	for _, x := range []struct {
		name  string
		steps []step
		want  known
	}{
		{"none", nil, known{"alarm.open": "", "alarm.open_at": nil, "alarm.last_at": nil}},
		{"open", []step{alarm(-3, "leak")}, known{"alarm.open": "leak", "alarm.open_at": noonPlus(-3), "alarm.last_at": noonPlus(-3)}},
		{"settled", []step{alarm(-3, "leak"), at(-2, settled("leak"))}, known{"alarm.open": "", "alarm.open_at": nil, "alarm.last_at": noonPlus(-2)}},
		{"settled as written", []step{at(-2, settled("leak"))}, known{"alarm.open": ""}},
		{"another kind was settled", []step{alarm(-3, "canister full"), alarm(-2, "battery low"), at(-1, settled("battery low"))}, known{"alarm.open": "canister full", "alarm.open_at": noonPlus(-3)}},
		{"the newest of two", []step{alarm(-3, "canister full"), alarm(-2, "leak")}, known{"alarm.open": "leak", "alarm.open_at": noonPlus(-2)}},
		{"a kind not known was the one settled", []step{alarm(-3, "not known"), at(-1, settled("tilted"))}, known{"alarm.open": ""}},
		{"settling one not known settles no other", []step{alarm(-3, "leak"), at(-1, settled("not known"))}, known{"alarm.open": "leak"}},
		{"therapy on", []step{alarm(-3, "leak"), at(-1, casebook.PowerNoted{Therapy: "on"})}, known{"alarm.open": ""}},
		{"plugged in alone settles nothing", []step{alarm(-3, "battery low"), at(-1, casebook.PowerNoted{PluggedIn: yes})}, known{"alarm.open": "battery low"}},
		{"a change with suction", []step{alarm(-3, "leak"), at(-1, change(nil))}, known{"alarm.open": ""}},
		{"a change without suction", []step{alarm(-3, "leak"), at(-1, taken(1))}, known{"alarm.open": "leak"}},
	} {
		x.want.check(t, x.name, factsOf(x.steps...))
	}
}

// TestFactsOfScreening: an answer for all wounds, answers for single ones, and what stays open.
func TestFactsOfScreening(t *testing.T) {
	two := []step{at(-50, wound("A", nil)), at(-50, wound("B", nil))}
	only := func(h float64, w string, answers map[string]string) step {
		return at(h, casebook.ScreeningDone{Wound: w, Answers: answers})
	}
	a := func(v string) map[string]string { return map[string]string{"malignancy": v} }
	for _, x := range []struct {
		name  string
		steps []step
		want  any
	}{
		{"not asked", nil, nil},
		{"no for all", []step{only(-9, "", a("no"))}, false},
		{"yes for all", []step{only(-9, "", a("yes"))}, true},
		{"unknown is not no", []step{only(-9, "", a("unknown"))}, nil},
		{"one of two wounds", []step{only(-9, "A", a("no"))}, nil},
		{"both wounds", []step{only(-9, "A", a("no")), only(-8, "B", a("no"))}, false},
		{"one yes is yes", []step{only(-9, "A", a("no")), only(-8, "B", a("yes"))}, true},
		{"one yes, the other not asked", []step{only(-8, "B", a("yes"))}, true},
		{"no for all, then one yes", []step{only(-9, "", a("no")), only(-8, "B", a("yes"))}, true},
		{"no for all, then one not known", []step{only(-9, "", a("no")), only(-8, "B", a("unknown"))}, nil},
		{"one yes, then no for all", []step{only(-9, "B", a("yes")), only(-8, "", a("no"))}, false},
		{"the newest answer counts, whatever came in first", []step{only(-8, "", a("yes")), only(-9, "", a("no"))}, true},
		{"not asked again: the old answer stays", []step{only(-9, "", a("no")), only(-8, "", map[string]string{"eschar": "no"})}, false},
	} {
		known{"screen.malignancy": x.want}.check(t, x.name, factsOf(join(two, x.steps)...))
		yes, sure, by := state.Screened(caseOf(join(two, x.steps)...), "malignancy")
		if (x.want == nil) == sure || (sure && yes != x.want) || sure != (len(by) > 0) {
			t.Errorf("%s: Screened says %v, %v from %v", x.name, yes, sure, by)
		}
	}
	known{"screen.malignancy": false}.check(t, "before a wound is described", factsOf(only(-9, "", a("no"))))
	// The wording of the rule pack rests on these counts: the FDA tables as asked, 8 and 22.
	known{"screen.open_hard": 8.0, "screen.open_other": 22.0, "screen.done_at": nil}.check(t, "no screening", factsOf(two...))
	known{"screen.open_hard": 0.0, "screen.open_other": 0.0, "screen.open_hard_words": "", "screen.open_other_words": "", "screen.done_at": noonPlus(-2)}.check(t, "all answered", factsOf(join(two, []step{at(-2, screened(nil))})...))
	known{"screen.open_hard": 1.0, "screen.open_hard_words": "nerves lie open in the wound", "screen.open_other": 1.0, "screen.open_other_words": "MRI is planned"}.
		check(t, "two left open", factsOf(join(two, []step{at(-2, screened(map[string]string{"exposed_nerves": "", "mri_planned": "unknown"}))})...))
}

// TestFactsOfVisits: the plan, the signs, the seal and the skin.
func TestFactsOfVisits(t *testing.T) {
	plan := func(h, to float64) step {
		return at(h, casebook.NoteWritten{Text: "Planned.", NextVisit: when(to)})
	}
	visit := func(h float64, mod func(*casebook.DressingChanged)) step {
		return at(h, change(func(d *casebook.DressingChanged) {
			d.NextVisit = nil
			if mod != nil {
				mod(d)
			}
		}))
	}
	seal := func(h float64, s string) step {
		return visit(h, func(d *casebook.DressingChanged) { d.Seal = s })
	}
	unanswered := func(d *casebook.DressingChanged) { d.Signs = nil }
	for _, x := range []struct {
		name  string
		steps []step
		want  known
	}{
		{"no plan", nil, known{"visit.next_at": nil}},
		{"a plan", []step{plan(-5, 20)}, known{"visit.next_at": noonPlus(20)}},
		{"the newest plan", []step{plan(-5, 20), plan(-4, 10)}, known{"visit.next_at": noonPlus(10)}},
		{"a note without a plan keeps it", []step{plan(-5, 20), at(-4, saw("none"))}, known{"visit.next_at": noonPlus(20)}},
		{"a visit uses it up", []step{plan(-5, 20), visit(-4, nil)}, known{"visit.next_at": nil}},
		{"a plan that passed stays", []step{plan(-50, -20)}, known{"visit.next_at": noonPlus(-20)}},

		{"signs not answered", []step{visit(-4, unanswered)}, known{"visit.signs_answered": false, "sign.pus": nil}},
		{"signs: none", []step{visit(-4, nil)}, known{"visit.signs_answered": true, "sign.pus": false, "sign.pus_at": nil}},
		{"answered by telephone afterwards", []step{visit(-4, unanswered), at(-2, saw("pus"))}, known{"visit.signs_answered": true, "sign.pus": true, "sign.pus_at": noonPlus(-2)}},
		{"answered before the visit only", []step{at(-6, saw("none")), visit(-4, unanswered)}, known{"visit.signs_answered": false}},
		{"seen again keeps the first time", []step{at(-6, saw("pus")), at(-3, saw("pus"))}, known{"sign.pus": true, "sign.pus_at": noonPlus(-6)}},
		{"not seen again stays open", []step{at(-6, saw("pus")), at(-3, saw("none"))}, known{"sign.pus": true, "sign.pus_at": noonPlus(-6)}},
		{"dealt with", []step{at(-6, saw("pus")), at(-3, dealt("pus"))}, known{"sign.pus": false}},
		{"dealt with and seen anew", []step{at(-6, saw("pus")), at(-3, dealt("pus")), at(-1, saw("pus"))}, known{"sign.pus": true, "sign.pus_at": noonPlus(-1)}},
		{"dealt with and still there in one entry", []step{at(-6, saw("pus")), at(-3, note(casebook.Seen{Settles: []string{"pus"}, Signs: []string{"pus"}}))}, known{"sign.pus": true, "sign.pus_at": noonPlus(-3)}},

		{"seal holds", []step{seal(-4, "holds")}, known{"visit.seal": "holds", "visit.seal_at": noonPlus(-4)}},
		{"a new dressing not checked", []step{seal(-9, "holds"), seal(-4, "not checked")}, known{"visit.seal": "not checked"}},
		{"a new dressing not noted", []step{seal(-9, "holds"), seal(-4, "")}, known{"visit.seal": nil}},
		{"a leak sealed without a change", []step{seal(-4, "leaks"), at(-3, settled("leak"))}, known{"visit.seal": "holds", "visit.seal_at": noonPlus(-3)}},
		{"another alarm settled says nothing of the seal", []step{seal(-4, "leaks"), at(-3, settled("tilted"))}, known{"visit.seal": "leaks"}},
		{"settled before the dressing that leaks", []step{at(-5, settled("leak")), seal(-4, "leaks")}, known{"visit.seal": "leaks"}},

		{"pressure against the usual one, noted at two times", []step{at(-9, note(casebook.Seen{SystolicUsualMmHg: num(104)})), at(-2, note(casebook.Seen{SystolicMmHg: num(168)}))}, known{"seen.systolic_mmHg": 168.0, "seen.systolic_rise_mmHg": 64.0, "seen.systolic_at": noonPlus(-2)}},
		{"no usual pressure", []step{at(-2, note(casebook.Seen{SystolicMmHg: num(168)}))}, known{"seen.systolic_rise_mmHg": nil}},
		{"place left empty", []step{at(-9, casebook.PersonRegistered{Name: "Edda Farrow", Zone: "Europe/London"})}, known{"person.place": nil, "person.has_call_number": false}},
	} {
		x.want.check(t, x.name, factsOf(x.steps...))
	}
}

// TestOpenSigns: several at once, in the order of the form.
func TestOpenSigns(t *testing.T) {
	c := caseOf(at(-6, saw("slow pulse", "pus")), at(-5, saw("none", "bright red blood")), at(-4, dealt("pus")))
	var got []string
	for _, s := range state.OpenSigns(c) {
		got = append(got, s.Sign+" "+s.Since.Format("15:04"))
	}
	if want := "bright red blood 07:00, slow pulse 06:00"; strings.Join(got, ", ") != want {
		t.Errorf("open: %s, want %s", strings.Join(got, ", "), want)
	}
}

// TestOrderMissing: what a complete order says, one thing left out at a time.
func TestOrderMissing(t *testing.T) {
	for want, mod := range map[string]func(*casebook.OrderWritten){
		"":                                    func(*casebook.OrderWritten) {},
		"suction":                             func(o *casebook.OrderWritten) { o.Stages = nil },
		"how long each stage is held":         func(o *casebook.OrderWritten) { o.Stages = staged(125, 5, 25, 0).Stages },
		"filler":                              func(o *casebook.OrderWritten) { o.Filler = "" },
		"contact layer or that there is none": func(o *casebook.OrderWritten) { o.ContactLayer = "" },
		"change interval":                     func(o *casebook.OrderWritten) { o.ChangeEveryH = nil },
		"goal":                                func(o *casebook.OrderWritten) { o.Goal = "  " },
		"duration":                            func(o *casebook.OrderWritten) { o.DurationDays = nil },
		"prescriber":                          func(o *casebook.OrderWritten) { o.Prescriber = " " },
		"suction, filler, contact layer or that there is none, change interval, goal, duration, prescriber": func(o *casebook.OrderWritten) { *o = casebook.OrderWritten{} },
	} {
		if got := strings.Join(state.OrderMissing(order(mod)), ", "); got != want {
			t.Errorf("missing %q, want %q", got, want)
		}
	}
}

// TestFactsOfOrder: depths of the stages, their average, and the end of the order.
func TestFactsOfOrder(t *testing.T) {
	for _, x := range []struct {
		name string
		body casebook.OrderWritten
		want known
	}{
		{"one stage", order(nil), known{"order.stages": 1.0, "order.deepest_mmHg": 125.0, "order.shallowest_mmHg": 125.0, "order.mean_mmHg": 125.0, "order.ends_at": noonPlus(-3 + 28*24), "order.accepts_allergy": false}},
		// (125 · 5 + 25 · 2) / 7 = 96.43
		{"two stages", staged(125, 5, 25, 2), known{"order.stages": 2.0, "order.deepest_mmHg": 125.0, "order.shallowest_mmHg": 25.0, "order.mean_mmHg": 675.0 / 7}},
		{"a hold is missing", staged(125, 5, 25, 0), known{"order.deepest_mmHg": 125.0, "order.mean_mmHg": nil}},
		{"a minus sign", suction(-125), known{"order.deepest_mmHg": -125.0, "order.mean_mmHg": nil}},
		{"no stage", order(func(o *casebook.OrderWritten) { o.Stages = nil }), known{"order.stages": 0.0, "order.deepest_mmHg": nil, "order.mean_mmHg": nil, "order.missing": "suction"}},
		{"no duration", order(func(o *casebook.OrderWritten) { o.DurationDays = nil }), known{"order.ends_at": nil}},
	} {
		x.want.check(t, x.name, factsOf(at(-3, x.body)))
	}
	known{"order.exists": false, "order.accepts_allergy": nil, "therapy.open": true}.check(t, "stopped", factsOf(at(-3, order(nil)), at(-2, casebook.OrderStopped{By: "Dr I. Vance"})))
}

// TestFactsOfPower: a level, and a plug noted then or later.
func TestFactsOfPower(t *testing.T) {
	power := func(h float64, pct *float64, plugged *bool) step {
		return at(h, casebook.PowerNoted{BatteryPct: pct, PluggedIn: plugged})
	}
	for _, x := range []struct {
		name  string
		steps []step
		want  known
	}{
		{"both", []step{power(-3, num(40), no)}, known{"power.battery_pct": 40.0, "power.plugged_in": false, "power.noted_at": noonPlus(-3), "power.plugged_at": noonPlus(-3)}},
		{"plugged in afterwards", []step{power(-3, num(40), no), power(-2, nil, yes)}, known{"power.battery_pct": 40.0, "power.plugged_in": true, "power.noted_at": noonPlus(-3), "power.plugged_at": noonPlus(-2)}},
		{"a level since then", []step{power(-3, num(40), yes), power(-2, num(30), nil)}, known{"power.battery_pct": 30.0, "power.plugged_in": nil}},
		{"no level", []step{power(-3, nil, no)}, known{"power.battery_pct": nil, "power.plugged_in": false, "power.noted_at": nil}},
	} {
		x.want.check(t, x.name, factsOf(x.steps...))
	}
}

// knownOf looks up a term of the case or of its one pump and canister.
func knownOf(f *rule.Facts, term string) any {
	for _, t := range rule.Vocabulary {
		if t.Name == term && (t.Scope == rule.ScopePump || t.Scope == rule.ScopeCanister) {
			f = f.Canister("")
		}
	}
	return f.Known(term)
}
