package rule

// logTerms are what the logs of the pumps with the patient tell: of several pumps the one whose log looks worse. They
// are of the last week of the log, and of what came after the last dressing change where a change settles the matter.
var logTerms = []Term{
	{"log.exists", Bool, ScopePump, "", "log of the pump"},
	{"log.pump", Text, ScopePump, "", "log of the pump"},
	{"log.read_at", Time, ScopePump, "", "log of the pump"},
	// log.to is the last reading; log.why says why readings cannot be had.
	{"log.to", Time, ScopePump, "", "log of the pump"},
	{"log.why", Text, ScopePump, "", "reason why the log cannot be read"},
	{"log.covered_pct", Number, ScopePump, "%", "readings of the pump's log"},
	// log.most_h is the mean of the hours a day that can have been at the ordered suction, unknown time counted as so.
	{"log.most_h", Number, ScopePump, "h", "whole day in the pump's log under an order"},
	{"log.days", Number, ScopePump, "", "whole day in the pump's log under an order"},
	{"log.low_day", Text, ScopePump, "", "whole day in the pump's log under an order"},
	// log.off_h is the longest time off under the dressing now on, log.off_most_h with the unknown time beside it.
	{"log.off_h", Number, ScopePump, "h", "readings of the pump's log"},
	{"log.off_most_h", Number, ScopePump, "h", "readings of the pump's log"},
	{"log.off_at", Time, ScopePump, "", "readings of the pump's log"},
	{"log.leak_growing", Bool, ScopePump, "", "flow or motor's share in the pump's log, over two days under this dressing"},
	{"log.leak_growth_pct", Number, ScopePump, "%", "flow or motor's share in the pump's log"},
	{"log.leak_words", Text, ScopePump, "", "flow or motor's share in the pump's log"},
	{"log.blockages", Number, ScopePump, "", "flow or motor's share in the pump's log"},
	{"log.blockage_h", Number, ScopePump, "h", "flow or motor's share in the pump's log"},
	{"log.blockage_at", Time, ScopePump, "", "flow or motor's share in the pump's log"},
	{"log.alarms", Number, ScopePump, "", "alarms in the pump's log"},
	{"log.alarm", Text, ScopePump, "", "alarms in the pump's log"},
	{"log.alarm_at", Time, ScopePump, "", "alarms in the pump's log"},
	{"log.battery_left_pct", Number, ScopePump, "%", "six discharges over two weeks in the pump's log"},
	{"log.ageing", Text, ScopePump, "", "six discharges over two weeks in the pump's log"},
	{"log.other_program", Bool, ScopePump, "", "steady suction in the pump's log under the order in force"},
	{"log.pattern", Text, ScopePump, "", "steady suction in the pump's log under the order in force"},
	{"log.mean_off_pct", Number, ScopePump, "%", "suction in the pump's log under the order in force"},
	{"log.mean_mmHg", Number, ScopePump, "mmHg", "suction in the pump's log under the order in force"},
	{"log.ordered_mmHg", Number, ScopePump, "mmHg", "suction in the pump's log under the order in force"},
}
