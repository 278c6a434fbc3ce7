package rule

// seenTerms are what a look at the wound says, how it compares with the look before, and what the record says twice.
func seenTerms() []Term {
	return []Term{
		// longest_off_h is the longest run of stages without suction in one cycle of the program, its end joined to its start.
		{"order.longest_off_h", Number, ScopeCase, "h", "suction and hold of every stage in the order"},
		{"order.contact_layer", Text, ScopeCase, "", "contact layer in the order"},
		// mixed_words names the wounds that one pump draws on when some are infected and some are clean; empty when there are none.
		{"pump.mixed_words", Text, ScopePump, "", "infection of every wound on the pump"},
		// hour_mL is the least that came within some hour that ended with the newest reading.
		{"fluid.hour_mL", Number, ScopeCanister, "mL", "two canister readings"},
		{"fluid.hour_words", Text, ScopeCanister, "", "two canister readings"},
		{"fluid.hour_at", Time, ScopeCanister, "", "two canister readings"},
		// open_hard_where says for which wounds the answers are missing, empty when for all.
		{"screen.open_hard_where", Text, ScopeCase, "", "screening"},
		// drug_words is the drug against clotting that the newest note names without saying whether it is new.
		{"note.drug_words", Text, ScopeCase, "", "note"},
		{"note.drug_at", Time, ScopeCase, "", "note"},

		{"wound.bed", Text, ScopeWound, "", "look of the bed"},
		{"wound.bed_at", Time, ScopeWound, "", "look of the bed"},
		{"wound.ordered", Bool, ScopeWound, "", "order"},
		// The screening's answers for this wound.
		{"wound.answered_eschar", Bool, ScopeWound, "", "answer about eschar"},
		{"wound.answered_organs", Bool, ScopeWound, "", "answer about open organs"},
		{"wound.answered_near", Bool, ScopeWound, "", "answer about structures close to the surface"},
		{"wound.answered_supply", Bool, ScopeWound, "", "answer about the blood supply in the screening"},
		// count_told says which surgeon was told last of pieces that do not add up; empty when none was.
		{"wound.count_told", Text, ScopeWound, "", "count of filler pieces"},
		// grew: the newest size is larger or deeper than the one of an earlier day by more than twice the error of both.
		{"wound.grew", Bool, ScopeWound, "", "sizes of two days"},
		{"wound.grew_much", Bool, ScopeWound, "", "sizes of two days"},
		{"wound.grew_words", Text, ScopeWound, "", "sizes of two days"},
		{"wound.grew_method", Text, ScopeWound, "", "sizes of two days"},
		{"wound.grew_from", Time, ScopeWound, "", "sizes of two days"},
		{"wound.grew_at", Time, ScopeWound, "", "sizes of two days"},
		// What the newest look for undermining and tunnels found that the one before had not; empty is nothing.
		{"wound.tunnel_new", Text, ScopeWound, "", "two looks for undermining and tunnels"},
		{"wound.under_more", Text, ScopeWound, "", "two looks for undermining and tunnels"},
		{"wound.under_at", Time, ScopeWound, "", "two looks for undermining and tunnels"},
	}
}
