package stock

import (
	"time"

	"lowtide/casebook"
)

// Register is the program's own case that holds the stock.
const Register = "~stores"

// Kinds of the register's entries.
const (
	KindMoved    casebook.Kind = "stock.moved"
	KindCounted  casebook.Kind = "stock.counted"
	KindRecalled casebook.Kind = "lot.recalled"
	KindPlanned  casebook.Kind = "stock.planned"
	KindPacked   casebook.Kind = "bag.packed"
)

// Places beside a nurse's car, which is [Car]. Outside is the supplier, and where thrown-away stock goes.
const (
	Shelf   = "shelf"
	Outside = "outside"
)

// Car is the place that is a person's car.
func Car(account string) string { return "car " + account }

// Moved is stock that went from one place to another: a delivery comes from Outside, what is thrown away goes there.
type Moved struct {
	Item  string `json:"item"`
	Count int    `json:"count"`
	From  string `json:"from"`
	To    string `json:"to"`
	Lot   string `json:"lot,omitempty"`
	// Expires is the day from which it may not be used.
	Expires string `json:"expires,omitempty"`
	Note    string `json:"note,omitempty"`
}

// Counted is what somebody counted of a lot (empty: of what has no lot) of an item at a place. What was written before
// does not count for it any more.
type Counted struct {
	Place   string `json:"place"`
	Item    string `json:"item"`
	Lot     string `json:"lot,omitempty"`
	Expires string `json:"expires,omitempty"`
	Count   int    `json:"count"`
	Note    string `json:"note,omitempty"`
}

// Recalled says that a lot must not be used, or, with Lifted, that it may again.
type Recalled struct {
	Item   string `json:"item,omitempty"`
	Lot    string `json:"lot"`
	Lifted bool   `json:"lifted,omitempty"`
	// By is who recalled it and Note what they ask for.
	By   string `json:"by"`
	Note string `json:"note,omitempty"`
}

// Planned is how ordering is done. Numbers are those of the agency; none has a default.
type Planned struct {
	LeadDays   float64 `json:"lead_d"`
	LeadSDDays float64 `json:"lead_sd_d"`
	ServicePct float64 `json:"service_pct"`
}

// Packed says that a line of somebody's bag of a day lies in it, or, with Out, that it does not any more. The entry's
// author is whose bag it is.
type Packed struct {
	// Day is the calendar day, such as 2026-03-04.
	Day  string `json:"day"`
	Item string `json:"item"`
	Out  bool   `json:"out,omitempty"`
}

// Kind implements [casebook.Body].
func (Moved) Kind() casebook.Kind { return KindMoved }

// Kind implements [casebook.Body].
func (Counted) Kind() casebook.Kind { return KindCounted }

// Kind implements [casebook.Body].
func (Recalled) Kind() casebook.Kind { return KindRecalled }

// Kind implements [casebook.Body].
func (Planned) Kind() casebook.Kind { return KindPlanned }

// Kind implements [casebook.Body].
func (Packed) Kind() casebook.Kind { return KindPacked }

func init() {
	casebook.Own[Moved](KindMoved)
	casebook.Own[Counted](KindCounted)
	casebook.Own[Recalled](KindRecalled)
	casebook.Own[Planned](KindPlanned)
	casebook.Own[Packed](KindPacked)
}

// NewEntry makes an entry of the register.
func NewEntry(id string, at time.Time, author string, b casebook.Body) casebook.Entry {
	return casebook.Entry{ID: id, Case: Register, Kind: b.Kind(), Version: 1, At: at, Recorded: at, Author: author, Body: b}
}
