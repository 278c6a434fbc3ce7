package intake

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	_ "time/tzdata" // a zone must not be unknown because the machine has no list of zones
	"unicode"

	"lowtide/casebook"
	"lowtide/unit"
)

// finding reports one problem at a pointer within a body.
type finding func(pointer string, code Code, value, message, remedy string)

// checkBody reports what the body's fields, each allowed, cannot say together.
func checkBody(body casebook.Body, at finding) {
	switch b := body.(type) {
	case casebook.PersonRegistered:
		checkZone(b.Zone, at)
		checkYear("/born", b.Born, at)
	case casebook.WoundFound:
		checkFillers("/in_place", b.InPlace, at)
		checkYear("/since", b.Since, at)
		checkSide(b, at)
		if b.InPlaceUnknown && len(b.InPlace) > 0 {
			at("/in_place_unknown", CodeContradicts, "true", "The count is said to be unknown, and there is a count.", "Keep one of the two: the count only if it is sure and complete.")
		}
	case casebook.OrderWritten:
		for i, q := range b.AcceptsRisks {
			if _, ok := casebook.FindQuestion(q); !ok && q != "" {
				at("/accepts_risks/"+strconv.Itoa(i), CodeQuestion, q, fmt.Sprintf("The screening has no question %q.", shorten(q)), nearestQuestion(q))
			}
		}
		checkTwice("/wounds", "wound", b.Wounds, at)
		checkGoal(b, at)
	case casebook.DecisionMade:
		checkTwice("/wounds", "wound", b.Wounds, at)
		if b.Choice == "continue" && b.NextAt == nil {
			at("/next_at", CodeMissing, "", "To continue needs a day by which it is decided again.", "Write the day and time of the next decision.")
		}
	case casebook.LogImported:
		if b.To.Before(b.From) {
			at("/to", CodeOrder, stamp(b.To), "The last reading lies before the first.", "Correct one of the two times.")
		}
		if b.NotUsed > b.Rows {
			at("/rows_not_used", CodeContradicts, strconv.Itoa(b.NotUsed), "More rows were not used than the file has.", "Correct one of the two numbers.")
		}
	case casebook.PumpAssigned:
		checkTwice("/wounds", "wound", b.Wounds, at)
	case casebook.DressingChanged:
		checkChange(b, at)
	case casebook.PiecesAccounted:
		if b.Outcome == "surgeon rules it out" && strings.TrimSpace(b.By) == "" {
			at("/by", CodeMissing, "", "A surgeon's word closes a count only with the name of who gave it.", "Write who says that none is left; \"surgeon told\" is for one who was only told.")
		}
	case casebook.WoundMeasured:
		checkMeasured(b, at)
	case casebook.OutlineTraced:
		checkOutline(b, at)
	case casebook.NoteWritten:
		checkSeen(b.Seen, at)
	case casebook.EntryCorrected:
		checkAction(b, at)
	}
}

func checkChange(b casebook.DressingChanged, at finding) {
	checkSeen(b.Seen, at)
	names := make([]string, len(b.Wounds))
	for i, w := range b.Wounds {
		names[i] = w.Wound
		p := "/wounds/" + strconv.Itoa(i)
		checkFillers(p+"/out", w.Out, at)
		checkFillers(p+"/in", w.In, at)
		if w.NoneOut && len(w.Out) > 0 {
			at(p+"/none_out", CodeContradicts, "true", fmt.Sprintf("Wound %q: no piece is said to have come out, and pieces are listed.", w.Wound), "Remove one of the two; count again if you are not sure.")
		}
		if w.NoneIn && len(w.In) > 0 {
			at(p+"/none_in", CodeContradicts, "true", fmt.Sprintf("Wound %q: no piece is said to have gone in, and pieces are listed.", w.Wound), "Remove one of the two.")
		}
	}
	seen := map[string]bool{}
	for i, name := range names {
		if name != "" && seen[name] {
			at("/wounds/"+strconv.Itoa(i)+"/wound", CodeTwice, name, fmt.Sprintf("Wound %q is there twice in one change.", name), "Put everything about a wound into one part, or write two entries.")
		}
		seen[name] = true
	}
}

func checkSeen(s casebook.Seen, at finding) {
	for _, sign := range s.Signs {
		if sign == "none" && len(s.Signs) > 1 {
			at("/signs", CodeContradicts, strings.Join(s.Signs, ", "), `Signs hold "none" and others.`, `Remove "none" if a sign was seen.`)
			return
		}
	}
}

func checkFillers(pointer string, list []casebook.Pieces, at finding) {
	seen := map[string]bool{}
	for i, p := range list {
		if p.Filler != "" && seen[p.Filler] {
			at(pointer+"/"+strconv.Itoa(i)+"/filler", CodeTwice, p.Filler, fmt.Sprintf("Filler %q is counted twice in one list.", p.Filler), "Write one count for each kind of filler: the sum, if both are right.")
		}
		seen[p.Filler] = true
	}
}

func checkTwice(pointer, what string, list []string, at finding) {
	seen := map[string]bool{}
	for i, s := range list {
		if s != "" && seen[s] {
			at(pointer+"/"+strconv.Itoa(i), CodeTwice, s, fmt.Sprintf("The %s %q is there twice.", what, shorten(s)), "Remove one.")
		}
		seen[s] = true
	}
}

// tissueTolerance is how far, in percent points, shares may be from 100 in sum: they are rounded by whoever estimates them.
const tissueTolerance = 0.5

func checkMeasured(b casebook.WoundMeasured, at finding) {
	if t := b.Tissue; t != nil && !(math.Abs(t.Sum()-100) <= tissueTolerance) {
		at("/tissue", CodeTissueSum, printNumber(t.Sum())+" %", fmt.Sprintf("The tissue shares sum to %s %%.", printNumber(t.Sum())), "Correct the shares so that they sum to 100 %; leave tissue out if it was not judged.")
	}
	if b.NoneUnder && len(b.Undermining)+len(b.Tunnels) > 0 {
		at("/none_under", CodeContradicts, "true", "There is said to be no undermining and no tunnel, and one is listed.", "Remove one of the two.")
	}
	if b.VolumeMethod != "" && b.VolumeCm3 == nil {
		at("/volume_cm3", CodeMissing, "", "It says how the volume was measured, and the volume is missing.", "Write the volume in cm³ (1 mL is 1 cm³), or remove the way it was measured.")
	}
	if b.VolumeCm3 != nil && b.VolumeMethod == "" {
		at("/volume_method", CodeMissing, "", "The volume does not say how it was measured.", "Choose how; a volume is never length times width times depth.")
	}
	for i, u := range b.Tunnels {
		if u.ToClock != nil {
			at("/tunnels/"+strconv.Itoa(i)+"/to_clock", CodeMeaningless, unit.Number(*u.ToClock, 2), "A tunnel runs at one clock position; a second has no meaning.", "Remove to_clock, or write it as undermining.")
		}
	}
}

// checkYear reports a day before any patient could live.
func checkYear(pointer, day string, at finding) {
	t, err := time.Parse(time.DateOnly, day)
	if err == nil && t.Year() < 1880 {
		at(pointer, CodeDate, day, fmt.Sprintf("The year %d cannot be.", t.Year()), "Check the year.")
	}
}

func checkZone(zone string, at finding) {
	if zone == "" {
		return
	}
	if _, err := time.LoadLocation(zone); err == nil && zone != "Local" {
		return
	}
	remedy := `Write the IANA name of the zone, such as "Europe/Berlin" or "America/Chicago".`
	if near := nearestZone(zone); near != "" {
		remedy = fmt.Sprintf("Write %q if that is meant.", near)
	}
	at("/zone", CodeZone, zone, fmt.Sprintf("%q is not the name of a time zone.", shorten(zone)), remedy)
}

// nearestZone tries the spellings that people use for a zone's name: lower case, spaces, only the city.
func nearestZone(zone string) string {
	if len(zone) > 60 {
		return ""
	}
	parts := strings.Split(strings.ReplaceAll(strings.TrimSpace(zone), "\\", "/"), "/")
	for i, p := range parts {
		names := strings.FieldsFunc(strings.ToLower(p), func(r rune) bool { return r == ' ' || r == '_' })
		for j, w := range names {
			names[j] = strings.ToUpper(w[:1]) + w[1:]
		}
		parts[i] = strings.Join(names, "_")
	}
	name := strings.Join(parts, "/")
	for _, area := range []string{"", "Europe/", "America/", "Asia/", "Africa/", "Australia/", "Pacific/", "Atlantic/", "Indian/"} {
		if _, err := time.LoadLocation(area + name); err == nil && name != "" && name != "Local" {
			return area + name
		}
	}
	return ""
}

// checkAction reports parts of a correction that its action does not use, or lacks.
func checkAction(b casebook.EntryCorrected, at finding) {
	need := func(there bool, field, words, actions string, wanted bool) {
		switch {
		case wanted && !there:
			at("/"+field, CodeMissing, "", fmt.Sprintf("%s: %s is missing.", b.Action, words), fmt.Sprintf("Write %q.", field))
		case !wanted && there && b.Action != "":
			at("/"+field, CodeMeaningless, "", fmt.Sprintf("%s has no use for %s.", b.Action, words), fmt.Sprintf("Remove %q; it belongs to %s.", field, actions))
		}
	}
	replace, out, in := b.Action == "replace", b.Action == "moved out", b.Action == "moved in"
	if replace {
		if b.Body == nil && b.At == "" {
			at("/body", CodeMissing, "", "replace: neither a corrected content nor a corrected time is given.", `Write "body", "at" or both.`)
		}
	} else {
		need(b.Body != nil, "body", "a corrected content", "replace", false)
		need(b.At != "", "at", "a corrected time", "replace", false)
	}
	need(b.OtherCase != "", "other_case", "the other case", "moved out and moved in", out || in)
	need(b.Original != nil, "original", "the moved entry", "moved in", in)
}

// checkSide asks when the words for the place name one side of the patient and the body map the other.
func checkSide(b casebook.WoundFound, at finding) {
	words := strings.FieldsFunc(strings.ToLower(b.Site), func(r rune) bool { return !unicode.IsLetter(r) })
	left, right := slices.Contains(words, "left"), slices.Contains(words, "right")
	if b.Side == "left" && right && !left || b.Side == "right" && left && !right {
		at("/side", CodeContradicts, b.Side, fmt.Sprintf("The words say %q, and the body map says %s.", shorten(b.Site), b.Side), "Look which side of the patient it is, and change the one that is wrong.")
	}
}
