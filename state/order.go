package state

import (
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/therapy"
	"lowtide/unit"
)

func orderFacts(c *casebook.Case, set Sink) {
	o := c.Order()
	set("order.exists", o != nil)
	if o == nil {
		return
	}
	b, id := o.Body, o.ID
	set("order.written_at", o.At, id)
	set.setText("order.prescriber", b.Prescriber, id)
	set.setText("order.filler", b.Filler, id)
	set.setText("order.goal", b.Goal, id)
	set.setText("order.contact_layer", b.ContactLayer, id)
	set.setNum("order.change_every_h", b.ChangeEveryH, id)
	set.setNum("order.duration_d", b.DurationDays, id)
	if b.DurationDays != nil {
		set("order.ends_at", o.At.Add(time.Duration(*b.DurationDays*24*float64(time.Hour))), id)
	}
	set("order.missing", strings.Join(OrderMissing(b), ", "), id)
	set("order.stages", float64(len(b.Stages)), id)
	if len(b.Stages) > 0 {
		shallow, deep := b.Stages[0].SuctionMmHg, b.Stages[0].SuctionMmHg
		for _, s := range b.Stages {
			shallow, deep = min(shallow, s.SuctionMmHg), max(deep, s.SuctionMmHg)
		}
		set("order.shallowest_mmHg", shallow, id)
		set("order.deepest_mmHg", deep, id)
		if off, ok := longestOff(b); ok {
			set("order.longest_off_h", off, id)
		}
		if p, ok := Program(b); ok {
			set("order.mean_mmHg", p.MeanMmHg(), id)
		}
	}
	for _, q := range casebook.Questions {
		set("order.accepts_"+q.ID, contains(b.AcceptsRisks, q.ID), id)
	}
}

// OrderMissing lists what a complete order would say and this one does not.
func OrderMissing(b casebook.OrderWritten) []string {
	var out []string
	need := func(missing bool, words string) {
		if missing {
			out = append(out, words)
		}
	}
	need(len(b.Stages) == 0, "suction")
	if len(b.Stages) > 1 {
		for _, s := range b.Stages {
			if s.HoldMin == nil {
				out = append(out, "how long each stage is held")
				break
			}
		}
	}
	need(b.Filler == "", "filler")
	need(b.ContactLayer == "", "contact layer or that there is none")
	need(b.ChangeEveryH == nil, "change interval")
	need(strings.TrimSpace(b.Goal) == "", "goal")
	need(b.DurationDays == nil, "duration")
	need(strings.TrimSpace(b.Prescriber) == "", "prescriber")
	return out
}

// Program returns the ordered stages as a program; ok is false when a hold is missing or a number cannot be
// a suction (the order rules name it).
func Program(b casebook.OrderWritten) (therapy.Program, bool) {
	var p therapy.Program
	for _, s := range b.Stages {
		hold := 60.0
		switch {
		case s.HoldMin != nil:
			hold = *s.HoldMin
		case len(b.Stages) > 1:
			return p, false
		}
		if s.SuctionMmHg < 0 {
			return p, false
		}
		p = append(p, therapy.Stage{SuctionMmHg: s.SuctionMmHg, HoldMin: hold})
	}
	return p, len(p) > 0
}

// noSuctionMmHg is the depth up to which a stage leaves the wound without suction: fluid is not drawn off against the
// resistance of filler and tube. Common practice, no published source.
const noSuctionMmHg = 5

// longestOff is the longest run of stages without suction in a repeating program, in hours; a program without suction at
// all is off for ever, which no rule about a cycle is about.
func longestOff(b casebook.OrderWritten) (hours float64, ok bool) {
	p, ok := Program(b)
	if !ok {
		return 0, false
	}
	on := -1
	for i, s := range p {
		if s.SuctionMmHg > noSuctionMmHg {
			on = i
		}
	}
	if on < 0 {
		return 0, false
	}
	run, most := 0.0, 0.0
	for k := 1; k <= len(p); k++ {
		s := p[(on+k)%len(p)]
		if s.SuctionMmHg > noSuctionMmHg {
			run = 0
			continue
		}
		run += s.HoldMin / 60
		most = max(most, run)
	}
	return most, true
}

func orderFigures(s *State, add func(Figure)) {
	if o := s.Case.Order(); o != nil {
		if p, ok := Program(o.Body); ok {
			figured(add)(Figure{ID: "order.mean", Name: "Ordered suction, time-mean", Value: p.MeanMmHg(), Unit: "mmHg", Text: unit.Suction(p.MeanMmHg()).String(),
				Method: "sum of suction × hold over the sum of holds", Source: "arithmetic", Entries: []string{o.ID}})
		}
	}
}
