package page

import (
	"lowtide/casebook"
	"lowtide/wording"
)

// MenuPage lists what can be written into a case.
type MenuPage struct {
	Frame
	Groups []MenuGroup
}

// MenuGroup is a part of the menu.
type MenuGroup struct {
	Title string
	Lines []MenuLine
}

// MenuLine is one thing that can be written.
type MenuLine struct{ Href, Words, For string }

// menu groups the kinds as a nurse meets them and says what each is for.
var menu = []struct {
	title string
	kinds []casebook.Kind
}{
	{"At the bedside", []casebook.Kind{casebook.KindDressingChanged, casebook.KindWoundMeasured, casebook.KindPhotoTaken, casebook.KindCanisterRead, casebook.KindPowerNoted, casebook.KindCallTaken, casebook.KindAlarmReported, casebook.KindNoteWritten, casebook.KindPiecesAccounted, casebook.KindTeachingGiven}},
	{"Therapy", []casebook.Kind{casebook.KindScreeningDone, casebook.KindOrderWritten, casebook.KindOrderStopped, casebook.KindDecisionMade, casebook.KindTherapyEnded, casebook.KindReviewSigned}},
	{"Pump and supplies", []casebook.Kind{casebook.KindPumpAssigned, casebook.KindPumpReturned, casebook.KindLogImported, casebook.KindSupplyMoved, casebook.KindPayerNoted}},
	{"Patient", []casebook.Kind{casebook.KindPersonRegistered, casebook.KindWoundFound}},
}

var menuWords = map[casebook.Kind]string{
	casebook.KindDressingChanged: "the dressing was changed: pieces out and in, seal, signs, canister, next visit", casebook.KindWoundMeasured: "a size of a wound without a change of dressing",
	casebook.KindPhotoTaken:   "a photo of a wound, and its sizes by drawing around it",
	casebook.KindCanisterRead: "what stands in the canister, or that a new one went in", casebook.KindPowerNoted: "battery, mains, therapy on or off",
	casebook.KindAlarmReported: "somebody saw or heard an alarm", casebook.KindCallTaken: "somebody is on the telephone about the pump or its alarm", casebook.KindNoteWritten: "a talk, a telephone call, signs seen or dealt with, a planned visit",
	casebook.KindPiecesAccounted: "where missing pieces of filler are, or that a count was wrong", casebook.KindTeachingGiven: "what was explained to patient, carer or staff",
	casebook.KindScreeningDone: "may this patient have the therapy", casebook.KindOrderWritten: "what the prescriber ordered; a new order replaces the one before",
	casebook.KindOrderStopped: "the prescriber stopped the order", casebook.KindDecisionMade: "what was decided about going on, with reasons and what is not certain", casebook.KindTherapyEnded: "therapy is over, and why",
	casebook.KindReviewSigned: "you read the review and put your name to it", casebook.KindPumpAssigned: "a pump went to the patient",
	casebook.KindLogImported: "what the pump wrote down: time on and off, leaks, blockages, battery", casebook.KindPumpReturned: "the pump came back", casebook.KindSupplyMoved: "supplies came or went", casebook.KindPayerNoted: "who pays, since when, and what the record shows of what they ask for",
	casebook.KindPersonRegistered: "name, place, people to call: a change of any of them", casebook.KindWoundFound: "another wound, or a change in what is known of one",
}

// NewMenu makes the menu of a case, of the kinds that the person may write.
func NewMenu(frame Frame, c *casebook.Case, may func(casebook.Kind) bool) MenuPage {
	p := MenuPage{Frame: frame}
	for _, g := range menu {
		group := MenuGroup{Title: g.title}
		for _, k := range g.kinds {
			if may(k) {
				group.Lines = append(group.Lines, MenuLine{menuPath(c.ID, k), wording.Kind(k), menuWords[k]})
			}
		}
		if len(group.Lines) > 0 {
			p.Groups = append(p.Groups, group)
		}
	}
	return p
}

func menuPath(id string, k casebook.Kind) string {
	switch k {
	case casebook.KindDressingChanged:
		return CasePath(id, "visit")
	case casebook.KindPhotoTaken, casebook.KindOutlineTraced:
		return CasePath(id, "photo")
	case casebook.KindReviewSigned:
		return CasePath(id, "sign")
	case casebook.KindCallTaken:
		return CasePath(id, "call")
	case casebook.KindLogImported:
		return CasePath(id, "pump-log")
	case casebook.KindDecisionMade:
		return CasePath(id, "decision")
	}
	return CasePath(id, "add", string(k))
}
