package fluid

// Status says how far a forecast can be used.
type Status string

const (
	// OK: nothing known stands against the forecast.
	OK Status = "ok"
	// FewReadings: fewer than two intervals were read; the forecast leans on published outputs and is wide.
	FewReadings Status = "few_readings"
	// Ask: a reading is lower than one before it and no change is recorded; the forecast keeps every explanation
	// and is wide until somebody answers.
	Ask Status = "ask"
	// Paused: therapy is paused; the forecast counts as if it went on now.
	Paused Status = "paused"
	// MayBeFull: the canister has by now filled with a chance of one in ten or more.
	MayBeFull Status = "may_be_full"
	// Full: the latest reading is at or above the usable volume.
	Full Status = "full"
	// CannotTell: the filling time cannot be computed; the sentence says why. The rest is computed where it can be.
	CannotTell Status = "cannot_tell"
)
