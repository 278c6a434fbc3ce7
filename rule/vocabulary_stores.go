package rule

// storesTerms lists the terms about payers and supplies. Those that start with "stock." are never set for a case: they
// are judged on the Stores page, once for each item and once for each lot.
func storesTerms() []Term {
	return []Term{
		{"payer.name", Text, ScopeCase, "", "payer"},
		{"payer.undocumented", Number, ScopeCase, "", "payer"},
		{"payer.undocumented_words", Text, ScopeCase, "", "payer"},
		{"payer.barred", Text, ScopeCase, "", "answer to the screening questions that the payer goes by"},
		// ends_at is the earlier of the readings of the payer's text.
		{"payer.ends_at", Time, ScopeCase, "", "start of therapy"},
		{"payer.ends_words", Text, ScopeCase, "", "start of therapy"},
		{"payer.trial_ends_at", Time, ScopeCase, "", "start of therapy"},
		{"payer.canisters_limit", Number, ScopeCase, "", "payer"},
		{"payer.canisters_used", Number, ScopeCase, "", "canister changes"},
		{"payer.canisters_expected", Number, ScopeCase, "", "canister changes"},
		{"payer.high_output", Bool, ScopeCase, "", "two canister readings in the payer's month"},
		{"wound.kits_limit", Number, ScopeWound, "", "payer"},
		{"wound.kits_used", Number, ScopeWound, "", "dressing changes"},
		{"wound.kits_expected", Number, ScopeWound, "", "dressing changes"},
		{"wound.measure_by", Time, ScopeWound, "", "measurement"},
		// payer_progress compares two sizes at least the payer's month apart, as the payer does.
		{"wound.payer_progress", Bool, ScopeWound, "", "two sizes a month apart"},

		// recalled names recalled lots that the patient has, or may have in the dressing; empty is none.
		{"supply.recalled", Text, ScopeCase, "", "supplies"},
		{"supply.recall_words", Text, ScopeCase, "", "supplies"},

		{"stock.words", Text, ScopeCase, "", "item"},
		{"stock.on_hand", Number, ScopeCase, "", "stock"},
		{"stock.reorder_at", Number, ScopeCase, "", "lead time and service level"},
		{"stock.use_words", Text, ScopeCase, "", "use of the coming week"},
		{"stock.lot_words", Text, ScopeCase, "", "lot"},
		{"stock.lot_where", Text, ScopeCase, "", "place"},
		{"stock.lot_count", Number, ScopeCase, "", "stock"},
		{"stock.expires_at", Time, ScopeCase, "", "date of expiry"},
		{"stock.left", Number, ScopeCase, "", "date of expiry"},
		{"stock.recalled", Bool, ScopeCase, "", "recall"},
		{"stock.recall_words", Text, ScopeCase, "", "recall"},
		{"stock.recall_patients", Number, ScopeCase, "", "recall"},
	}
}
