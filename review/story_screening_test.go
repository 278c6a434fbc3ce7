package review_test

import (
	"testing"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
)

// hardStops are the conditions in which therapy must not run, by their question.
var hardStops = []struct{ rule, question string }{
	{"SCR-ESCHAR-01", "eschar"}, {"SCR-OSTEO-01", "osteomyelitis_untreated"}, {"SCR-FISTULA-01", "fistula_unexplored"}, {"SCR-CANCER-01", "malignancy"},
	{"SCR-VESSELS-01", "exposed_vessels"}, {"SCR-NERVES-01", "exposed_nerves"}, {"SCR-JOIN-01", "exposed_anastomosis"}, {"SCR-ORGANS-01", "exposed_organs"},
}

// risks are the conditions that the prescriber can accept in writing.
var risks = []struct {
	rule, question string
	level          rule.Level
}{
	{"SCR-ALLERGY-01", "allergy", rule.Today}, {"SCR-BLEEDRISK-01", "bleeding_risk", rule.Today}, {"SCR-BLEEDS-01", "active_bleeding", rule.ActNow},
	{"SCR-BONE-01", "osteomyelitis", rule.Today}, {"SCR-CHAMBER-01", "hyperbaric_planned", rule.Today}, {"SCR-CLOTDRUG-01", "anticoagulant", rule.Today},
	{"SCR-CLOTTING-01", "coagulopathy_untreated", rule.ActNow}, {"SCR-CORD-01", "cord_injury", rule.Today}, {"SCR-DEBRIDE-01", "not_debrided", rule.Today},
	{"SCR-DEFIB-01", "defibrillation_likely", rule.Today}, {"SCR-ENTERIC-01", "enteric_fistula", rule.Today}, {"SCR-FRIABLE-01", "friable_vessels", rule.Today},
	{"SCR-GRAFTJOIN-01", "vascular_anastomosis", rule.Today}, {"SCR-INFECT-01", "infected_wound", rule.Today}, {"SCR-MODE-01", "intermittent_mode", rule.Today},
	{"SCR-MRI-01", "mri_planned", rule.Today}, {"SCR-PERFUSION-01", "inadequate_perfusion", rule.Today}, {"SCR-ROUND-01", "circumferential", rule.Today},
	{"SCR-SHARP-01", "sharp_edges", rule.Today}, {"SCR-SMALL-01", "size_and_weight", rule.Today}, {"SCR-STRUCT-01", "near_structures", rule.Today},
	{"SCR-VAGUS-01", "vagus_nearby", rule.Today},
}

// watches are the notes that follow from an accepted risk.
var watches = []struct{ rule, question string }{
	{"SCR-WATCH-01", "anticoagulant"}, {"SCR-WATCH-02", "osteomyelitis"}, {"SCR-WATCH-03", "sharp_edges"}, {"SCR-WATCH-04", "enteric_fistula"}, {"SCR-WATCH-05", "cord_injury"},
	{"SCR-WATCH-06", "size_and_weight"}, {"SCR-WATCH-07", "vagus_nearby"}, {"SCR-WATCH-08", "mri_planned"}, {"SCR-WATCH-09", "circumferential"}, {"SCR-WATCH-10", "active_bleeding"}, {"SCR-WATCH-11", "allergy"},
}

// unordered leaves out everything that starts a therapy.
var unordered = []casebook.Kind{casebook.KindOrderWritten, casebook.KindPumpAssigned, casebook.KindDressingChanged, casebook.KindScreeningDone}

func init() {
	for i, h := range hardStops {
		// Half of the prescribers end the therapy; the others look again and the answer was wrong.
		act := []step{at(0.5, casebook.NoteWritten{Text: "Called about the screening.", PrescriberTold: "Dr I. Vance", About: []string{h.rule}}), at(1, ended("contraindication")), at(1.2, taken(1))}
		if i%2 == 1 {
			act = []step{at(1, screened(nil))}
		}
		storyOf(story{rule: h.rule, level: rule.ActNow, tell: []step{at(-2, risk(h.question))}, act: act})
	}
	for i, r := range risks {
		act := []step{at(2, accepts(r.question))}
		if i%4 == 3 {
			act = []step{at(2, screened(nil))}
		}
		storyOf(story{rule: r.rule, level: r.level, tell: []step{at(-2, risk(r.question))}, act: act})
	}
	for i, w := range watches {
		act := []step{at(2, screened(nil))}
		if i%2 == 1 {
			act = []step{at(2, ended("goal met")), at(2.1, taken(1))}
		}
		storyOf(story{rule: w.rule, level: rule.Note, tell: []step{at(-2, risk(w.question)), at(-1, accepts(w.question))}, act: act})
	}
	storyOf(
		story{rule: "SCR-AGE-01", level: rule.Note, without: []casebook.Kind{casebook.KindScreeningDone}, tell: []step{at(-721, screened(nil))}, says: []string{"Mon 2 Feb 11:00"}, act: []step{at(1, screened(nil))}},
		story{rule: "SCR-HOLD-01", level: rule.Today, without: unordered, tell: []step{at(-2, risk("malignancy"))}, act: []step{at(3, screened(nil))}},
		story{rule: "SCR-HOLD-02", level: rule.Today, without: unordered, tell: []step{at(-2, risk("active_bleeding"))}, act: []step{at(3, screened(nil))}},
		story{rule: "SCR-OPEN-01", level: rule.Today, without: unordered, tell: []step{at(-2, screened(map[string]string{"exposed_vessels": "", "malignancy": "unknown"}))},
			says: []string{"not answered: 2"}, advises: []string{"cancer in the wound", "blood vessels lie open in the wound"}, act: []step{at(3, screened(nil))}},
		story{rule: "SCR-OPEN-02", level: rule.Today, tell: []step{at(-2, screened(map[string]string{"exposed_nerves": "unknown"}))}, says: []string{"not answered: 1"}, advises: []string{"nerves lie open in the wound"}, act: []step{at(3, screened(nil))}},
		story{rule: "SCR-OPEN-03", level: rule.ActNow, tell: []step{at(-2, screened(map[string]string{"exposed_vessels": "unknown", "anticoagulant": "yes"}))}, act: []step{at(0.4, screened(map[string]string{"anticoagulant": "yes"}))}},
		story{rule: "SCR-OPEN-04", level: rule.Today, tell: []step{at(-2, screened(map[string]string{"anticoagulant": "unknown", "mri_planned": "unknown"}))}, says: []string{"not answered: 2"}, advises: []string{"takes a drug against clotting", "MRI is planned"}, act: []step{at(3, screened(nil))}},
	)
}

// TestAcceptanceDoesNotClear: what must not run is not made harmless by a signature.
func TestAcceptanceDoesNotClear(t *testing.T) {
	rules := builtin(t)
	for _, h := range hardStops {
		steps := join(tidy(), []step{at(-2, risk(h.question)), at(-1, accepts(h.question))})
		if find(review.Of(state.Of(casebook.Fold("tidy", entries(steps...)), rules, equipment.BuiltIn(), nil, noon), rules), h.rule, "") == nil {
			t.Errorf("%s went away when the risk was accepted", h.rule)
		}
	}
}
