package review_test

import (
	"lowtide/casebook"
	"lowtide/rule"
)

func counted(out, in []casebook.Pieces) casebook.DressingChanged {
	return change(func(d *casebook.DressingChanged) {
		d.Wounds[0].Out, d.Wounds[0].In = out, in
		d.Wounds[0].NoneOut, d.Wounds[0].NoneIn = false, false
	})
}

func accounted(n int, outcome, note string) casebook.PiecesAccounted {
	return casebook.PiecesAccounted{Wound: "A", Filler: "foam", Count: n, Outcome: outcome, Note: note}
}

func ruledOut(n int) casebook.PiecesAccounted {
	b := accounted(n, "surgeon rules it out", "looked into the wound in theatre: nothing left")
	b.By = "Dr I. Vance"
	return b
}

func init() {
	tunnel := func(m *casebook.WoundMeasured) {
		m.NoneUnder, m.Tunnels = false, []casebook.Under{{FromClock: 2, DepthCm: 4.5}}
	}
	notLooked := func(m *casebook.WoundMeasured) { m.NoneUnder = false }
	storyOf(
		story{rule: "CNT-DEEP-01", level: rule.Note, wound: "A", tell: []step{at(-2, measured(6.8, 2.9, 2.2, tunnel))}, says: []string{"Wound A", "pieces in it: 1"}, act: []step{at(48, measured(6, 2.5, 1.8, nil))}},
		story{rule: "CNT-DEEP-01", level: rule.Plan, state: rule.CannotTell, wound: "A", without: []casebook.Kind{casebook.KindWoundMeasured}, tell: []step{at(-23.9, measured(6.8, 2.9, 2.2, notLooked))}, says: []string{"Wound A"}, act: []step{at(2, measured(6.8, 2.9, 2.2, nil))}},
		story{rule: "CNT-END-01", level: rule.ActNow, wound: "A", tell: []step{at(-1, ended("goal met"))}, says: []string{"wound A", "pieces: 1"}, act: []step{at(0.5, taken(1))}},
		story{rule: "CNT-END-01", level: rule.ActNow, state: rule.CannotTell, wound: "A", tell: []step{at(-2, counted(foam(1), nil)), at(-1, ended("goal met"))}, says: []string{"wound A"},
			act: []step{at(0.5, taken(2)), at(1, accounted(1, "imaging shows none", "X-ray of the wound, read by Dr I. Vance"))}},
		story{rule: "CNT-MANY-01", level: rule.Note, wound: "A", tell: []step{at(-2, counted(foam(1), foam(6)))}, says: []string{"6 pieces"}, act: []step{at(46, counted(foam(6), foam(2)))}},
		story{rule: "CNT-MISSING-01", level: rule.ActNow, wound: "A", tell: []step{at(-20, counted(foam(1), foam(3))), at(-2, counted(foam(2), foam(1)))},
			says: []string{"Wound A", "Wed 4 Mar 10:00", "Missing: 1 foam"}, act: []step{at(0.5, accounted(1, "found and removed", "behind the flap at 2 o'clock"))}},
		story{rule: "CNT-SURPLUS-01", level: rule.Today, wound: "A", tell: []step{at(-2, counted(foam(2), foam(1)))}, says: []string{"Wound A", "Wed 4 Mar 10:00", "Too many: 1 foam"}, act: []step{at(3, accounted(1, "count was wrong", "J. Okafor put in two on Tuesday and wrote one"))}},
		story{rule: "CNT-UNSURE-01", level: rule.ActNow, wound: "A", tell: []step{at(-2, counted(nil, foam(1)))}, says: []string{"Wound A", "Wed 4 Mar 10:00"}, act: []step{at(2, accounted(1, "surgeon told", "Dr I. Vance, who looks herself on Thursday")), at(3, ruledOut(1))}},
	)
}
