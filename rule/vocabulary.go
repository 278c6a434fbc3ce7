package rule

// Type is the type of a term.
type Type string

// The types that terms can have. Times are instants; a rule uses them through since(t) and until(t), in hours.
const (
	Bool   Type = "yes/no"
	Number Type = "number"
	Text   Type = "text"
	Time   Type = "time"
)

// Scope tells for what a rule is asked: once a case, or once for each of its wounds or canisters.
type Scope string

// The scopes. In the scope of a wound, a pump or a canister the terms of the case can be used too.
const (
	ScopeCase  Scope = "case"
	ScopeWound Scope = "wound"
	// ScopePump is asked once for each pump with the patient.
	ScopePump Scope = "pump"
	// ScopeCanister is asked once for each pump, of its canister. The terms of its pump can be used too.
	ScopeCanister Scope = "canister"
)

// Term is one word that rules may use. review gives it a value, or leaves it unknown.
type Term struct {
	Name  string
	Type  Type
	Scope Scope
	// Unit is the printed form of a unit of package unit, for numbers that have one.
	Unit string
	// Words says what the term means, as it appears in "cannot tell: no <words>".
	Words string
}

// Vocabulary lists every term that rules may use. A term that is not known for a case is unknown there: it is
// never replaced by a default.
var Vocabulary = append([]Term{
	{"person.place", Text, ScopeCase, "", "place of care"},
	{"person.mobility", Text, ScopeCase, "", "mobility"},
	{"person.age_y", Number, ScopeCase, "a", "date of birth"},
	{"person.weight_kg", Number, ScopeCase, "kg", "weight"},

	// Therapy is "open" from the first order, pump or dressing change until it is ended.
	{"therapy.open", Bool, ScopeCase, "", "therapy"},
	{"therapy.started_at", Time, ScopeCase, "", "start of therapy"},
	{"therapy.ended_at", Time, ScopeCase, "", "end of therapy"},
	{"therapy.off", Bool, ScopeCase, "", "record of whether therapy runs"},
	{"therapy.off_since", Time, ScopeCase, "", "time at which therapy went off"},
	// off_h is the longest time off that ended under the dressing now on.
	{"therapy.off_h", Number, ScopeCase, "h", "time off under this dressing"},
	// off_day_h is the most time off within 24 h under the dressing now on, in all its spells, while suction runs.
	{"therapy.off_day_h", Number, ScopeCase, "h", "time off in a day"},
	// on_purpose: suction was stopped for a reason that still stands, off_why in words. flat_at: nobody wrote that it is off,
	// and by its forecast the battery is surely flat since.
	{"therapy.on_purpose", Bool, ScopeCase, "", "reason why therapy is off"},
	{"therapy.off_why", Text, ScopeCase, "", "reason why therapy is off"},
	{"therapy.flat_at", Time, ScopeCase, "", "battery"},
	{"therapy.dressing_in_place", Bool, ScopeCase, "", "record of a dressing in place"},

	{"screen.done_at", Time, ScopeCase, "", "screening"},
	{"screen.open_hard", Number, ScopeCase, "", "screening"},
	{"screen.open_hard_words", Text, ScopeCase, "", "screening"},
	{"screen.open_other", Number, ScopeCase, "", "screening"},
	{"screen.open_other_words", Text, ScopeCase, "", "screening"},

	{"order.exists", Bool, ScopeCase, "", "order"},
	{"order.written_at", Time, ScopeCase, "", "order"},
	{"order.prescriber", Text, ScopeCase, "", "prescriber in the order"},
	{"order.missing", Text, ScopeCase, "", "order"},
	{"order.stages", Number, ScopeCase, "", "stages in the order"},
	{"order.deepest_mmHg", Number, ScopeCase, "mmHg", "suction in the order"},
	{"order.shallowest_mmHg", Number, ScopeCase, "mmHg", "suction in the order"},
	{"order.mean_mmHg", Number, ScopeCase, "mmHg", "suction and hold of every stage in the order"},
	{"order.filler", Text, ScopeCase, "", "filler in the order"},
	{"order.change_every_h", Number, ScopeCase, "h", "change interval in the order"},
	{"order.duration_d", Number, ScopeCase, "d", "duration in the order"},
	{"order.ends_at", Time, ScopeCase, "", "duration in the order"},
	{"order.goal", Text, ScopeCase, "", "goal in the order"},

	{"pump.count", Number, ScopeCase, "", "pump"},
	// Readings that may be of any of several pumps, and that no later reading of every pump has overtaken.
	{"pump.unnamed", Number, ScopeCase, "", "canister or battery readings that name no pump"},
	{"pump.unnamed_words", Text, ScopeCase, "", "canister or battery readings that name no pump"},
	{"pump.name", Text, ScopePump, "", "pump"},
	{"pump.assigned_at", Time, ScopePump, "", "pump"},
	{"pump.class", Text, ScopePump, "", "class of pump"},
	{"pump.shallowest_mmHg", Number, ScopePump, "mmHg", "range of the class of pump"},
	{"pump.deepest_mmHg", Number, ScopePump, "mmHg", "range of the class of pump"},
	{"pump.shown_mmHg", Number, ScopePump, "mmHg", "suction shown by the pump"},
	{"pump.shown_at", Time, ScopePump, "", "suction shown by the pump"},

	{"canister.size_mL", Number, ScopeCanister, "mL", "canister size"},
	{"canister.volume_mL", Number, ScopeCanister, "mL", "canister reading"},
	{"canister.full_pct", Number, ScopeCanister, "%", "canister reading and canister size"},
	{"canister.read_at", Time, ScopeCanister, "", "canister reading"},
	// changed_at is when the canister now in use was put in.
	{"canister.changed_at", Time, ScopeCanister, "", "canister change"},
	{"canister.colour", Text, ScopeCanister, "", "colour in the canister"},
	{"canister.colour_at", Time, ScopeCanister, "", "colour in the canister"},
	// output_mL_d is the collected volume between the newest reading and the earlier one nearest to 24 h before
	// it (at least 12 h), canister changes counted, per day.
	{"canister.output_mL_d", Number, ScopeCanister, "mL/d", "two canister readings"},
	// dropped tells that a reading is lower than the one before it without a recorded change.
	{"canister.dropped", Bool, ScopeCanister, "", "two canister readings"},

	{"canister.drop_words", Text, ScopeCanister, "", "two canister readings"},

	// From the fit to all readings (docs/model/fluid.md). Nothing of it moves with the clock: full_at is when the chance of
	// a full canister is even, full_early_at when it is one in ten, both if nobody changes it.
	{"fluid.rate_mL_d", Number, ScopeCanister, "mL/d", "canister readings"},
	{"fluid.full_at", Time, ScopeCanister, "", "canister readings and canister size"},
	{"fluid.full_early_at", Time, ScopeCanister, "", "canister readings and canister size"},
	// visit_at is the planned visit, or the one that the order's interval or the last visits tell.
	{"fluid.visit_at", Time, ScopeCanister, "", "planned next visit or interval between visits"},
	{"fluid.visit_words", Text, ScopeCanister, "", "planned next visit or interval between visits"},
	{"fluid.chance_visit_pct", Number, ScopeCanister, "%", "canister readings, canister size and next visit"},
	// The weekend that has begun or comes next, from Friday evening to Monday morning.
	{"fluid.weekend_from", Time, ScopeCanister, "", "canister readings and canister size"},
	{"fluid.weekend_to", Time, ScopeCanister, "", "canister readings and canister size"},
	{"fluid.chance_weekend_pct", Number, ScopeCanister, "%", "canister readings and canister size"},
	// The newest sudden change of output: a rise or a drop, by what was read before and after it. looked tells that
	// somebody looked for its cause since.
	{"fluid.rise_factor", Number, ScopeCanister, "", "canister readings"},
	{"fluid.rise_before_mL_d", Number, ScopeCanister, "mL/d", "canister readings"},
	{"fluid.rise_after_mL_d", Number, ScopeCanister, "mL/d", "canister readings"},
	{"fluid.rise_at", Time, ScopeCanister, "", "canister readings"},
	{"fluid.rise_chance_pct", Number, ScopeCanister, "%", "canister readings"},
	{"fluid.rise_looked", Bool, ScopeCanister, "", "colour of the fluid and answers about danger signs"},
	{"fluid.drop_factor", Number, ScopeCanister, "", "canister readings"},
	{"fluid.drop_before_mL_d", Number, ScopeCanister, "mL/d", "canister readings"},
	{"fluid.drop_after_mL_d", Number, ScopeCanister, "mL/d", "canister readings"},
	{"fluid.drop_at", Time, ScopeCanister, "", "canister readings"},
	{"fluid.drop_chance_pct", Number, ScopeCanister, "%", "canister readings"},
	{"fluid.drop_looked", Bool, ScopeCanister, "", "check of the seal and suction shown"},
	// latest_mL_h is what came between the two newest readings of one canister, at least half an hour apart.
	{"fluid.latest_mL_h", Number, ScopeCanister, "mL/h", "two canister readings at least half an hour apart"},
	{"fluid.latest_at", Time, ScopeCanister, "", "two canister readings at least half an hour apart"},
	// fresh_pct is the chance that a new canister of the size in use fills from the next visit to the one after it;
	// week_mL is the smallest size that lasts a week.
	{"fluid.fresh_pct", Number, ScopeCanister, "%", "canister readings, canister size and interval between visits"},
	{"fluid.fresh_h", Number, ScopeCanister, "h", "interval between visits"},
	{"fluid.choice_words", Text, ScopeCanister, "", "canister readings and canister size"},
	{"fluid.week_mL", Number, ScopeCanister, "mL", "canister readings and canister size"},
	{"fluid.week_pct", Number, ScopeCanister, "%", "canister readings and canister size"},

	{"power.battery_pct", Number, ScopePump, "%", "battery level"},
	{"power.plugged_in", Bool, ScopePump, "", "record of the pump being plugged in"},
	{"power.plugged_at", Time, ScopePump, "", "record of the pump being plugged in"},
	{"power.noted_at", Time, ScopePump, "", "battery level"},

	// What the battery is forecast to do while it stays unplugged; "earliest" and "least" are ends of 80 % intervals.
	{"power.low_at", Time, ScopePump, "", "battery level, plug and class of pump"},
	{"power.low_earliest_at", Time, ScopePump, "", "battery level, plug and class of pump"},
	{"power.needed_until", Time, ScopePump, "", "planned time on mains or next visit"},
	{"power.reserve_pct", Number, ScopePump, "%", "battery level, plug and class of pump"},
	{"power.reserve_least_pct", Number, ScopePump, "%", "battery level, plug and class of pump"},
	{"power.why", Text, ScopePump, "", "battery"},

	{"place.altitude_m", Number, ScopeCase, "m", "altitude of the place of care"},
	{"place.ambient_mmHg", Number, ScopeCase, "mmHg", "altitude of the place of care"},

	// What the pressure path gives, computed from order, class of pump, canister and seal. missed is known only
	// when the model answers one way over everything that is not recorded; off_pct only after a hold test.
	{"path.missed", Bool, ScopePump, "", "class of pump, canister size and reading, and a hold test of the seal that settles it"},
	{"path.words", Text, ScopePump, "", "order, class of pump and canister"},
	{"path.why", Text, ScopePump, "", "order, class of pump and canister"},
	{"path.ordered_mmHg", Number, ScopePump, "mmHg", "order, class of pump and canister"},
	{"path.mean_mmHg", Number, ScopePump, "mmHg", "order, class of pump and canister"},
	{"path.off_least_pct", Number, ScopePump, "%", "order, class of pump and canister"},
	{"path.off_pct", Number, ScopePump, "%", "hold test of this dressing"},
	{"path.off_most_pct", Number, ScopePump, "%", "order, class of pump and canister"},
	{"path.duty_pct", Number, ScopePump, "%", "order, class of pump and canister"},
	{"path.largest_leak_mL_min", Number, ScopePump, "mL/min", "order, class of pump and canister"},
	{"pump.place", Text, ScopePump, "", "place of the pump"},
	// head_mmHg is what liquid in the tube does, without sign; head_most_mmHg what it would do if the tube were full.
	{"pump.head_mmHg", Number, ScopePump, "mmHg", "look at the liquid in the tube and the pump's height"},
	{"pump.head_most_mmHg", Number, ScopePump, "mmHg", "place of the pump"},
	{"pump.head_words", Text, ScopePump, "", "place of the pump"},
	// tests is 2 when an earlier hold test tells a leak to compare with, else 1.
	{"seal.tests", Number, ScopePump, "", "hold test"},
	{"seal.test_at", Time, ScopePump, "", "hold test"},
	{"seal.current", Bool, ScopePump, "", "hold test"},
	{"seal.words", Text, ScopePump, "", "hold test"},
	{"seal.leak_mL_min", Number, ScopePump, "mL/min", "hold test with canister and class of pump"},
	{"seal.leak_least_mL_min", Number, ScopePump, "mL/min", "hold test with canister and class of pump"},
	{"seal.change", Text, ScopePump, "", "two hold tests with canister and class of pump"},
	{"seal.change_words", Text, ScopePump, "", "two hold tests"},

	{"visit.last_at", Time, ScopeCase, "", "a visit"},
	{"visit.next_at", Time, ScopeCase, "", "planned next visit"},
	{"visit.signs_answered", Bool, ScopeCase, "", "a visit"},
	{"visit.pain", Number, ScopeCase, "", "pain score"},
	{"visit.seal", Text, ScopeCase, "", "check of the seal"},
	{"visit.seal_at", Time, ScopeCase, "", "check of the seal"},

	{"alarm.open", Text, ScopeCase, "", "alarm"},
	{"alarm.open_at", Time, ScopeCase, "", "alarm"},
	{"alarm.last_at", Time, ScopeCase, "", "alarm"},

	// Calls: the one that is open for longest (open_at is its newest part), the newest with a danger answer of yes that
	// nobody looked at since, who comes while therapy is off, and what came again. thrice_h is the time in which the last
	// three reports of one kind of alarm came.
	{"call.open_at", Time, ScopeCase, "", "call"},
	{"call.open_words", Text, ScopeCase, "", "call"},
	{"call.danger", Text, ScopeCase, "", "danger questions of a call"},
	{"call.danger_at", Time, ScopeCase, "", "danger questions of a call"},
	// blood is "yes", "cannot tell", or empty when a call ruled it out or somebody looked since.
	{"call.blood", Text, ScopeCase, "", "look for blood in a call"},
	{"call.off_at", Time, ScopeCase, "", "call"},
	{"call.comes_planned", Bool, ScopeCase, "", "who comes, in the call"},
	{"call.comes_after_h", Number, ScopeCase, "h", "when somebody comes, in the call"},
	{"call.comes_at", Time, ScopeCase, "", "when somebody comes, in the call"},
	{"call.again_d", Number, ScopeCase, "d", "two calls with the same cause"},
	{"call.again_cause", Text, ScopeCase, "", "two calls with the same cause"},
	{"call.again_at", Time, ScopeCase, "", "two calls with the same cause"},
	{"alarm.thrice_h", Number, ScopeCase, "h", "three reports of one alarm"},
	{"alarm.thrice", Text, ScopeCase, "", "three reports of one alarm"},
	{"alarm.thrice_at", Time, ScopeCase, "", "three reports of one alarm"},

	{"seen.temperature_C", Number, ScopeCase, "°C", "temperature"},
	{"seen.temperature_at", Time, ScopeCase, "", "temperature"},
	{"seen.systolic_mmHg", Number, ScopeCase, "mmHg", "systolic blood pressure"},
	{"seen.systolic_rise_mmHg", Number, ScopeCase, "mmHg", "usual and present systolic blood pressure"},
	{"seen.systolic_at", Time, ScopeCase, "", "systolic blood pressure"},

	{"teach.last_at", Time, ScopeCase, "", "teaching"},
	{"teach.understood", Bool, ScopeCase, "", "answer to whether the teaching was understood"},
	{"teach.bleeding", Bool, ScopeCase, "", "teaching"},
	{"teach.alarms", Bool, ScopeCase, "", "teaching"},
	{"teach.whom_to_call", Bool, ScopeCase, "", "teaching"},
	{"person.has_call_number", Bool, ScopeCase, "", "people to call"},

	{"sign_off.last_at", Time, ScopeCase, "", "sign-off"},
	{"sign_off.due", Bool, ScopeCase, "", "a visit"},

	{"decision.made_at", Time, ScopeCase, "", "decision about the therapy"},
	{"decision.choice", Text, ScopeCase, "", "decision about the therapy"},
	{"decision.due_at", Time, ScopeCase, "", "day of the next decision"},

	{"case.unknown_entries", Number, ScopeCase, "", "entries"},
	{"case.conflicts", Number, ScopeCase, "", "entries"},
	{"case.conflicts_words", Text, ScopeCase, "", "entries"},

	{"wound.name", Text, ScopeWound, "", "wound"},
	{"wound.site", Text, ScopeWound, "", "wound"},
	{"wound.type", Text, ScopeWound, "", "type of the wound"},
	{"wound.stage", Text, ScopeWound, "", "stage of the wound"},
	{"wound.limb", Bool, ScopeWound, "", "answer to whether the wound is on a limb"},
	{"wound.circumferential", Bool, ScopeWound, "", "answer to whether the dressing goes all the way round"},
	{"wound.poor_perfusion", Bool, ScopeWound, "", "answer about the blood supply"},
	{"wound.infected", Bool, ScopeWound, "", "answer to whether the wound is infected"},
	{"wound.found", Bool, ScopeWound, "", "wound"},
	// under_therapy: the wound has a dressing, or an order in force covers it.
	{"wound.under_therapy", Bool, ScopeWound, "", "order or dressing for the wound"},

	{"wound.changed_at", Time, ScopeWound, "", "a dressing change"},
	{"wound.filler", Text, ScopeWound, "", "filler in the wound"},
	{"wound.pieces", Number, ScopeWound, "", "count of filler pieces"},
	{"wound.contact_layer", Bool, ScopeWound, "", "answer to whether a contact layer is in place"},

	// count_missing: pieces that went in, did not come out, and are not accounted for.
	{"wound.count_missing", Number, ScopeWound, "", "count of filler pieces"},
	{"wound.count_missing_words", Text, ScopeWound, "", "count of filler pieces"},
	{"wound.count_missing_at", Time, ScopeWound, "", "count of filler pieces"},
	// count_surplus: pieces that came out beyond those recorded as put in.
	{"wound.count_surplus", Number, ScopeWound, "", "count of filler pieces"},
	{"wound.count_surplus_words", Text, ScopeWound, "", "count of filler pieces"},
	{"wound.count_surplus_at", Time, ScopeWound, "", "count of filler pieces"},
	// count_unsure: a change was made at which pieces out or in were not counted, or the first count is not known.
	{"wound.count_unsure", Bool, ScopeWound, "", "count of filler pieces"},
	{"wound.count_unsure_at", Time, ScopeWound, "", "count of filler pieces"},

	{"wound.measured_at", Time, ScopeWound, "", "measurement"},
	{"wound.measured_count", Number, ScopeWound, "", "measurement"},
	{"wound.area_cm2", Number, ScopeWound, "cm²", "length and width"},
	{"wound.depth_cm", Number, ScopeWound, "cm", "depth"},
	{"wound.granulation_pct", Number, ScopeWound, "%", "tissue shares"},
	{"wound.eschar_pct", Number, ScopeWound, "%", "tissue shares"},
	{"wound.bed_level", Bool, ScopeWound, "", "answer to whether the bed is level"},
	{"wound.undermined", Bool, ScopeWound, "", "look for undermining and tunnels"},
	{"wound.method_mixed", Bool, ScopeWound, "", "two measurements"},
	// Changes against the newest measurement that is at least 14 days older and has the same method and
	// convention, in percent of the older; negative means smaller.
	{"wound.area_change_pct", Number, ScopeWound, "%", "two measurements of the same kind at least 14 days apart"},
	{"wound.depth_change_pct", Number, ScopeWound, "%", "two depths at least 14 days apart"},
	{"wound.compared_from", Time, ScopeWound, "", "two measurements of the same kind at least 14 days apart"},
	// From the fit to all sizes (docs/model/healing.md). The chances are over the two weeks up to the last size and are
	// known for three weeks after it.
	{"wound.chance_not_improving_pct", Number, ScopeWound, "%", "sizes from two visits, the last within three weeks"},
	{"wound.chance_growing_pct", Number, ScopeWound, "%", "sizes from two visits, the last within three weeks"},
	{"wound.sized_from", Time, ScopeWound, "", "measurement"},
	// odd_measurement names a value among the last three that is more likely wrong than not; empty is none.
	// photo_at is when the photo of the newest confirmed outline was taken, drawn_after_h how long after that it was drawn.
	{"wound.photo_at", Time, ScopeWound, "", "photo with a confirmed outline"},
	{"wound.drawn_after_h", Number, ScopeWound, "h", "photo with a confirmed outline"},
	// photo_waits_at is when the newest photo was taken, if nobody confirmed an outline on it.
	{"wound.photo_waits_at", Time, ScopeWound, "", "photo"},
	{"wound.ruler_to_outline", Bool, ScopeWound, "", "two measurements"},
	// What the newest two outlines say of the edge: where it stood still (empty when nowhere) while the rest moved in.
	{"wound.edge_still", Text, ScopeWound, "", "two outlines on photos with strips"},
	{"wound.edge_advance_mm", Number, ScopeWound, "mm", "two outlines on photos with strips"},
	{"wound.edge_from", Time, ScopeWound, "", "two outlines on photos with strips"},
	{"wound.edge_to", Time, ScopeWound, "", "two outlines on photos with strips"},

	{"wound.odd_measurement", Text, ScopeWound, "", "measurement"},
	{"wound.odd_at", Time, ScopeWound, "", "measurement"},
	// milestone_missed is the newest published marker that was due, was not met, and is not made up for since.
	{"wound.milestone_missed", Text, ScopeWound, "", "area near the day on which the marker was due"},
	{"wound.milestone_due_at", Time, ScopeWound, "", "day on which the marker was due"},
	{"wound.milestone_seen_pct", Number, ScopeWound, "%", "fall of the area"},
	{"wound.milestone_right", Text, ScopeWound, "", "share of patients for whom the marker was right"},
	// goal_met, and goal_by with its 80 % interval from goal_from to goal_to: only for a goal written as a size.
	{"wound.goal", Text, ScopeWound, "", "goal of the order as a size"},
	{"wound.goal_met", Bool, ScopeWound, "", "size that the goal asks for"},
	{"wound.goal_when", Text, ScopeWound, "", "forecast of the goal"},
	{"wound.goal_from", Time, ScopeWound, "", "forecast of the goal"},
	{"wound.goal_by", Time, ScopeWound, "", "forecast of the goal"},
	{"wound.goal_to", Time, ScopeWound, "", "forecast of the goal"},
	{"wound.goal_chance_pct", Number, ScopeWound, "%", "forecast of the goal"},
	// decided_since: a decision about the wound was recorded after its last measurement.
	{"wound.decided_since", Bool, ScopeWound, "", "decision about the therapy"},
	{"wound.periwound", Text, ScopeWound, "", "look of the skin around the wound"},
	{"wound.exudate", Text, ScopeWound, "", "amount of exudate"},
}, append(append(append(storesTerms(), logTerms...), seenTerms()...), generated()...)...)

// questionIDs are the screening questions of the case file, in its order.
var questionIDs = []string{
	"eschar", "osteomyelitis_untreated", "fistula_unexplored", "malignancy", "exposed_vessels", "exposed_nerves",
	"exposed_anastomosis", "exposed_organs",
	"bleeding_risk", "anticoagulant", "friable_vessels", "vascular_anastomosis",
	"infected_wound", "osteomyelitis", "near_structures", "sharp_edges", "enteric_fistula",
	"cord_injury", "size_and_weight", "vagus_nearby",
	"mri_planned", "hyperbaric_planned", "defibrillation_likely", "circumferential", "intermittent_mode",
	"not_debrided", "coagulopathy_untreated", "allergy", "active_bleeding", "inadequate_perfusion",
}

// signIDs are the danger signs of the case file as terms: spaces become underscores.
var signIDs = []string{
	"bright_red_blood", "sudden_colour_change", "spreading_redness", "warmth_or_swelling", "pus", "bad_smell",
	"dizzy_or_confused", "raw_or_blistered_skin", "macerated_skin", "pain_out_of_proportion", "cold_or_numb_limb",
	"headache", "flushing", "sweating", "slow_pulse", "bowel_content",
}

// generated lists, for every screening question, screen.<id> (yes, no, or unknown when not answered) and
// order.accepts_<id> (the prescriber confirmed that risk in writing); and for every danger sign sign.<id>
// (seen and not yet settled; unknown when the newest visit did not answer and the sign was never seen) and
// sign.<id>_at (when it was first seen since it was last settled).
func generated() []Term {
	var out []Term
	for _, q := range questionIDs {
		out = append(out,
			Term{"screen." + q, Bool, ScopeCase, "", "answer to the screening question"},
			Term{"order.accepts_" + q, Bool, ScopeCase, "", "order"})
	}
	for _, s := range signIDs {
		out = append(out,
			Term{"sign." + s, Bool, ScopeCase, "", "answer about danger signs at the last visit"},
			Term{"sign." + s + "_at", Time, ScopeCase, "", "answer about danger signs at the last visit"})
	}
	return out
}
