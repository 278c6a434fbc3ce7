package caseload

import (
	"time"

	"lowtide/casebook"
	"lowtide/healing"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
	"lowtide/stock"
	"lowtide/week"
)

// Row is a case in a list.
type Row struct {
	Case    string
	Person  state.Person
	Therapy state.Therapy
	// Fill is when the canister in place may be full.
	Fill review.CanisterFull
	// Glance is what is drawn small.
	Glance review.Glance
	// Failed tells that the case could not be read or reviewed: its one finding says so, and its person may be missing.
	Failed bool
	// Findings are in the order of the review, without the parts that only a case's own page shows.
	Findings []RowFinding
	// Plan is what needs doing, in the order of the review.
	Plan []RowStep
	// Next is the entry that answers the next open step of the start of therapy; empty when none is open.
	Next casebook.Kind `json:",omitempty"`
}

// RowStep is a step of the plan in a list, with the first of the headlines behind it.
type RowStep struct {
	Level   rule.Level
	Do, Why string
	Due     *time.Time
	// Form is the first of [review.Step.Forms]; empty when there is none.
	Form string
}

// RowFinding is a finding in a list.
type RowFinding struct {
	Rule     string
	Area     rule.Area
	Wound    string
	Level    rule.Level
	State    rule.State
	Headline string
	Due      *time.Time
}

// kept is what stays in memory of a case. It is not changed once it is made. The exported fields are what the shelf keeps.
type kept struct {
	Row Row
	// From is the instant of the review, Until that at which it runs out; zero is never.
	From  time.Time
	Until time.Time `json:",omitzero"`
	// Recalls is the hash of the recalls that the review knew, where they count.
	Recalls string `json:",omitempty"`
	// Ended are the sizes of the wounds of an ended case, for the agency's own curves.
	Ended []healing.ClosedCase `json:",omitempty"`
	Calls callsKept            `json:",omitzero"`
	// Read is how pump logs were read, by kind of table.
	Read map[string]readAs `json:",omitempty"`
	// Uses are what the case took of the agency's supplies, Needs what it will use.
	Uses  []stock.Use `json:",omitempty"`
	Needs *state.Needs
	Visit madeVisit  `json:",omitzero"`
	Pumps []PumpHeld `json:",omitempty"`
	// Seen are the visits of the last weeks.
	Seen []week.Seen `json:",omitempty"`

	// head is the head of the entries that were reviewed; empty for a case that could not be read.
	head string
	// key is where the row stands on Rounds, before its name.
	key uint64
}
