package casebook

import (
	"encoding/json"
	"sort"
)

// Kind names what an entry tells, in the past tense. The strings are part of the file format and never change.
type Kind string

// The kinds of entries.
const (
	KindPersonRegistered Kind = "person.registered"
	KindWoundFound       Kind = "wound.found"
	KindScreeningDone    Kind = "screening.done"
	KindOrderWritten     Kind = "order.written"
	KindOrderStopped     Kind = "order.stopped"
	KindPumpAssigned     Kind = "pump.assigned"
	KindPumpReturned     Kind = "pump.returned"
	KindDressingChanged  Kind = "dressing.changed"
	KindPiecesAccounted  Kind = "pieces.accounted"
	KindWoundMeasured    Kind = "wound.measured"
	KindPhotoTaken       Kind = "photo.taken"
	KindOutlineTraced    Kind = "outline.traced"
	KindCanisterRead     Kind = "canister.read"
	KindAlarmReported    Kind = "alarm.reported"
	KindPowerNoted       Kind = "power.noted"
	KindLogImported      Kind = "log.imported"
	KindSupplyMoved      Kind = "supply.moved"
	KindTeachingGiven    Kind = "teaching.given"
	KindNoteWritten      Kind = "note.written"
	KindReviewSigned     Kind = "review.signed"
	KindDecisionMade     Kind = "decision.made"
	KindCallTaken        Kind = "call.taken"
	KindPayerNoted       Kind = "payer.noted"
	KindTherapyEnded     Kind = "therapy.ended"
	KindEntryCorrected   Kind = "entry.corrected"
)

// Row is a kind of entry. Its decoder, checks, form, place in the menus, words, schema and exchange follow from the row
// and from the tags of the body: docs/decisions/0030-kinds.md says how a kind is added. [Of] makes a row.
type Row struct {
	// Name, New and Fold are set by [Of]: New returns a pointer to an empty body, Fold adds what a body says to the case.
	// Lines are folded in the order of time; those that do not count are not folded.
	Name Kind
	New  func() any
	Fold func(*Folding, *Line, Body)
	// Version is what this program writes. A body of another version is kept, and shown as not known.
	Version int
	// Title is what a nurse calls such an entry.
	Title string
	Menu  Menu
	// Prescriber says that a prescriber may write it too; a nurse may write every kind.
	Prescriber bool
	// Since is the day on which the kind joined the file format.
	Since string

	decode func(json.RawMessage) (Body, error)
}

// Menu is where a kind is offered. A kind without a group is offered nowhere: another page writes it.
type Menu struct {
	Group Group
	// For says when it is written.
	For string
	// Page is the page of the case on which writing it begins; empty for the form that is drawn from the tags. Only says
	// that no other page can write it.
	Page string
	Only bool
	// Place orders the kinds in the group, Button those on the page of the case. Zero comes last, in the order of the table.
	Place, Button int
}

// Group is a part of the menu.
type Group string

// Groups lists the parts of the menu in their order.
var Groups = []Group{MenuBedside, MenuTherapy, MenuPump, MenuPatient}

// The parts of the menu.
const (
	MenuBedside Group = "At the bedside"
	MenuTherapy Group = "Therapy"
	MenuPump    Group = "Pump and supplies"
	MenuPatient Group = "Patient"
)

// Of completes a row with what follows from the type of its body and from the function that folds it.
func Of[T Body](fold func(*Folding, *Line, T), row Row) Row {
	var zero T
	row.Name, row.decode = zero.Kind(), as[T]
	row.New = func() any { return new(T) }
	row.Fold = func(f *Folding, l *Line, b Body) {
		if b, ok := b.(T); ok {
			fold(f, l, b)
		}
	}
	return row
}

func as[T Body](raw json.RawMessage) (Body, error) {
	var b T
	err := json.Unmarshal(raw, &b)
	return b, err
}

// first is the day of the first version of the file format.
const first = "2026-11-25"

// Table has a row for every kind, in the order in which a nurse meets them. Nothing adds to it while the program runs.
var Table = []Row{
	Of(foldPersonRegistered, Row{Version: 1, Since: first, Title: "Patient",
		Menu: Menu{Group: MenuPatient, Place: 1, Button: 16, For: "name, place, people to call: a change of any of them"}}),
	Of(foldWoundFound, Row{Version: 1, Since: first, Title: "Wound",
		Menu: Menu{Group: MenuPatient, Place: 2, Button: 11, For: "another wound, or a change in what is known of one"}}),
	Of(foldScreeningDone, Row{Version: 1, Since: first, Title: "Screening",
		Menu: Menu{Group: MenuTherapy, Place: 1, Button: 9, For: "may this patient have the therapy"}}),
	Of(foldOrderWritten, Row{Version: 1, Since: first, Title: "Order", Prescriber: true,
		Menu: Menu{Group: MenuTherapy, Place: 2, Button: 7, For: "what the prescriber ordered; a new order replaces the one before"}}),
	Of(foldOrderStopped, Row{Version: 1, Since: first, Title: "Order stopped", Prescriber: true,
		Menu: Menu{Group: MenuTherapy, Place: 3, Button: 8, For: "the prescriber stopped the order"}}),
	Of(foldPumpAssigned, Row{Version: 1, Since: first, Title: "Pump given",
		Menu: Menu{Group: MenuPump, Place: 1, Button: 12, For: "a pump went to the patient"}}),
	Of(foldPumpReturned, Row{Version: 1, Since: first, Title: "Pump returned",
		Menu: Menu{Group: MenuPump, Place: 2, Button: 13, For: "the pump came back"}}),
	Of(foldDressingChanged, Row{Version: 1, Since: first, Title: "Visit",
		Menu: Menu{Group: MenuBedside, Place: 1, Page: "visit", Only: true, For: "the dressing was changed: pieces out and in, seal, signs, canister, next visit"}}),
	Of(foldPiecesAccounted, Row{Version: 1, Since: first, Title: "Filler accounted for",
		Menu: Menu{Group: MenuBedside, Place: 9, Button: 6, For: "where missing pieces of filler are, or that a count was wrong"}}),
	Of(foldWoundMeasured, Row{Version: 1, Since: first, Title: "Measurement",
		Menu: Menu{Group: MenuBedside, Place: 2, Button: 3, For: "a size of a wound without a change of dressing"}}),
	Of(foldPhotoTaken, Row{Version: 1, Since: first, Title: "Photo",
		Menu: Menu{Group: MenuBedside, Place: 3, Page: "photo", Only: true, For: "a photo of a wound, and its sizes by drawing around it"}}),
	Of(foldOutlineTraced, Row{Version: 1, Since: first, Title: "Outline",
		Menu: Menu{Page: "photo", Only: true}}),
	Of(foldCanisterRead, Row{Version: 1, Since: first, Title: "Canister",
		Menu: Menu{Group: MenuBedside, Place: 4, Button: 1, For: "what stands in the canister, or that a new one went in"}}),
	Of(foldAlarmReported, Row{Version: 1, Since: first, Title: "Alarm",
		Menu: Menu{Group: MenuBedside, Place: 7, Button: 2, For: "somebody saw or heard an alarm"}}),
	Of(foldPowerNoted, Row{Version: 1, Since: first, Title: "Battery and power",
		Menu: Menu{Group: MenuBedside, Place: 5, Button: 4, For: "battery, mains, therapy on or off"}}),
	Of(foldLogImported, Row{Version: 1, Since: first, Title: "Pump log",
		Menu: Menu{Group: MenuPump, Place: 3, Page: "pump-log", Only: true, For: "what the pump wrote down: time on and off, leaks, blockages, battery"}}),
	Of(foldSupplyMoved, Row{Version: 1, Since: first, Title: "Supplies",
		Menu: Menu{Group: MenuPump, Place: 4, Button: 14, For: "supplies came or went"}}),
	Of(foldTeachingGiven, Row{Version: 1, Since: first, Title: "Teaching",
		Menu: Menu{Group: MenuBedside, Place: 10, Button: 10, For: "what was explained to patient, carer or staff"}}),
	Of(foldNoteWritten, Row{Version: 1, Since: first, Title: "Note",
		Menu: Menu{Group: MenuBedside, Place: 8, Button: 5, For: "a talk, a telephone call, signs seen or dealt with, a planned visit"}}),
	Of(foldReviewSigned, Row{Version: 1, Since: first, Title: "Sign-off", Prescriber: true,
		Menu: Menu{Group: MenuTherapy, Place: 6, Page: "sign", Only: true, For: "you read the review and put your name to it"}}),
	Of(foldDecisionMade, Row{Version: 1, Since: first, Title: "Decision", Prescriber: true,
		Menu: Menu{Group: MenuTherapy, Place: 4, Page: "decision", For: "what was decided about going on, with reasons and what is not certain"}}),
	Of(foldCallTaken, Row{Version: 1, Since: first, Title: "Call",
		Menu: Menu{Group: MenuBedside, Place: 6, Page: "call", For: "somebody is on the telephone about the pump or its alarm"}}),
	Of(foldPayerNoted, Row{Version: 1, Since: first, Title: "Payer",
		Menu: Menu{Group: MenuPump, Place: 5, Button: 15, For: "who pays, since when, and what the record shows of what they ask for"}}),
	Of(foldTherapyEnded, Row{Version: 1, Since: first, Title: "End of therapy",
		Menu: Menu{Group: MenuTherapy, Place: 5, Button: 17, For: "therapy is over, and why"}}),
	Of(foldContradictionSettled, Row{Version: 1, Since: "2026-11-30", Title: "Contradiction settled", Menu: Menu{Page: "asked", Only: true}}),
	Of(foldEntryCorrected, Row{Version: 1, Since: first, Title: "Correction"}),
}

// Find returns the row of the kind, or nil when this program does not know it.
func Find(kind Kind) *Row {
	for i := range Table {
		if Table[i].Name == kind {
			return &Table[i]
		}
	}
	return nil
}

// Kinds lists every kind in the order in which a nurse meets them.
func Kinds() []Kind {
	out := make([]Kind, len(Table))
	for i := range Table {
		out[i] = Table[i].Name
	}
	return out
}

// Version returns the version that this program writes of the kind; 0 when it is not known.
func Version(kind Kind) int {
	if k := Find(kind); k != nil {
		return k.Version
	}
	return 0
}

// NewBody returns a pointer to an empty body of the kind, or nil when the kind is not known.
func NewBody(kind Kind) any {
	if k := Find(kind); k != nil {
		return k.New()
	}
	return nil
}

// InGroup returns the kinds of a part of the menu, in their order there.
func InGroup(g Group) []Row {
	return offered(func(m Menu) bool { return m.Group == g }, func(m Menu) int { return m.Place })
}

// Buttons returns the kinds that the page of a case offers one by one: those that begin with the general form.
func Buttons() []Row {
	return offered(func(m Menu) bool { return m.Group != "" && m.Page == "" }, func(m Menu) int { return m.Button })
}

// offered picks rows and orders them by place; those without one come last.
func offered(pick func(Menu) bool, place func(Menu) int) []Row {
	var out []Row
	for _, k := range Table {
		if pick(k.Menu) {
			out = append(out, k)
		}
	}
	sort.SliceStable(out, func(i, j int) bool {
		a, b := place(out[i].Menu), place(out[j].Menu)
		return a != 0 && (b == 0 || a < b)
	})
	return out
}
