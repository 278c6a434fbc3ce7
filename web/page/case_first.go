package page

import (
	"math"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/caseload"
	"lowtide/review"
	"lowtide/state"
	"lowtide/unit"
)

// CaseNow is the first screen of a case: the one thing that decides, and what is so now.
type CaseNow struct {
	// First is the first step of the plan, Level its level and Form the shape of it; nil when nothing needs doing.
	First       *StepView
	Level, Form string
	// Then is what the first step asks for after its first clause.
	Then []string
	// More says how many steps stand below.
	More string
	// Facts are suction, canister, battery, filler and next visit, in this order.
	Facts []NowFact
	// People are those to call first.
	People []PersonView
}

// NowFact is one thing that is so now, with a small picture where there is one.
type NowFact struct{ Label, SVG, Text string }

// caseNow gathers the first screen; it takes the first step out of the plan.
func (p *CasePage) caseNow(c *casebook.Case, r *review.Review, k Clock) {
	n := &p.Now
	if len(p.Plan) > 0 {
		g := &p.Plan[0]
		first := g.Steps[0]
		n.First, n.Level, n.Form = &first, g.Level, forms[r.Plan[0].Level]
		if g.Steps = g.Steps[1:]; len(g.Steps) == 0 {
			p.Plan = p.Plan[1:]
		}
		if rest := len(r.Plan) - 1; rest > 0 {
			n.More = "then " + countWords(rest, "step", "steps") + " more"
		}
		n.First.Do, n.Then = firstClause(first.Do)
	} else if next := state.NextStart(state.StartOf(r.State.Case), startWaits(r)); next != nil {
		n.First, n.Level, n.Form = startStep(c.ID, next), "Next", "of-plan"
	}
	if where := joined(", ", r.Person.Place, r.Person.Address); where != "" {
		n.Facts = append(n.Facts, NowFact{"Where", "", where})
	}
	if r.Therapy.State == "open" {
		row := &caseload.Row{Person: r.Person, Therapy: r.Therapy, Fill: review.FullOf(r), Glance: review.GlanceOf(r)}
		suction, canister := suctionPicture(row, k), canisterPicture(row, k)
		n.Facts = append(n.Facts, NowFact{"Suction", suction.SVG, suctionNow(r.Therapy, suction.Words, k)}, NowFact{"Canister", canister.SVG, canisterNow(row, k)})
		for _, p := range r.State.Pumps {
			name := "Battery"
			if p.Name != "" {
				name += ", pump " + p.Name
			}
			n.Facts = append(n.Facts, NowFact{name, "", batteryNow(p.Battery, k)})
		}
	}
	for i := range c.Wounds {
		w := &c.Wounds[i]
		label := "Filler"
		if len(c.Wounds) > 1 {
			label = "Filler, wound " + w.Name
		}
		n.Facts = append(n.Facts, NowFact{label, "", inPlace(w, k)})
	}
	if r.Therapy.State != "ended" {
		n.Facts = append(n.Facts, NowFact{"Next visit", "", nextNow(r.Therapy, k)})
	}
	n.People = p.People[:min(len(p.People), firstPeople)]
}

// clauseWords is how long the first clause may be before what follows a colon stands by itself.
const clauseWords = 19

// firstClause parts what a step asks for into its first clause, which stands before the button, and the others.
func firstClause(do string) (first string, then []string) {
	clauses := strings.Split(strings.TrimSuffix(do, "."), "; ")
	first, then = clauses[0], clauses[1:]
	if at := strings.Index(first, ": "); at > 0 && len(strings.Fields(first)) > clauseWords {
		first, then = first[:at], append([]string{first[at+2:]}, then...)
	}
	for i := range then {
		then[i] = sentence(then[i]) + "."
	}
	return first + ".", then
}

// firstPeople is how many people to call stand on the first screen; all of them are below.
const firstPeople = 2

// suctionNow says what suction is doing, with the reason; words are those of its picture.
func suctionNow(t state.Therapy, words string, k Clock) string {
	since := ""
	if t.Since != nil {
		since = " since " + k.near(*t.Since)
	}
	why := ""
	if t.Why != "" {
		why = ": " + t.Why
	}
	switch t.Suction {
	case state.SuctionOffOnPurpose:
		return "off" + since + ", on purpose" + why
	case state.SuctionOff:
		return "off" + since + why
	case state.SuctionOn:
		if t.BelievedUntil != nil {
			return words + "; if nobody looks, not known from " + k.near(*t.BelievedUntil)
		}
		return words
	}
	return "not known" + since + why
}

// canisterNow says how full the canister is now by its forecast, and whether that does until the next visit.
func canisterNow(r *caseload.Row, k Clock) string {
	f, next := r.Fill, r.Therapy.NextVisit
	share := "content not known"
	if mL, ok := r.Glance.LevelAt(k.Now); ok && r.Glance.SizeML > 0 {
		share = "about " + unit.Volume(math.Round(mL/10)*10).String() + " of " + unit.Volume(r.Glance.SizeML).String()
	} else if r.Glance.NoLevel != "" {
		share = "content not known, " + r.Glance.NoLevel
	}
	switch {
	case !f.Told():
		return share
	case f.MayBeFullBy(k.Now):
		return "may be full: look at it"
	case next != nil && !next.Before(k.Now) && f.Lasts(*next):
		share += "; lasts past the next visit"
	case f.Status == state.FullBeyond:
		share += "; does not fill by itself within a year"
	case next == nil || next.Before(k.Now):
		share += "; may be full " + k.dayName(f.Early.At)
	default:
		share += "; may be full before the next visit, from " + k.near(f.Early.At)
	}
	if f.Cannot != "" {
		share += "; another canister is not known"
	}
	return share
}

// batteryNow says what is left of the battery: as it was noted, and until when it lasts.
func batteryNow(b state.Battery, k Clock) string {
	if b.NotedAt.IsZero() {
		return b.Why
	}
	noted := unit.Number(b.Percent, 0) + " % at " + k.near(b.NotedAt)
	if b.Why != "" {
		return noted + "; " + b.Why
	}
	low := b.NotedAt.Add(time.Duration(b.Low * float64(time.Hour)))
	if !low.After(k.Now) {
		return noted + "; may be low now: plug it in"
	}
	return noted + "; lasts until " + k.near(low) + " at least, if it is not plugged in"
}

// nextNow says when somebody comes.
func nextNow(t state.Therapy, k Clock) string {
	if t.NextVisit == nil {
		return "none planned"
	}
	if t.NextVisit.Before(k.Now) {
		return "was planned for " + k.near(*t.NextVisit)
	}
	if k.Days(*t.NextVisit) == 0 {
		return "today " + k.near(*t.NextVisit)
	}
	return k.near(*t.NextVisit)
}
