package wording

import (
	"fmt"
	"strings"

	"lowtide/casebook"
	"lowtide/unit"
)

func (s *sayer) order(b casebook.OrderWritten) {
	s.Title = "Order written: " + Stages(b.Stages)
	s.put("Prescriber", b.Prescriber)
	s.list("Wounds", b.Wounds)
	s.put("Filler", b.Filler)
	s.put("Contact layer", b.ContactLayer)
	s.number("Change every", b.ChangeEveryH, 0, "h")
	s.put("Goal", b.Goal)
	s.put("Goal as a size", b.GoalKind)
	s.number("Depth to get under", b.GoalDepthCm, 1, "cm")
	s.number("Granulation to reach", b.GoalGranulationPct, 0, "% of the bed")
	s.number("Area to get under", b.GoalAreaCm2, 1, "cm²")
	s.number("For", b.DurationDays, 0, "days")
	s.put("Risks that the prescriber confirmed in writing", Risks(b.AcceptsRisks))
	s.put("Note", b.Note)
}

// Risks says the questions of the screening that a prescriber confirmed, by their IDs.
func Risks(ids []string) string {
	var risks []string
	for _, id := range ids {
		if q, ok := casebook.FindQuestion(id); ok {
			id = q.Words
		}
		risks = append(risks, id)
	}
	return strings.Join(risks, "; ")
}

// Stages says the program of an order.
func Stages(stages []casebook.Stage) string {
	switch len(stages) {
	case 0:
		return "suction not stated"
	case 1:
		return unit.Number(stages[0].SuctionMmHg, 1) + " mmHg, continuous"
	}
	var out []string
	for _, st := range stages {
		hold := "for a time that is not stated"
		if st.HoldMin != nil {
			hold = "for " + unit.Number(*st.HoldMin, 1) + " min"
		}
		out = append(out, unit.Number(st.SuctionMmHg, 1)+" mmHg "+hold)
	}
	return strings.Join(out, ", then ") + "; repeated"
}

func (s *sayer) orderStopped(b casebook.OrderStopped) {
	s.Title = "Order stopped by " + b.By
	s.put("Why", b.Note)
}

func (s *sayer) pump(b casebook.PumpAssigned) {
	s.Title = "Pump " + b.Pump + " given to the patient"
	s.put("Class of pump", b.Class)
	s.number("Canister size", b.CanisterML, 0, "mL")
	s.list("Wounds", b.Wounds)
	s.put("Note", b.Note)
}

func (s *sayer) pumpReturned(b casebook.PumpReturned) {
	s.Title = "Pump " + b.Pump + " returned"
	s.yesNo("Cleaned", b.Cleaned)
	s.put("Note", b.Note)
}

func canisterTitle(b casebook.CanisterRead) string {
	title := "Canister looked at"
	if b.VolumeML != nil {
		title = "Canister read: " + unit.Volume(*b.VolumeML).String()
	}
	if b.Changed != nil && *b.Changed {
		title += ", new canister put in"
	}
	return title
}

func (s *sayer) canister(b casebook.CanisterRead) {
	s.put("Pump", b.Pump)
	s.number("Volume in the canister", b.VolumeML, 0, "mL")
	s.yesNo("New canister put in", b.Changed)
	s.number("Size of the new canister", b.SizeML, 0, "mL")
	s.put("Colour", b.Colour)
	s.put("Canister note", b.Note)
}

func (s *sayer) alarm(b casebook.AlarmReported) {
	s.Title = "Alarm: " + b.Alarm
	s.put("Pump", b.Pump)
	s.time("Therapy off since", b.OffSince)
	s.number("Suction shown", b.SuctionMmHg, 0, "mmHg")
	s.yesNo("Settled", b.Settled)
	s.put("Reported by", b.ReportedBy)
	s.put("Note", b.Note)
}

func (s *sayer) power(b casebook.PowerNoted) {
	var out []string
	if b.Therapy != "" {
		out = append(out, "therapy "+b.Therapy)
	}
	if b.BatteryPct != nil {
		out = append(out, "battery "+unit.Number(*b.BatteryPct, 0)+" %")
	}
	s.Title = "Power noted"
	if len(out) > 0 {
		s.Title += ": " + strings.Join(out, ", ")
	}
	s.put("Pump", b.Pump)
	s.yesNo("Plugged in", b.PluggedIn)
	s.time("To be plugged in again at", b.PlugInAt)
	s.put("Note", b.Note)
}

func (s *sayer) supply(b casebook.SupplyMoved) {
	s.Title = fmt.Sprintf("Supplies: %d %s came", b.Count, b.Item)
	if b.Count < 0 {
		s.Title = fmt.Sprintf("Supplies: %d %s used up or taken back", -b.Count, b.Item)
	}
	s.put("Taken from, or back to", b.From)
	s.put("Lot", b.Lot)
	s.put("Use before", b.Expires)
	s.put("Note", b.Note)
}

func (s *sayer) decision(b casebook.DecisionMade) {
	s.Title = "Decided: " + b.Choice
	s.put("Decided by", b.By)
	s.list("Wounds", b.Wounds)
	s.time("Decide again by", b.NextAt)
	s.put("The patient wishes", b.Wish)
	s.put("Reasons", b.Reasons)
	s.put("What is not certain", b.Unsure)
	s.list("What is changed first", b.Tried)
	s.put("What comes next", b.Next)
	s.put("Note", b.Note)
}

func (s *sayer) ended(b casebook.TherapyEnded) {
	s.Title = "Therapy ended: " + b.Why
	s.put("Decided by", b.By)
	s.put("What comes next", b.Next)
	s.put("Note", b.Note)
}
