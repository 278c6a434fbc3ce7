package value

// The shared values that the program itself asks for. Rules and sentences name theirs by ID alone.
const (
	OffLimit         ID = "off_limit"
	CanisterStay     ID = "canister_stay"
	FillChance       ID = "fill_chance"
	BleedOutput      ID = "bleed_output"
	ChangeFirst      ID = "change_first"
	ChangeLast       ID = "change_last"
	StallChance      ID = "stall_chance"
	SameCause        ID = "same_cause"
	PayerEndNear     ID = "payer_end_near"
	ReadingsApart    ID = "readings_apart"
	ProgressWindow   ID = "progress_window"
	PumpHours        ID = "pump_hours"
	SuctionSeen      ID = "suction_seen"
	SizeFresh        ID = "size_fresh"
	SizeUsable       ID = "size_usable"
	ProgressShortest ID = "progress_shortest"
	BatteryWarns     ID = "battery_warns"
	BatteryLow       ID = "battery_low"
	CanisterFull     ID = "canister_full"
	PumpTolerance    ID = "pump_tolerance"
	MarkerShare      ID = "marker_share"
	MarkerTime       ID = "marker_time"
)
