package demo

// patients are the invented people, each with what their case is there to show.
var patients = []patient{
	{"Edda Farrow", "1958-04-11", "home", "3 Lantern Row", "therapy that goes well", goesWell},
	{"Osric Pell", "1949-09-02", "home", "17 Saltmarsh Lane", "a piece of filler is missing", missingPiece},
	{"Halina Wroble", "1962-01-25", "home", "8 Ferry Steps", "the battery ran out in the night", flatBattery},
	{"Bram Achterberg", "1951-12-07", "ward", "Ward 6, bed 12", "bright red blood in the canister", bleeding},
	{"Ines Caldeira", "1970-06-30", "nursing home", "Windmill House, room 9", "a full canister, and a pump that was off over supper", fullCanister},
	{"Jonah Thistlewood", "1944-03-18", "home", "Upper Mill Cottage", "the order was stopped and nobody came", lostFromSight},
	// Who this is nobody knows yet.
	{"", "", "", "", "came in the night with a dressing on and no papers", noPapers},
	{"Magnus Eklund", "1955-08-21", "ward", "Ward 6, bed 3", "a referral that must not start", mustNotStart},
	{"Coralie Duquesne", "1973-02-14", "ward", "Ward 9, bed 1", "cancer and exposed structures after bowel surgery", exposed},
	{"Tobias Wendt", "1947-11-29", "nursing home", "Windmill House, room 14", "a visit was missed, and nobody there knows what to do", missedVisit},
	{"Aoife Gallagher", "1961-05-05", "home", "Cloud Farm, above the pass", "risks that the prescriber has not confirmed, a rest that the wound may never get, thin air", openRisks},
	{"Desmond Achebe", "1953-07-17", "home", "5 Anchor Close", "risks confirmed in writing, suction off for an hour", acceptedRisks},
	{"Signe Haugland", "1968-03-03", "home", "Old Customs House, flat 2", "an order of 12.5: kilopascals, or a slip of the decimal point", smallOrder},
	{"Ruben Castellanos", "1959-12-19", "ward", "Ward 2, bed 11", "an order of 1250, without prescriber and interval", largeOrder},
	{"Nell Hargreave", "1975-01-08", "home", "40 Tanner Street", "a minus sign in the order, two pumps on record", minusSign},
	{"Kofi Mensah-Lowe", "1964-09-27", "home", "11 Capstan Court", "an order in centimetres of water typed as mmHg", waterOrder},
	{"Lotte Vandermeer", "2019-02-20", "ward", "Ward 5 (children), bed 2", "a child, and a limb with poor blood supply", child},
	{"Wilfred Oakshott", "1950-10-31", "nursing home", "Windmill House, room 3", "dense foam at a suction that it may not pass on", denseFoam},
	{"Yasmin Bello", "1987-04-04", "home", "6 Harbour View", "spinal cord injury with a sudden rise of blood pressure", dysreflexia},
	{"Gregor Malik", "1956-06-12", "home", "29 Netmakers Yard", "infection signs and fever", infection},
	{"Henrietta Swann", "1948-08-08", "home", "The Pilot's House", "bed level and granulated, little output", goalMet},
	{"Casimir Nowak", "1960-02-28", "home", "14 Breakwater Road", "a foot wound that grows", stalled},
	{"Beatrix Lund", "1952-05-23", "nursing home", "Windmill House, room 20", "therapy ended, pump and dressing still there", ended},
	{"Abel Quarrington", "1946-07-01", "home", "1 Signal Hill", "a record that does not add up", muddled},
}
