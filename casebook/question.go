package casebook

// Question is one question of the screening. ID is stable and used in files and rules.
type Question struct {
	ID    string
	Group string
	// Words is the question, so put that "yes" is the answer that worries.
	Words string
	// Hard marks the eight wound conditions in which therapy must not start.
	Hard bool
}

// Answers that a question can have; a missing answer means the same as "unknown".
const (
	AnswerYes     = "yes"
	AnswerNo      = "no"
	AnswerUnknown = "unknown"
)

// Questions lists the screening questions: the contraindicated wound types (Table 1) and the patient risk
// factors (Table 2) of the FDA Preliminary Public Health Notification of 13 November 2009, in our own words,
// and three that a nursing handbook adds (clinical reference 1.16).
var Questions = []Question{
	{"eschar", "Must not start", "Dead tissue with eschar in the wound", true},
	{"osteomyelitis_untreated", "Must not start", "Bone infection that is not being treated", true},
	{"fistula_unexplored", "Must not start", "A fistula that does not come from the bowel and has not been explored", true},
	{"malignancy", "Must not start", "Cancer in the wound", true},
	{"exposed_vessels", "Must not start", "Blood vessels lie open in the wound", true},
	{"exposed_nerves", "Must not start", "Nerves lie open in the wound", true},
	{"exposed_anastomosis", "Must not start", "A surgical join of vessel or bowel lies open in the wound", true},
	{"exposed_organs", "Must not start", "Organs lie open in the wound", true},

	{"bleeding_risk", "Bleeding", "High risk of bleeding", false},
	{"anticoagulant", "Bleeding", "Takes a drug against clotting (anticoagulant or platelet inhibitor)", false},
	{"friable_vessels", "Bleeding", "Fragile or infected blood vessels near the wound", false},
	{"vascular_anastomosis", "Bleeding", "A join between vessels or a vessel graft near the wound", false},

	{"infected_wound", "Wound", "The wound is infected", false},
	{"osteomyelitis", "Wound", "Bone infection, under treatment", false},
	{"near_structures", "Wound", "Organ, vessel, nerve, tendon or ligament close to the surface, protected", false},
	{"sharp_edges", "Wound", "Sharp edges in the wound, such as bone splinters", false},
	{"enteric_fistula", "Wound", "A fistula from the bowel", false},

	{"cord_injury", "Patient", "Spinal cord injury", false},
	{"size_and_weight", "Patient", "Very small or frail: body size or weight is a concern", false},
	{"vagus_nearby", "Patient", "The wound is close to the vagus nerve (neck, chest opening)", false},

	{"mri_planned", "Procedures", "MRI is planned", false},
	{"hyperbaric_planned", "Procedures", "Treatment in a pressure chamber is planned", false},
	{"defibrillation_likely", "Procedures", "May need defibrillation, with the dressing near the pads", false},
	{"circumferential", "Procedures", "The dressing goes all the way round a limb", false},
	{"intermittent_mode", "Procedures", "The ordered program is not continuous", false},

	{"not_debrided", "Also ask", "Dead tissue was not removed enough", false},
	{"coagulopathy_untreated", "Also ask", "A clotting disorder that is not treated", false},
	{"allergy", "Also ask", "Allergy to a part of the dressing", false},
	{"active_bleeding", "Also ask", "The wound bleeds now, or bleeding was hard to stop", false},
	{"inadequate_perfusion", "Also ask", "Blood supply of the wound is not enough", false},
}

// FindQuestion returns the question with the ID.
func FindQuestion(id string) (Question, bool) {
	for _, q := range Questions {
		if q.ID == id {
			return q, true
		}
	}
	return Question{}, false
}
