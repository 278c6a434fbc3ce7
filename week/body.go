package week

import (
	"time"

	"lowtide/casebook"
)

// Register is the program's own case that holds what planning needs.
const Register = "~week"

// Kinds of the register's entries.
const (
	KindNurse    casebook.Kind = "week.nurse"
	KindOff      casebook.Kind = "week.off"
	KindPlace    casebook.Kind = "week.place"
	KindRoads    casebook.Kind = "week.roads"
	KindClosed   casebook.Kind = "week.closed"
	KindWish     casebook.Kind = "week.wish"
	KindExtra    casebook.Kind = "week.extra"
	KindFixed    casebook.Kind = "week.fixed"
	KindSettings casebook.Kind = "week.settings"
	KindKept     casebook.Kind = "week.kept"
	KindCalendar casebook.Kind = "week.calendar"
)

// Hours are working hours on one day of the week, 0 Sunday to 6 Saturday, in minutes of the day.
type Hours struct {
	Weekday int `json:"weekday"`
	From    int `json:"from_min"`
	To      int `json:"to_min"`
}

// Nurse is somebody who makes visits. A later entry for the same account replaces the earlier one.
type Nurse struct {
	Account string  `json:"account"`
	Name    string  `json:"name"`
	Hours   []Hours `json:"hours"`
	// Base is the place from which she starts and to which she comes back.
	Base   string   `json:"base"`
	Skills []string `json:"skills,omitempty"`
	Team   string   `json:"team,omitempty"`
	// Covers are the accounts whose patients she sees when they are off.
	Covers []string `json:"covers,omitempty"`
	Gone   bool     `json:"gone,omitempty"`
}

// Everybody stands for all nurses in [Off]: a holiday.
const Everybody = "*"

// Off is time in which a nurse makes no visits: days such as 2026-03-04, both included. FromMin is the minute of the
// first day from which she is off; 0 is the whole day.
type Off struct {
	Account string `json:"account"`
	From    string `json:"from"`
	To      string `json:"to"`
	FromMin int    `json:"from_min,omitempty"`
	Why     string `json:"why,omitempty"`
	Lifted  bool   `json:"lifted,omitempty"`
}

// Place is where patients, or a nurse's base, are. Either degrees, or kilometres east and north of the middle of the
// service's own sketch map.
type Place struct {
	Name  string   `json:"name"`
	Lat   *float64 `json:"lat_deg,omitempty"`
	Lon   *float64 `json:"lon_deg,omitempty"`
	East  *float64 `json:"east_km,omitempty"`
	North *float64 `json:"north_km,omitempty"`
}

// Leg is a known travel time.
type Leg struct {
	From    string  `json:"from"`
	To      string  `json:"to"`
	Minutes float64 `json:"minutes"`
}

// Roads are how travel times are found.
type Roads struct {
	// Detour is how much longer roads are than the straight line; SpeedKmH the speed by hour of the day.
	Detour   float64     `json:"detour"`
	SpeedKmH [24]float64 `json:"speed_km_h"`
	// Legs are typed or imported and come before what is computed.
	Legs []Leg `json:"legs,omitempty"`
}

// Closed says that a road between two places takes so much longer on one day; with To empty, every road to From.
type Closed struct {
	Day    string  `json:"day"`
	From   string  `json:"from"`
	To     string  `json:"to,omitempty"`
	Extra  float64 `json:"extra_min"`
	Lifted bool    `json:"lifted,omitempty"`
}

// Wish is what a patient asks for, and what the visits need. Weekdays empty: any.
type Wish struct {
	Case     string   `json:"case"`
	Weekdays []int    `json:"weekdays,omitempty"`
	From     int      `json:"from_min,omitempty"`
	To       int      `json:"to_min,omitempty"`
	Skills   []string `json:"skills,omitempty"`
	// Not are the accounts that do not see this patient.
	Not []string `json:"not,omitempty"`
}

// Extra is a visit that somebody asked for on a day, beyond what the entries of the case call for.
type Extra struct {
	Case    string `json:"case"`
	Day     string `json:"day"`
	From    int    `json:"from_min,omitempty"`
	To      int    `json:"to_min,omitempty"`
	Minutes int    `json:"minutes,omitempty"`
	Why     string `json:"why"`
	Lifted  bool   `json:"lifted,omitempty"`
}

// Fixed says that a visit of a case on a day is made by this nurse; the rest is planned around it.
type Fixed struct {
	Case    string `json:"case"`
	Day     string `json:"day"`
	Account string `json:"account"`
	// At is the minute at which it begins; 0: any.
	At     int  `json:"at_min,omitempty"`
	Lifted bool `json:"lifted,omitempty"`
}

// Promise is a visit of a kept plan.
type Promise struct {
	Case    string `json:"case"`
	Day     string `json:"day"`
	Account string `json:"account"`
	Start   int    `json:"start_min"`
	Minutes int    `json:"minutes"`
}

// Kept is a plan that somebody took: what patients and nurses were told. It replaces promises from its first day on.
type Kept struct {
	From   string    `json:"from"`
	Visits []Promise `json:"visits"`
}

// Calendar opens somebody's plan to a calendar program under a secret address, of which the SHA-256 is kept.
type Calendar struct {
	Account string `json:"account"`
	Hash    string `json:"hash"`
	Names   bool   `json:"names,omitempty"`
	Ended   bool   `json:"ended,omitempty"`
}

// Kind implements [casebook.Body].
func (Nurse) Kind() casebook.Kind { return KindNurse }

// Kind implements [casebook.Body].
func (Off) Kind() casebook.Kind { return KindOff }

// Kind implements [casebook.Body].
func (Place) Kind() casebook.Kind { return KindPlace }

// Kind implements [casebook.Body].
func (Roads) Kind() casebook.Kind { return KindRoads }

// Kind implements [casebook.Body].
func (Closed) Kind() casebook.Kind { return KindClosed }

// Kind implements [casebook.Body].
func (Wish) Kind() casebook.Kind { return KindWish }

// Kind implements [casebook.Body].
func (Extra) Kind() casebook.Kind { return KindExtra }

// Kind implements [casebook.Body].
func (Fixed) Kind() casebook.Kind { return KindFixed }

// Kind implements [casebook.Body].
func (Settings) Kind() casebook.Kind { return KindSettings }

// Kind implements [casebook.Body].
func (Kept) Kind() casebook.Kind { return KindKept }

// Kind implements [casebook.Body].
func (Calendar) Kind() casebook.Kind { return KindCalendar }

func init() {
	casebook.Own[Nurse](KindNurse)
	casebook.Own[Off](KindOff)
	casebook.Own[Place](KindPlace)
	casebook.Own[Roads](KindRoads)
	casebook.Own[Closed](KindClosed)
	casebook.Own[Wish](KindWish)
	casebook.Own[Extra](KindExtra)
	casebook.Own[Fixed](KindFixed)
	casebook.Own[Settings](KindSettings)
	casebook.Own[Kept](KindKept)
	casebook.Own[Calendar](KindCalendar)
}

// NewEntry makes an entry of the register.
func NewEntry(id string, at time.Time, author string, b casebook.Body) casebook.Entry {
	return casebook.Entry{ID: id, Case: Register, Kind: b.Kind(), Version: 1, At: at, Recorded: at, Author: author, Body: b}
}
