package state

import (
	"sync"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/payer"
	"lowtide/rule/value"
	"lowtide/stock"
)

// Given are the numbers and the payers' policies in force; a rule set is one.
type Given interface {
	Values(at time.Time) value.Values
	Payer(name string) *payer.Policy
}

// State is all that is known and computed of a case at an instant. It is made once, by [Of], and is not changed; it may be
// read from several goroutines.
type State struct {
	// Case is folded up to AsOf: what happened later is not in it.
	Case *casebook.Case
	// Asked are the contradictions that nobody has settled; Counted is the case as computations take it meanwhile.
	Asked     []Question
	Counted   *casebook.Case
	AsOf      time.Time
	Values    value.Values
	Equipment *equipment.Set
	// Recalls are those of the agency's stock; nil when nothing in the case says what supplies the patient got.
	Recalls *stock.Stock

	Person  Person
	Therapy Therapy
	// Pumps are those with the patient, the newest first, and Canisters theirs, in the same order. There is at least one of
	// each, which says why nothing can be told.
	Pumps     []*Pump
	Canisters []*Fluid
	// Wounds are in the order of the case. No curve is fitted to them once therapy has ended: see [State.Healing].
	Wounds []*Healing
	Logs   []Delivered
	// Suction is what suction is doing.
	Suction Suction
	// Payer is nil when none is noted.
	Payer *PayerStand

	later     time.Time // the first time after AsOf that an entry names
	answers   map[string]map[string]answer
	needs     func() *Needs
	figures   func() []Figure
	forecasts func() []Forecast
	tide      func() *Tide
}

// Of reads a case as of an instant and runs every model that rules need. The case is not modified. recalls are those of the
// agency's stock and may be nil.
func Of(c *casebook.Case, given Given, eq *equipment.Set, recalls *stock.Stock, asOf time.Time) *State {
	s := &State{Case: c, AsOf: asOf, Values: given.Values(asOf), Equipment: eq, later: firstAfter(c, asOf)}
	if !s.later.IsZero() {
		s.Case = until(c, asOf)
		c = s.Case
	}
	if recalls != nil && NamesLots(c) {
		s.Recalls = recalls
	}
	s.Person, s.Therapy, s.answers = PersonOf(c), therapyOf(c), screenAnswers(c)
	s.Asked, s.Counted = Questions(c), countedOf(c)
	k := s.Counted
	s.Canisters = FluidsOf(k, eq, s.Values, asOf)
	s.Wounds, s.Logs = healings(counted(k, true), s.Values, asOf), LogsOf(k)
	for _, f := range s.Canisters {
		f.AsRead = CanisterOn(c, f.pump)
		s.Pumps = append(s.Pumps, pumpWith(c, k, f, s.Logs, eq, s.Values))
	}
	s.Suction = suctionOf(k, SuctionRecordOf(k, s.Logs), suctionEndsOf(s.Pumps, s.Canisters, s.Values.Span(value.SuctionSeen)), asOf)
	s.Therapy.Tell(s.Suction)
	s.needs = sync.OnceValue(func() *Needs { return NeedsOf(k, eq, s.Values, s.Canisters) })
	if c.Payer != nil {
		s.Payer = PayerOf(k, given, s.needs(), asOf)
	}
	s.figures, s.forecasts, s.tide = sync.OnceValue(s.makeFigures), sync.OnceValue(s.makeForecasts), sync.OnceValue(s.makeTide)
	return s
}

// Needs is what the case will use, worked out when it is asked for first.
func (s *State) Needs() *Needs { return s.needs() }

// Terms takes facts by what they belong to: the case, a wound by its name, a pump and its canister by the pump's name.
type Terms struct {
	Case                  Sink
	Wound, Pump, Canister func(name string) Sink
}

// part is one noun of the state: what it tells rules, and what it shows. What a part does not have is nil.
type part struct {
	facts     func(*State, Terms)
	figures   func(*State, func(Figure))
	forecasts func(*State, func(Forecast))
	// until tells instants after AsOf at which facts can change without an entry.
	until func(*State, func(time.Time))
}

// parts are the nouns in the order in which pages list figures and forecasts.
var parts = []part{
	{facts: ofCase(func(c *casebook.Case, set Sink) {
		screenFacts(c, set)
		orderFacts(c, set)
		visitFacts(c, set)
		signFacts(c, set)
		alarmFacts(c, set)
		teachFacts(c, set)
		signOffFacts(c, set)
		decisionFacts(c, set)
		recordFacts(c, set)
	})},
	{facts: func(s *State, t Terms) { personFacts(s.Case, s.AsOf, t.Case) }},
	{
		facts: func(s *State, t Terms) {
			therapyFacts(s.Case, s.Suction, t.Case)
			callFacts(s.Case, s.Suction, t.Case)
		},
		figures: func(s *State, add func(Figure)) { therapyFigures(s, add); suctionFigures(s, add) },
		until:   func(s *State, add func(time.Time)) { add(s.Suction.ChangesAt(s.AsOf)) },
	},
	{facts: func(s *State, t Terms) {
		pumpCountFacts(s, t.Case)
		for _, p := range s.Pumps {
			p.facts(s, t.Pump(p.Name))
		}
	}},
	{figures: orderFigures},
	{facts: eachCanister(func(s *State, f *Fluid, set Sink) { canisterFacts(s.Case.Zone, s.Values, f.AsRead, set) }), figures: canisterFigures},
	{
		facts: func(s *State, t Terms) {
			placeFacts(s.Counted, t.Case)
			for _, p := range s.Pumps {
				pathFacts(p, t.Pump(p.Name))
			}
		},
		figures: func(s *State, add func(Figure)) {
			each(s.Pumps, func(p *Pump) { pathFigures(s.Case, p, func(g Figure) { add(p.figure(g)) }) })
		},
	},
	{
		facts: func(s *State, t Terms) {
			each(s.Pumps, func(p *Pump) { batteryFacts(p.Battery, t.Pump(p.Name)) })
		},
		forecasts: func(s *State, add func(Forecast)) {
			each(s.Pumps, func(p *Pump) { batteryForecasts(s.Case, p, add) })
		},
	},
	{
		facts: func(s *State, t Terms) {
			each(s.Pumps, func(p *Pump) { logFacts(s.Counted, p.Logs, t.Pump(p.Name)) })
		},
		figures: logFigures,
	},
	{facts: func(s *State, t Terms) {
		for i := range s.Counted.Wounds {
			w := &s.Counted.Wounds[i]
			set := t.Wound(w.Name)
			woundFacts(s.Counted, s.Values, w, set)
			answeredFacts(s.Counted, w, s.answers, set)
			outlineFacts(s.Counted, w, set)
		}
	}, figures: woundFigures},
	{
		facts:   eachCanister(func(s *State, f *Fluid, set Sink) { fluidFacts(s.Counted, f, s.AsOf, set) }),
		figures: func(s *State, add func(Figure)) { each(s.Canisters, func(f *Fluid) { each(f.Figures(s.AsOf), add) }) },
		forecasts: func(s *State, add func(Forecast)) {
			each(s.Canisters, func(f *Fluid) { each(f.Forecasts(s.AsOf), add) })
		},
		until: func(s *State, add func(time.Time)) {
			each(s.Canisters, func(f *Fluid) { each(f.changesAt(s.AsOf), add) })
		},
	},
	{
		facts: func(s *State, t Terms) {
			payerFacts(s.Payer, t.Case)
			for _, w := range s.Case.Wounds {
				payerWoundFacts(s.Payer, w.Name, t.Wound(w.Name))
			}
		},
		figures: func(s *State, add func(Figure)) { each(s.Payer.Figures(), add) },
		until:   func(s *State, add func(time.Time)) { each(s.Payer.changes(s.AsOf), add) },
	},
	{
		facts: func(s *State, t Terms) {
			for _, h := range s.Wounds {
				healingFacts(s.Counted, h, s.AsOf, t.Wound(h.Wound))
			}
		},
		figures:   healed(func(s *State, h *Healing, add func(Figure)) { each(h.Plainly(), add) }),
		forecasts: healed(func(s *State, h *Healing, add func(Forecast)) { each(h.Forecasts(s.AsOf), add) }),
		until:     healed(func(s *State, h *Healing, add func(time.Time)) { each(h.changes(s.AsOf), add) }),
	},
	{facts: recallFacts},
	{facts: func(s *State, t Terms) { askedFacts(s.Asked, t.Case) }},
}

func ofCase(facts func(*casebook.Case, Sink)) func(*State, Terms) {
	return func(s *State, t Terms) { facts(s.Case, t.Case) }
}

func eachCanister(facts func(*State, *Fluid, Sink)) func(*State, Terms) {
	return func(s *State, t Terms) {
		for _, f := range s.Canisters {
			facts(s, f, t.Canister(f.Pump))
		}
	}
}

// healed goes over the wounds while therapy goes on.
func healed[T any](show func(*State, *Healing, func(T))) func(*State, func(T)) {
	return func(s *State, add func(T)) {
		for _, h := range s.Wounds {
			if s.Case.Ended == nil {
				show(s, h, add)
			}
		}
	}
}

func each[T any](list []T, do func(T)) {
	for _, x := range list {
		do(x)
	}
}

// Facts sets every term of the rule vocabulary that the case tells.
func (s *State) Facts(t Terms) {
	for _, p := range parts {
		if p.facts != nil {
			p.facts(s, t)
		}
	}
}

// Figures are the numbers that pages show beside the findings, worked out when they are asked for first.
func (s *State) Figures() []Figure { return s.figures() }

// Forecasts are what is expected, worked out when they are asked for first.
func (s *State) Forecasts() []Forecast { return s.forecasts() }

func (s *State) makeFigures() []Figure {
	var out []Figure
	for _, p := range parts {
		if p.figures != nil {
			p.figures(s, func(g Figure) { out = append(out, g) })
		}
	}
	return out
}

func (s *State) makeForecasts() []Forecast {
	out := []Forecast{}
	for _, p := range parts {
		if p.forecasts != nil {
			p.forecasts(s, func(f Forecast) { out = append(out, f) })
		}
	}
	return out
}

// Until is the first instant after AsOf at which the state can change without a new entry; zero is never.
func (s *State) Until() time.Time {
	next := s.later
	Earliest(&next, s.Values.Until())
	for _, p := range parts {
		if p.until != nil {
			p.until(s, func(t time.Time) { Earliest(&next, t) })
		}
	}
	return next
}

// firstAfter returns the first time among the entries that is after asOf.
func firstAfter(c *casebook.Case, asOf time.Time) time.Time {
	var first time.Time
	for _, l := range c.Log {
		for _, t := range []time.Time{l.At, l.Entry.At} {
			if t.After(asOf) {
				Earliest(&first, t)
			}
		}
	}
	return first
}

// until folds the case again without what happened after asOf.
func until(c *casebook.Case, asOf time.Time) *casebook.Case {
	entries := make([]casebook.Entry, len(c.Log))
	for i, l := range c.Log {
		entries[i] = l.Entry
	}
	then := casebook.FoldAt(c.ID, entries, asOf)
	then.Blob = c.Blob
	return then
}
