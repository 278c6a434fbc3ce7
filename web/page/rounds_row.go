package page

import (
	"fmt"
	"math"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/caseload"
	"lowtide/chart"
	"lowtide/rule"
	"lowtide/state"
	"lowtide/unit"
	"lowtide/wording"
)

// forms are the shapes of the levels on Rounds.
var forms = map[rule.Level]string{rule.ActNow: "of-now", rule.Today: "of-today", rule.Plan: "of-plan", rule.Note: "of-note"}

// buttons are the words of a step's form on a button beside a name, where the kind of entry is not the word.
var buttons = map[string]string{string(casebook.KindPowerNoted): "Pump", string(casebook.KindWoundMeasured): "Measure", string(casebook.KindLogImported): "Pump log", string(casebook.KindReviewSigned): "Sign off",
	"asked": "Settle", "log": "Log", "stores": "Stores"}

// row fills one patient of the page.
func (f RoundsFilter) row(it *roundsItem) RoundsRow {
	r, k := it.row, it.clock
	out := RoundsRow{Href: CasePath(r.Case), Name: r.Person.Name, Form: "calm"}
	out.Where = joined(", ", r.Person.Place, r.Person.Address)
	day := -1
	if f.When != "" {
		day = it.group
	}
	rest := 0
	put := func(l rule.Level, show bool, say, why, form string, due *time.Time) {
		if !show || out.Say != "" {
			rest++
			return
		}
		out.Level, out.Form, out.Why = string(l), forms[l], shortened(why)
		var left int
		out.Say, left = decides(l, say)
		rest += left
		out.Due = k.dueBeside(say, l, due)
		if form != "" {
			out.Button = Link{answerOf(r.Case, form).Href, buttonWords(form)}
		}
	}
	if day < 0 && len(r.Plan) > 0 {
		for _, s := range r.Plan {
			put(s.Level, f.Level == "" || s.Level == f.Level, s.Do, s.Why, s.Form, s.Due)
		}
	} else {
		for i := range r.Findings {
			fd := &r.Findings[i]
			put(fd.Level, f.passes(fd, k.findingDay(fd), day), fd.Headline, "", "", fd.Due)
		}
	}
	next := comesNext(r.Therapy, k.Clock)
	who, told := f.Coming[r.Case]
	told = told && r.Therapy.State == "open"
	if told {
		next = joined(", by ", k.Planned(&who.At), who.Nurse) + "."
	}
	if out.Say == "" && r.Next != "" {
		what := "Next: "
		if r.Therapy.LastVisit != nil {
			what = "Left open at the start: "
		}
		out.Say, out.Button = joined(" ", what+lowerFirst(wording.StartStep(r.Next)), next), Link{startPath(r.Case, r.Next), buttonWords(string(r.Next))}
	} else if out.Say == "" {
		out.Say = next
	} else {
		if told {
			out.Where = joined(". ", out.Where, next)
		}
		if rest > 0 {
			out.More = fmt.Sprintf("and %d more", rest)
		}
	}
	out.Pictures = pictures(r, k.Clock)
	return out
}

func buttonWords(form string) string {
	if words := buttons[form]; words != "" {
		return words
	}
	return casebook.Find(casebook.Kind(form)).Title
}

// comesNext is what comes next where nothing is to be done.
func comesNext(t state.Therapy, k Clock) string {
	switch t.State {
	case "ended":
		return "Therapy has ended."
	case "not started":
		return "Therapy has not started. " + k.Planned(t.NextVisit) + "."
	}
	return k.Planned(t.NextVisit) + "."
}

// decidesLetters is how long the sentence of a row may be; it is cut between things to do, never within one.
const decidesLetters = 105

// decides is the beginning of what to do, whole clauses of it, and how many are left. What must be done now is said whole: a
// clause that is left out can be the call for help.
func decides(level rule.Level, do string) (say string, left int) {
	if level == rule.ActNow {
		return do, 0
	}
	clauses := strings.Split(do, "; ")
	say = clauses[0]
	n := 1
	for n < len(clauses) && len(say)+2+len(clauses[n]) <= decidesLetters {
		say += "; " + clauses[n]
		n++
	}
	if n < len(clauses) {
		say += "."
	}
	return say, len(clauses) - n
}

// headlineLetters is how much of a headline a list shows; the case page shows all of it.
const headlineLetters = 220

func shortened(text string) string {
	if cut := []rune(text); len(text) > headlineLetters && len(cut) > headlineLetters {
		return string(cut[:headlineLetters]) + " … (all of it in the case)"
	}
	return text
}

// pictures are the suction of the day, the canister and the wound, as far as there is something to draw.
func pictures(r *caseload.Row, k Clock) []SmallPicture {
	if r.Therapy.State != "open" {
		return nil
	}
	out := []SmallPicture{suctionPicture(r, k), canisterPicture(r, k)}
	if s := r.Glance.Size; s != nil {
		words := unit.Size(s.Last / s.First)
		aloud := "Wound " + s.Wound + ": " + words + " as on " + k.Day(s.Since)
		out = append(out, SmallPicture{chart.SizeSquares(s.Last/s.First, aloud), words})
	}
	return out
}

// asOrdered is how far a shown suction may be from what is ordered and still be drawn as ordered, as a share.
const asOrdered = 0.08

func suctionPicture(r *caseload.Row, k Clock) SmallPicture {
	spells, on, off, unknown := r.Glance.Day(k.Now)
	depth, words := 1.0, ""
	if g := r.Glance; g.OrderedMmHg != nil && *g.OrderedMmHg > 0 && g.ShownMmHg != nil && *g.ShownMmHg > 0 {
		if depth = *g.ShownMmHg / *g.OrderedMmHg; math.Abs(depth-1) <= asOrdered {
			depth = 1
		} else {
			words = unit.Number(*g.ShownMmHg, 0) + " of " + unit.Number(*g.OrderedMmHg, 0) + " mmHg"
		}
	}
	hours := func(d time.Duration) string { return unit.Number(d.Hours(), 0) }
	switch t := r.Therapy; {
	case t.Suction == state.SuctionOffOnPurpose:
		words = "off on purpose"
	case t.Suction.IsOff() && t.Since != nil:
		words = "off since " + k.near(*t.Since)
	case t.Suction.IsOff():
		words = "off"
	case t.Suction != state.SuctionOn:
		words = "not known"
	case words == "":
		words = hours(on) + " h on"
		if off > 0 {
			words = hours(on) + " h on, " + hours(off) + " h off"
		}
	}
	aloud := "Suction in the last 24 hours: on " + hours(on) + " h, off " + hours(off) + " h"
	if unknown >= 30*time.Minute {
		aloud += ", not known " + hours(unknown) + " h"
	}
	return SmallPicture{chart.SuctionStrip(spells, k.Now, depth, aloud+"; "+words), words}
}

func canisterPicture(r *caseload.Row, k Clock) SmallPicture {
	mL, ok := r.Glance.LevelAt(k.Now)
	f, next := r.Fill, r.Therapy.NextVisit
	share, words := -1.0, "not known"
	if ok && r.Glance.SizeML > 0 {
		share = mL / r.Glance.SizeML
	}
	switch {
	case !f.Told():
	case f.MayBeFullBy(k.Now):
		share, words = 1, "may be full"
	case f.Cannot != "":
		share, words = -1, "one not known"
	case f.Status == state.FullBeyond, next != nil && !next.Before(k.Now) && f.Lasts(*next):
		words = "lasts"
	case next == nil || next.Before(k.Now):
		words = "may fill " + k.dayName(f.Early.At)
	default:
		words = "may not last"
	}
	aloud := "Canister: content not known"
	if share >= 0 {
		aloud = fmt.Sprintf("Canister about %d percent full by its forecast", int(math.Round(share*20))*5)
	}
	switch words {
	case "lasts", "may not last":
		aloud += "; " + words + " until the next visit"
	default:
		aloud += "; " + words
	}
	return SmallPicture{chart.CanisterGauge(share, aloud), words}
}

func joined(sep string, parts ...string) string {
	var out []string
	for _, p := range parts {
		if strings.TrimSpace(p) != "" {
			out = append(out, p)
		}
	}
	return strings.Join(out, sep)
}
