package casebook

import "time"

// Dated is a body with the entry that it came from. At is the effective time, after corrections.
type Dated[T any] struct {
	ID       string
	At       time.Time
	Recorded time.Time
	Author   string
	// Came says that it came by file; nil for what was written here.
	Came *Came
	Body T
}

// Case is what the entries of one patient's therapy fold to. Every list is ordered by time. A Case is not
// modified after folding and may be shared.
type Case struct {
	ID string
	// Head is a hash over the set of entries: equal sets have equal heads, whatever their order.
	Head string
	// Zone is the time zone in which the patient's days are counted: UTC when ZoneKnown is false.
	Zone      *time.Location
	ZoneKnown bool
	// Log has every entry, also those that were corrected or are not known.
	Log []Line

	Person     *Dated[PersonRegistered]
	Wounds     []Wound
	Photos     []Photo
	Screenings []Dated[ScreeningDone]
	Orders     []Order
	Pumps      []PumpUse
	Changes    []Dated[DressingChanged]
	// Canister has the readings of canister.read entries and those made with a dressing change.
	Canister []Dated[CanisterRead]
	// Seen has what was looked for at dressing changes and in notes.
	Seen   []Dated[Seen]
	Alarms []Dated[AlarmReported]
	// Power has the notes of power.noted entries and those made with a dressing change.
	Power []Dated[PowerNoted]
	// Logs are the pump logs that were read.
	Logs      []ImportedLog
	Supplies  []Dated[SupplyMoved]
	Teaching  []Dated[TeachingGiven]
	Notes     []Dated[NoteWritten]
	Signed    []Dated[ReviewSigned]
	Decisions []Dated[DecisionMade]
	// Settled says which of entries that contradict each other is right.
	Settled []Dated[ContradictionSettled]
	// Calls are ordered by when they began.
	Calls []Call
	// Payer is the newest payer.noted.
	Payer *Dated[PayerNoted]
	// Blob reads the content of a blob that an entry of the case names. Whoever folds a case beside a store sets it; nil
	// when there is none to read from: then what rests on a blob cannot be told. A blob is named by its content, so a
	// case with Blob is still one value.
	Blob func(hash string) ([]byte, error)
	// Ended is the newest therapy.ended that no later order.written reopened.
	Ended *Dated[TherapyEnded]

	// UnknownEntries counts entries of kinds or versions that this program does not know; Conflicts counts
	// IDs that arrived with different contents.
	UnknownEntries int
	Conflicts      int
}

// State says what counts of an entry.
type State string

// The states of a line in the log.
const (
	InForce    State = "in force"
	Replaced   State = "replaced"
	Withdrawn  State = "withdrawn"
	MovedOut   State = "moved out"
	MovedIn    State = "moved in"
	Correction State = "correction"
)

// Line is an entry in the log, with what became of it.
type Line struct {
	Entry Entry
	State State
	// Now is the body that counts: the replacing one when replaced, nil when nothing counts.
	Now Body
	// At is the time that counts.
	At time.Time
	// By lists the corrections in force that name this entry, oldest first.
	By []string
	// Conflict tells that the same ID also arrived with other content.
	Conflict bool
}

// Order is an order with its end, if another order or an order.stopped ended it.
type Order struct {
	Dated[OrderWritten]
	EndedAt *time.Time
	// EndedBy is the entry that ended it.
	EndedBy string
}

// PumpUse is a pump with the patient from Assigned until Returned.
type PumpUse struct {
	Assigned Dated[PumpAssigned]
	Returned *Dated[PumpReturned]
}

// Wound is everything recorded of one wound. Found is nil when entries name a wound that nobody opened.
type Wound struct {
	Name  string
	Found *Dated[WoundFound]
	// Measured has the sizes of wound.measured and of outlines, each under its own entry's ID.
	Measured []Dated[WoundMeasured]
	Outlines []Outline
	// LostOutlines are entries of outlines without a size: see Case.joinOutlines.
	LostOutlines []string
	Changes      []Dated[WoundChange]
	Accounts     []Dated[PiecesAccounted]
	Count        Count
}

// Order returns the order in force, or nil.
func (c *Case) Order() *Order {
	if n := len(c.Orders); n > 0 && c.Orders[n-1].EndedAt == nil {
		return &c.Orders[n-1]
	}
	return nil
}

// Wound returns the wound with the name, or nil.
func (c *Case) Wound(name string) *Wound {
	for i := range c.Wounds {
		if c.Wounds[i].Name == name {
			return &c.Wounds[i]
		}
	}
	return nil
}

// Day returns the start of the patient's calendar day that holds t. On days when clocks change it is the
// instant at which that date begins, so days of 23 and 25 hours come out right.
func (c *Case) Day(t time.Time) time.Time {
	y, m, d := t.In(c.Zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, c.Zone)
}

// NextDay returns the start of the calendar day after the one that holds t.
func (c *Case) NextDay(t time.Time) time.Time {
	y, m, d := t.In(c.Zone).Date()
	return time.Date(y, m, d+1, 0, 0, 0, 0, c.Zone)
}

// Line returns the log line of the entry, or nil.
func (c *Case) Line(id string) *Line {
	for i := range c.Log {
		if c.Log[i].Entry.ID == id {
			return &c.Log[i]
		}
	}
	return nil
}
