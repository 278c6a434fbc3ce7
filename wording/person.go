package wording

import (
	"fmt"
	"strings"

	"lowtide/casebook"
	"lowtide/unit"
)

func (s *sayer) person(b casebook.PersonRegistered) {
	s.Title = "Patient registered: " + b.Name
	s.put("Born", Date(b.Born))
	s.put("Record number", b.Record)
	s.put("Place", b.Place)
	s.put("Ward and bed, or address", b.Address)
	s.put("Nurse in charge", b.Nurse)
	s.put("Team", b.Team)
	s.put("Mobility", b.Mobility)
	s.put("Language", b.Language)
	s.number("Weight", b.WeightKg, 1, "kg")
	s.number("Altitude of the place of care", b.AltitudeM, 0, "m")
	s.put("Time zone", b.Zone)
	for _, c := range b.Contacts {
		s.put("To call", strings.TrimSpace(c.Role+": "+c.Name+" "+c.Phone))
	}
}

func (s *sayer) wound(b casebook.WoundFound) {
	s.Title = "Wound " + b.Wound + ": " + b.Type + ", " + b.Site
	s.put("On the body map", strings.TrimSpace(strings.TrimPrefix(b.Side, "middle")+" "+b.Spot))
	s.put("Stage", b.Stage)
	s.put("Present since", b.Since)
	s.yesNo("On an arm, leg, hand or foot", b.Limb)
	s.yesNo("Dressing goes all the way round", b.Circumferential)
	s.yesNo("Poor blood supply", b.PoorPerfusion)
	s.yesNo("Infected", b.Infected)
	s.put("12 o'clock is", b.Clock)
	s.put("Filler already in the wound", pieces(b.InPlace))
	if b.InPlaceUnknown {
		s.put("Filler already in the wound", "there is some, and nobody knows how much")
	}
}

func (s *sayer) screening(b casebook.ScreeningDone) {
	s.Title = "Screening"
	if b.Wound != "" {
		s.Title += " of wound " + b.Wound
	}
	by := map[string][]string{}
	for _, q := range casebook.Questions {
		a := b.Answers[q.ID]
		if a == "" {
			a = "not answered"
		}
		by[a] = append(by[a], q.Words)
	}
	for id, a := range b.Answers {
		if _, ok := casebook.FindQuestion(id); !ok && a == casebook.AnswerYes {
			by[a] = append(by[a], id)
		}
	}
	s.put("Yes", strings.Join(by[casebook.AnswerYes], "; "))
	s.put("Not known", strings.Join(by[casebook.AnswerUnknown], "; "))
	s.put("Not answered", strings.Join(by["not answered"], "; "))
	if n := len(by[casebook.AnswerNo]); n > 0 {
		s.put("No", fmt.Sprintf("%d of %d questions: %s", n, len(casebook.Questions), strings.Join(by[casebook.AnswerNo], "; ")))
	}
	s.put("Note", b.Note)
}

func (s *sayer) teaching(b casebook.TeachingGiven) {
	s.Title = "Teaching given to " + b.To
	s.list("Topics", b.Topics)
	s.yesNo("Said back correctly", b.Understood)
	s.put("Note", b.Note)
}

func (s *sayer) signed(b casebook.ReviewSigned) {
	s.Title = "Review signed for " + b.Purpose
	s.put("Review as of", s.at(b.AsOf))
	s.put("Findings open then", fmt.Sprint(len(b.Open)))
	s.put("Note", b.Note)
	s.put("Review", "hash "+b.Hash)
	s.put("Rule set", b.Rules)
	s.put("Program", b.Program)
}

func (s *sayer) corrected(b casebook.EntryCorrected) {
	switch b.Action {
	case "withdraw":
		s.Title = "Entry withdrawn"
	case "replace":
		s.Title = "Entry corrected"
	case "moved out":
		s.Title = "Entry moved to another patient's case"
	case "moved in":
		s.Title = "Entry moved in from another patient's case"
	default:
		s.Title = "Correction: " + b.Action
	}
}

// pieces says filler counts.
func pieces(list []casebook.Pieces) string {
	var out []string
	for _, p := range list {
		out = append(out, fmt.Sprintf("%d %s", p.Count, p.Filler))
	}
	return strings.Join(out, ", ")
}

func Cm(v float64) string { return unit.Length(v).String() }
