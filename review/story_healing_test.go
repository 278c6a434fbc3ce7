package review_test

import (
	"lowtide/casebook"
	"lowtide/rule"
)

// decided is a decision of that choice; nextH is when it is looked at again, 0 for never.
func decided(choice string, nextH float64) casebook.DecisionMade {
	d := casebook.DecisionMade{Choice: choice, By: "Dr I. Vance", Reasons: "talked over at the bedside", Unsure: "how much of it is the ruler"}
	if nextH != 0 {
		d.NextAt = when(nextH)
	}
	return d
}

// aimed is the tidy order with a goal as a size.
func aimed(depthCm float64) casebook.OrderWritten {
	return order(func(o *casebook.OrderWritten) { o.GoalKind, o.GoalDepthCm = "depth under", num(depthCm) })
}

func init() {
	long := at(-801, wound("A", nil))
	same := func(h float64) step { return at(h, measured(6.8, 2.9, 2.2, nil)) }
	goOn := func(h float64) []step { return []step{at(h, decided("continue", h+300))} }
	storyOf(
		story{rule: "STP-STALL-01", level: rule.Plan, wound: "A", tell: []step{long, same(-23.9 - 14*24), same(-23.9 - 7*24)}, says: []string{"Wound A", "the chance is", "Tue 3 Mar 12:06"}, act: goOn(3)},
		story{rule: "STP-REVERSE-01", level: rule.Today, wound: "A", tell: []step{long, at(-23.9-14*24, measured(5, 2.2, 2.2, nil)), at(-23.9-7*24, measured(6, 2.5, 2.2, nil)), at(-2, measured(8, 3.4, 2.4, nil))}, says: []string{"Wound A", "the chance is", "Wed 4 Mar 10:00"}, act: goOn(3)},
		story{rule: "REC-ODD-01", level: rule.Plan, wound: "A", tell: []step{long, at(-700, measured(9, 4.4, 3.4, nil)), at(-532, measured(8.6, 4, 3.1, nil)), at(-364, measured(8, 3.6, 2.9, nil)), at(-196, measured(7.4, 33, 2.6, nil)).called("slip")},
			says: []string{"Wound A", "area", "Tue 24 Feb 08:00"}, act: []step{replaces(1, "slip", measured(7.4, 3.3, 2.6, nil))}},
		story{rule: "STP-MARKER-01", level: rule.Plan, wound: "A", tell: []step{long, same(-23.9 - 29*24), same(-23.9 - 14*24)}, says: []string{"Wound A", "20 % of the area gone by week 4", "Mon 2 Mar 12:06", "it was the same", "no share of patients was published"}, act: goOn(3)},
		story{rule: "STP-GOAL-01", level: rule.Plan, wound: "A", tell: []step{at(-4, aimed(1)), at(-2, measured(6, 2.5, 0.9, nil))}, says: []string{"Wound A", "a depth under 1 cm", "Wed 4 Mar 10:00"}, act: []step{at(3, decided("step down", 80))}},
		story{rule: "STP-GOAL-01", level: rule.Note, state: rule.CannotTell, wound: "A", without: []casebook.Kind{casebook.KindWoundMeasured}, tell: []step{at(-4, aimed(1))}, says: []string{"Wound A", "a depth under 1 cm"}, act: []step{at(3, measured(6, 2.5, 1.9, nil))}},
		story{rule: "STP-GOAL-02", level: rule.Plan, wound: "A", tell: []step{long, at(-4, aimed(1.9)), at(-23.9-14*24, measured(7.6, 3.6, 3.2, nil)), at(-23.9-7*24, measured(7.2, 3.2, 2.7, nil))}, says: []string{"Wound A", "a depth under 1.9 cm", "Mar"}, act: goOn(3)},
		story{rule: "STP-DECIDE-01", level: rule.Plan, tell: []step{at(-100, decided("continue", -1))}, says: []string{"continue", "Sat 28 Feb 08:00", "Wed 4 Mar 11:00"}, act: goOn(3)},
	)
}
