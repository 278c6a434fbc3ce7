package report

import (
	"slices"
	"strings"

	"lowtide/casebook"
	"lowtide/rule"
	"lowtide/wording"
)

// VisitNote is one visit on one page: the change of dressing with the ID, or the newest when it is empty. ok is
// false when there is none.
func VisitNote(in Input, entry string) (p *Paper, ok bool) {
	var v *casebook.Dated[casebook.DressingChanged]
	for i := range in.state().Visits() {
		if entry == "" || in.state().Visits()[i].ID == entry {
			v = &in.state().Visits()[i]
		}
	}
	if v == nil {
		return nil, false
	}
	p = in.start("visit-note", "Visit note")
	p.Pages = 1
	title, parts := in.say(v.Body)
	p.add(Heading{title})
	p.dense(append([]Pair{{"When", in.clock(v.At)}, {"Written by", writtenBy(in, v.Author, v.Came)}}, parts...)...)
	for i := range in.state().WoundRecords() {
		w := &in.state().WoundRecords()[i]
		for _, m := range w.Measured {
			if in.state().Day(m.At).Equal(in.state().Day(v.At)) {
				title, parts := in.say(m.Body)
				p.add(Heading{title})
				p.dense(parts...)
			}
		}
	}
	if in.state().Visits()[len(in.state().Visits())-1].ID == v.ID {
		p.plan(in, "Open now", 0, rule.ActNow, rule.Today)
	} else {
		p.add(Para{Text: "There was a later visit; what is open now stands in its note."})
	}
	p.add(Sign{[]string{"Name and signature", "Date and time"}})
	return p, true
}

// writtenBy names the author, and says when that is only what a file says.
func writtenBy(in Input, author string, came *casebook.Came) string {
	who := orUnknown(author, "not recorded")
	if came == nil {
		return who
	}
	return who + ". " + wording.Came(came, in.clock)
}

// mostPlan is how many findings of the level Plan a handover sheet holds; the others stand in the record.
const mostPlan = 8

// Handover is what the next person needs: what is set, what is in the wounds, what is due, whom to call.
func Handover(in Input) *Paper {
	p := in.start("handover", "Handover sheet")
	p.Pages = 2
	if in.Review.Therapy.CountOpen {
		p.add(Para{Strong: true, Text: "A filler count does not add up. Do not hand over before it is settled, or say so in person: see the wounds below."})
	}
	p.plan(in, "Act now and today", 0, rule.ActNow, rule.Today)
	p.order(in)
	p.add(Heading{"Pieces in place"})
	g := Grid{Head: []string{"Wound", "Where", "Filler in the wound"}, Shares: []float64{1.8, 4, 4}}
	for i := range in.state().WoundRecords() {
		w := &in.state().WoundRecords()[i]
		g.Rows = append(g.Rows, []string{w.Name, woundLine(w), pieces(w)})
	}
	if g.Rows == nil {
		p.add(Para{Text: "No wound is on record."})
	} else {
		p.add(g)
	}
	p.add(Heading{"Pump, canister and battery"})
	for _, u := range in.state().PumpUses() {
		if u.Returned == nil {
			p.pairs(Pair{"Pump", u.Assigned.Body.Pump}, Pair{"With the patient since", in.clock(u.Assigned.At)}, Pair{"Canister size", number(u.Assigned.Body.CanisterML, 0, "mL")})
		}
	}
	if n := len(in.state().Visits()); n > 0 {
		p.pairs(Pair{"Last change", in.clock(in.state().Visits()[n-1].At)}, Pair{"Seal then", orUnknown(in.state().Visits()[n-1].Body.Seal, "not recorded")})
	}
	next := "not planned"
	if t := in.Review.Therapy.NextVisit; t != nil {
		next = in.clock(*t)
	}
	p.pairs(Pair{"Next visit", next})
	p.plainFigures(in, "therapy.off", "canister.")
	p.forecasts(in, "power.", "fluid.full", "fluid.before", "fluid.weekend")
	p.contacts(in)
	p.plan(in, "Before the next visit", mostPlan, rule.Plan)
	p.add(Sign{[]string{"Handed over by", "Taken over by", "Date and time"}})
	return p
}

// contacts lists whom to call.
func (p *Paper) contacts(in Input) {
	p.add(Heading{"Whom to call"})
	g := Grid{Head: []string{"Who", "Name", "Telephone"}, Shares: []float64{3, 4, 4}}
	if in.state().Registered() != nil {
		for _, c := range in.state().Registered().Body.Contacts {
			g.Rows = append(g.Rows, []string{c.Role, orUnknown(c.Name, "not recorded"), orUnknown(c.Phone, "not recorded")})
		}
	}
	if g.Rows == nil {
		p.add(Para{Text: "Nobody is on record. In an emergency call the local emergency number.", Strong: true})
		return
	}
	p.add(g, Para{Text: "In an emergency call the local emergency number."})
}

// PrescriberMessage is a message in the order situation, background, assessment, request (SBAR).
func PrescriberMessage(in Input) *Paper {
	p := in.start("prescriber-message", "Message to the prescriber")
	p.Pages = 2
	p.situation(in)
	p.add(Heading{"Background"})
	t := in.Review.Therapy
	started := "not started"
	if t.StartedAt != nil {
		started = in.clock(*t.StartedAt)
	}
	p.dense(Pair{"Therapy", t.State}, Pair{"Started", started})
	for i := range in.state().WoundRecords() {
		p.pairs(Pair{"Wound " + in.state().WoundRecords()[i].Name, woundLine(&in.state().WoundRecords()[i])})
	}
	if o := in.state().Order(); o != nil {
		p.pairs(Pair{"Ordered", stages(o.Body.Stages)}, Pair{"Goal", o.Body.Goal})
	} else {
		p.pairs(Pair{"Ordered", "no order is in force"})
	}
	p.add(Heading{"Assessment"})
	for i := range in.state().WoundRecords() {
		p.sizes(in, &in.state().WoundRecords()[i], 2)
	}
	p.plainFigures(in, "wound.reduction", "wound.advance", "canister.", "fluid.")
	p.forecasts(in, "wound.", "fluid.rate", "fluid.full")
	p.add(Heading{"Request"})
	asks, meanwhile := in.requests()
	if asks == nil {
		asks = []string{"Nothing is urgent by the rules. What the nurse asks for:"}
	}
	p.add(List{Items: asks, Boxes: true})
	if meanwhile != nil {
		p.add(Para{Text: "What is done meanwhile:"}, List{Items: meanwhile})
	}
	p.add(Para{Text: "The rules name what to look at; what is asked for and what is ordered are people's decisions."})
	p.contacts(in)
	p.add(Sign{[]string{"Sent by", "Answer, by whom and when"}})
	return p
}

// requests are what the prescriber is asked to decide, and what the plan does until then.
func (in Input) requests() (asks, meanwhile []string) {
	for _, s := range in.Review.Plan {
		if s.Level != rule.ActNow && s.Level != rule.Today {
			continue
		}
		if !slices.Contains(s.Acts, "tell-prescriber") {
			meanwhile = append(meanwhile, string(s.Level)+": "+strings.Join(append([]string{s.Do}, s.Waits...), " "))
			continue
		}
		for _, key := range s.Because {
			if f := in.Review.Finding(key); f != nil {
				asks = append(asks, string(s.Level)+", your decision: "+in.headline(f))
			}
		}
	}
	return asks, meanwhile
}

// situation says what is open, without what to do: that is the request.
func (p *Paper) situation(in Input) {
	p.add(Heading{"Situation"})
	var points []Point
	for i := range in.Review.Findings {
		if f := &in.Review.Findings[i]; f.Level == rule.ActNow || f.Level == rule.Today {
			points = append(points, Point{Group: string(f.Level), Lead: in.headline(f)})
		}
	}
	if points == nil {
		p.add(Para{Text: noFinding})
		return
	}
	p.add(Points{points})
}
