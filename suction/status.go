package suction

// Status is the outcome of a run in one word; Sentence in the result says it for a nurse.
type Status string

// Outcomes, worst first where several apply.
const (
	// CannotTell: the program or the path makes no sense, or the work was too much; figures are zero.
	CannotTell Status = "cannot tell"
	// CanisterFull: no gas is left in the canister; the wound gets nothing in this model.
	CanisterFull Status = "canister full"
	// NoVoid: neither void nor tube has room for gas; figures rest on a made-up smallest volume.
	NoVoid Status = "no void"
	// OrderTooDeep: the pump cannot go as deep as a stage asks even with a perfect seal.
	OrderTooDeep Status = "order too deep"
	// LeakAbovePump: the leak takes more than the pump can give at a stage's depth.
	LeakAbovePump Status = "leak above pump"
	// OffOrder: a stage is reached but not held: the wound settles more than half a band deeper or shallower.
	OffOrder Status = "off the order"
	// NotReached: a stage is not reached at the wound, for another reason than those above.
	NotReached Status = "stage not reached"
	// OK: every stage is reached at the wound.
	OK Status = "ok"
)
