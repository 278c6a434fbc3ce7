package casebook

import (
	"encoding/json"
)

// EntryCorrected corrects the entry that Entry.Corrects names, for Entry.Reason.
//
//   - withdraw: the entry should not count. Withdrawing a correction undoes it.
//   - replace: Body (and At, if given) should have been written instead.
//   - moved out: the entry belongs to another patient's case, named in OtherCase; it no longer counts here.
//   - moved in: Original, withdrawn from the case named in OtherCase, counts here.
type EntryCorrected struct {
	Action string `json:"action" jsonschema:"required,enum=withdraw,enum=replace,enum=moved out,enum=moved in" words:"What is wrong"`
	// Body is the replacing body, of the same kind and version as the corrected entry's.
	Body json.RawMessage `json:"body,omitempty" words:"Corrected content"`
	// At is the replacing time, RFC 3339; empty keeps the old one.
	At        string `json:"at,omitempty" jsonschema:"format=date-time" words:"Corrected time"`
	OtherCase string `json:"other_case,omitempty" jsonschema:"maxLength=60" words:"The other case"`
	// Original is the whole entry that moved in.
	Original *Entry `json:"original,omitempty" words:"The moved entry"`
}

// Kind returns the kind of the entry.
func (EntryCorrected) Kind() Kind { return KindEntryCorrected }

// Versions holds the version that this program writes for each kind. Older versions stay readable: each
// has a fixture under testdata/versions.
var Versions = map[Kind]int{
	KindPersonRegistered: 1, KindWoundFound: 1, KindScreeningDone: 1, KindOrderWritten: 1, KindOrderStopped: 1,
	KindPumpAssigned: 1, KindPumpReturned: 1, KindDressingChanged: 1, KindPiecesAccounted: 1, KindWoundMeasured: 1,
	KindPhotoTaken: 1, KindOutlineTraced: 1,
	KindCanisterRead: 1, KindAlarmReported: 1, KindPowerNoted: 1, KindSupplyMoved: 1, KindTeachingGiven: 1,
	KindLogImported: 1, KindNoteWritten: 1, KindReviewSigned: 1, KindDecisionMade: 1, KindCallTaken: 1, KindPayerNoted: 1, KindTherapyEnded: 1, KindEntryCorrected: 1,
}

// bodies makes a body of each kind from JSON.
var bodies = map[Kind]func(json.RawMessage) (Body, error){
	KindPersonRegistered: as[PersonRegistered], KindWoundFound: as[WoundFound], KindScreeningDone: as[ScreeningDone],
	KindOrderWritten: as[OrderWritten], KindOrderStopped: as[OrderStopped], KindPumpAssigned: as[PumpAssigned],
	KindPumpReturned: as[PumpReturned], KindDressingChanged: as[DressingChanged], KindPiecesAccounted: as[PiecesAccounted],
	KindWoundMeasured: as[WoundMeasured],
	KindPhotoTaken:    as[PhotoTaken], KindOutlineTraced: as[OutlineTraced], KindCanisterRead: as[CanisterRead], KindAlarmReported: as[AlarmReported],
	KindPowerNoted: as[PowerNoted], KindLogImported: as[LogImported], KindSupplyMoved: as[SupplyMoved], KindTeachingGiven: as[TeachingGiven],
	KindNoteWritten: as[NoteWritten], KindReviewSigned: as[ReviewSigned], KindDecisionMade: as[DecisionMade], KindCallTaken: as[CallTaken], KindPayerNoted: as[PayerNoted], KindTherapyEnded: as[TherapyEnded],
}

func init() {
	// Added here because EntryCorrected holds an Entry, whose decoder reads this table.
	bodies[KindEntryCorrected] = as[EntryCorrected]
}

func as[T Body](raw json.RawMessage) (Body, error) {
	var b T
	err := json.Unmarshal(raw, &b)
	return b, err
}

// NewBody returns a pointer to an empty body of the kind, or nil when the kind is not known.
func NewBody(kind Kind) any {
	switch kind {
	case KindPersonRegistered:
		return new(PersonRegistered)
	case KindWoundFound:
		return new(WoundFound)
	case KindScreeningDone:
		return new(ScreeningDone)
	case KindOrderWritten:
		return new(OrderWritten)
	case KindOrderStopped:
		return new(OrderStopped)
	case KindPumpAssigned:
		return new(PumpAssigned)
	case KindPumpReturned:
		return new(PumpReturned)
	case KindDressingChanged:
		return new(DressingChanged)
	case KindPiecesAccounted:
		return new(PiecesAccounted)
	case KindWoundMeasured:
		return new(WoundMeasured)
	case KindPhotoTaken:
		return new(PhotoTaken)
	case KindOutlineTraced:
		return new(OutlineTraced)
	case KindCanisterRead:
		return new(CanisterRead)
	case KindAlarmReported:
		return new(AlarmReported)
	case KindPowerNoted:
		return new(PowerNoted)
	case KindLogImported:
		return new(LogImported)
	case KindSupplyMoved:
		return new(SupplyMoved)
	case KindTeachingGiven:
		return new(TeachingGiven)
	case KindNoteWritten:
		return new(NoteWritten)
	case KindReviewSigned:
		return new(ReviewSigned)
	case KindDecisionMade:
		return new(DecisionMade)
	case KindCallTaken:
		return new(CallTaken)
	case KindPayerNoted:
		return new(PayerNoted)
	case KindTherapyEnded:
		return new(TherapyEnded)
	case KindEntryCorrected:
		return new(EntryCorrected)
	}
	return nil
}

// Kinds lists every kind in the order in which a nurse meets them.
var Kinds = []Kind{
	KindPersonRegistered, KindWoundFound, KindScreeningDone, KindOrderWritten, KindOrderStopped, KindPumpAssigned,
	KindPumpReturned, KindDressingChanged, KindPiecesAccounted, KindWoundMeasured, KindPhotoTaken, KindOutlineTraced, KindCanisterRead, KindAlarmReported,
	KindPowerNoted, KindLogImported, KindSupplyMoved, KindTeachingGiven, KindNoteWritten, KindReviewSigned, KindDecisionMade, KindCallTaken, KindPayerNoted, KindTherapyEnded, KindEntryCorrected,
}
