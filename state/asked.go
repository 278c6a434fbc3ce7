package state

import (
	"math"
	"sort"
	"time"

	"lowtide/casebook"
	"lowtide/unit"
)

// The points about which entries can contradict each other; a contradiction.settled names one.
const (
	AskedSuction    = "suction"
	AskedSize       = "size"
	AskedCorrection = "correction"
	AskedPerson     = "person"
	AskedCanister   = "canister"
	AskedPump       = "pump"
	// AskedContent is one ID with two contents: a correction of the entry settles it.
	AskedContent = "content"
)

// Question is something that the entries tell in two ways. Until somebody settles it the worse one counts.
type Question struct {
	About string `json:"about"`
	Wound string `json:"wound,omitempty"`
	// Words say in one sentence what cannot both be so.
	Words string `json:"words"`
	// Entries cannot all be so; of a correction, the first is the entry that was corrected.
	Entries []string `json:"entries"`
	// Counts says what is taken meanwhile.
	Counts string `json:"counts"`

	most float64 // what the canister holds
}

// Questions lists what is to be asked, oldest kind of question first. A settled one is not in it.
func Questions(c *casebook.Case) []Question {
	var out []Question
	put := func(q Question) {
		if !settled(c, q) {
			out = append(out, q)
		}
	}
	contents(c, put)
	corrections(c, put)
	persons(c, put)
	for _, f := range SuctionRecordOf(c, nil).Fights {
		put(Question{About: AskedSuction, Words: "Suction is said to be on and off in one minute.", Entries: f[:], Counts: "Suction is taken as off."})
	}
	for i := range c.Wounds {
		for _, d := range doubts(c, &c.Wounds[i]) {
			put(d.Question)
		}
	}
	canistersAsked(c, put)
	return out
}

// settled tells whether somebody settled the question: all its entries are named, and none came later.
func settled(c *casebook.Case, q Question) bool {
	for _, s := range c.Settled {
		if s.Body.About != q.About {
			continue
		}
		all := true
		for _, id := range q.Entries {
			all = all && contains(s.Body.Entries, id)
		}
		if all {
			return true
		}
	}
	return false
}

// rightOf returns which of the entries is right, if somebody settled that.
func rightOf(c *casebook.Case, about string, entries ...string) (string, bool) {
	for i := len(c.Settled) - 1; i >= 0; i-- {
		s := c.Settled[i].Body
		all := s.About == about
		for _, id := range entries {
			all = all && contains(s.Entries, id)
		}
		if all {
			return s.Right, true
		}
	}
	return "", false
}

// contents asks about entries whose ID also arrived with another content.
func contents(c *casebook.Case, put func(Question)) {
	for _, l := range c.Log {
		// A correction of the entry says which of its contents counts; until then nobody knows.
		if l.Conflict && len(l.By) == 0 {
			put(Question{About: AskedContent, Words: "One entry arrived with two different contents.", Entries: []string{l.Entry.ID}, Counts: "One of them counts, and nobody knows whether it is the right one."})
		}
	}
}

// corrections asks where different people corrected one entry. The newest counts in the record, and what the rules say of
// the others counts as well.
func corrections(c *casebook.Case, put func(Question)) {
	for _, l := range c.Log {
		authors := map[string]bool{}
		for _, id := range l.By {
			if by := c.Line(id); by != nil {
				authors[by.Entry.Author] = true
			}
		}
		if len(l.By) < 2 || len(authors) < 2 {
			continue
		}
		put(Question{About: AskedCorrection, Words: "Different people corrected one entry.", Entries: append([]string{l.Entry.ID}, l.By...),
			Counts: "The newest correction is shown; what the rules say by the others counts as well."})
	}
}

// persons asks where the name or the birth date changed without a correction.
func persons(c *casebook.Case, put func(Question)) {
	var last *casebook.PersonRegistered
	by := ""
	for _, l := range c.Log {
		b, ok := l.Now.(casebook.PersonRegistered)
		if !ok {
			continue
		}
		if last != nil && (b.Name != last.Name || b.Born != "" && last.Born != "" && b.Born != last.Born) {
			words := "The patient has two names: " + last.Name + ", then " + b.Name + "."
			if b.Name == last.Name {
				words = "The patient has two birth dates: " + last.Born + ", then " + b.Born + "."
			}
			put(Question{About: AskedPerson, Words: words, Entries: []string{by, l.Entry.ID}, Counts: "Check that this is one patient before anything is done."})
		}
		last, by = &b, l.Entry.ID
	}
}

const (
	// sameSitting is how close two sizes are that were taken at one time.
	sameSitting = 2 * time.Hour
	// sizeSlack is the share by which two sizes of one time may differ: the error of a ruler in two hands.
	sizeSlack = 1.25
	// edgeWeekCm is how far an edge may move in a week before the size is asked about: about ten times the published healing
	// of 0.1 cm a week.
	edgeWeekCm = 1.0
	// growTimes is how many times larger a size has to be to be asked about; millimetres for centimetres make it a hundred.
	growTimes = 10
)

// doubt is a question about a size, and the entries that do not count until it is settled: withheld count nowhere,
// unsafe ones for no forecast.
type doubt struct {
	Question
	withheld, unsafe []string
}

// doubts asks about two sizes of one time, and about the newest size when it is too small or too large for the one before.
// The smaller one does not count until somebody settles it.
func doubts(c *casebook.Case, w *casebook.Wound) []doubt {
	var out []doubt
	n := len(w.Measured)
	for i := 1; i < n; i++ {
		a, b := w.Measured[i-1], w.Measured[i]
		if b.At.Sub(a.At) >= sameSitting || !differ(a.Body, b.Body) {
			continue
		}
		small, big := a, b
		if sizeOf(a.Body) > sizeOf(b.Body) {
			small, big = b, a
		}
		out = append(out, doubt{Question{About: AskedSize, Wound: w.Name, Entries: []string{a.ID, b.ID},
			Words:  "Wound " + w.Name + " has two sizes of one time: " + sizeWords(a.Body) + ", and " + sizeWords(b.Body) + ".",
			Counts: "The larger one counts: " + sizeWords(big.Body) + "."}, []string{small.ID}, []string{a.ID, b.ID}})
	}
	if n < 2 {
		return out
	}
	now := w.Measured[n-1]
	for i := n - 2; i >= 0; i-- {
		was := w.Measured[i]
		if now.At.Sub(was.At) < sameSitting {
			continue
		}
		weeks := math.Max(1, now.At.Sub(was.At).Hours()/(24*7))
		if edge := radius(was.Body) - radius(now.Body); edge > edgeWeekCm*weeks || sank(was.Body, now.Body, weeks) {
			out = append(out, doubt{Question{About: AskedSize, Wound: w.Name, Entries: []string{was.ID, now.ID},
				Words:  "Wound " + w.Name + " shrank faster than wounds do: from " + sizeWords(was.Body) + " to " + sizeWords(now.Body) + ".",
				Counts: "The earlier size counts."}, []string{now.ID}, []string{now.ID}})
		} else if edge < -edgeWeekCm*weeks && sizeOf(now.Body) > growTimes*sizeOf(was.Body) {
			out = append(out, doubt{Question{About: AskedSize, Wound: w.Name, Entries: []string{was.ID, now.ID},
				Words:  "Wound " + w.Name + " grew more than wounds do: from " + sizeWords(was.Body) + " to " + sizeWords(now.Body) + ". Millimetres typed as centimetres?",
				Counts: "The larger one counts for what presses, and no forecast rests on it."}, nil, []string{now.ID}})
		}
		break
	}
	return out
}

// sank tells whether the depth fell by more than a centimetre a week, and to less than a third.
func sank(was, now casebook.WoundMeasured, weeks float64) bool {
	return was.DepthCm != nil && now.DepthCm != nil && *was.DepthCm-*now.DepthCm > edgeWeekCm*weeks && *now.DepthCm < *was.DepthCm/3
}

// radius is that of a circle of the size's area; without an area it is not a number.
func radius(m casebook.WoundMeasured) float64 {
	a, _, ok := Area(m)
	if !ok {
		return math.NaN()
	}
	return math.Sqrt(float64(a) / math.Pi)
}

// sizeOf orders sizes of one time: by area, then by depth.
func sizeOf(m casebook.WoundMeasured) float64 {
	size := 0.0
	if a, _, ok := Area(m); ok {
		size = float64(a)
	}
	if m.DepthCm != nil {
		size += *m.DepthCm / 100
	}
	return size
}

// differ tells whether two sizes of one time differ by more than a ruler in two hands.
func differ(a, b casebook.WoundMeasured) bool {
	x, _, okX := Area(a)
	y, _, okY := Area(b)
	if okX && okY && math.Abs(float64(x-y)) > 0.5 && (float64(x) > sizeSlack*float64(y) || float64(y) > sizeSlack*float64(x)) {
		return true
	}
	return a.DepthCm != nil && b.DepthCm != nil && math.Abs(*a.DepthCm-*b.DepthCm) > 0.5
}

func sizeWords(m casebook.WoundMeasured) string {
	out := "no area"
	if a, _, ok := Area(m); ok {
		out = unit.Area(a).String()
	}
	if m.DepthCm != nil {
		out += ", " + unit.Number(*m.DepthCm, 1) + " cm deep"
	}
	return out
}

// canistersAsked asks about readings of more than the canister holds, and of pumps that nobody has.
func canistersAsked(c *casebook.Case, put func(Question)) {
	sizes := map[string]float64{}
	with := map[string]string{} // pump: the entry that gave or returned it last
	here := map[string]bool{}
	only := func() string {
		for p := range here {
			if len(here) == 1 {
				return p
			}
		}
		return ""
	}
	read := func(id string, r casebook.CanisterRead) {
		pump := r.Pump
		if pump == "" {
			pump = only()
		} else if !here[pump] {
			entries := []string{id}
			if by := with[pump]; by != "" {
				entries = []string{by, id}
			}
			put(Question{About: AskedPump, Words: "A canister was read of pump " + pump + ", and no such pump is with the patient.", Entries: entries, Counts: "The reading counts for no pump."})
			return
		}
		if most := sizes[pump]; r.VolumeML != nil && most > 0 && *r.VolumeML > most {
			put(Question{About: AskedCanister, Words: "The canister holds more than it can: " + unit.Volume(*r.VolumeML).String() + " in one of " + unit.Volume(most).String() + ".",
				Entries: entriesOf(with[pump], id), Counts: "It is taken as full; no forecast and no order of supplies rests on the reading.", most: most})
		}
		if r.SizeML != nil && r.Changed != nil && *r.Changed {
			sizes[pump], with[pump] = *r.SizeML, id
		}
	}
	for _, l := range c.Log {
		switch b := l.Now.(type) {
		case casebook.PumpAssigned:
			here[b.Pump], with[b.Pump] = true, l.Entry.ID
			if b.CanisterML != nil {
				sizes[b.Pump] = *b.CanisterML
			}
		case casebook.PumpReturned:
			delete(here, b.Pump)
			with[b.Pump] = l.Entry.ID
		case casebook.CanisterRead:
			read(l.Entry.ID, b)
		case casebook.DressingChanged:
			if b.Canister != nil {
				read(l.Entry.ID, *b.Canister)
			}
		}
	}
}

// countedOf is the case as computations take it: sizes that are asked about and do not count are left out, as are sizes that
// somebody settled to be wrong, and canister readings that cannot be. The log and everything else are the case's own.
func countedOf(c *casebook.Case) *casebook.Case { return counted(c, false) }

// counted leaves out what may drive no forecast, too, when neither is set: both of two sizes of one time, and one too large.
func counted(c *casebook.Case, neither bool) *casebook.Case {
	out, copied := c, false
	for i := range c.Wounds {
		w := &c.Wounds[i]
		var away []string
		for _, d := range doubts(c, w) {
			right, ok := rightOf(c, d.About, d.Entries...)
			switch {
			case !ok && neither:
				away = append(away, d.unsafe...)
			case !ok:
				away = append(away, d.withheld...)
			case right != casebook.Both:
				for _, id := range d.Entries {
					if id != right {
						away = append(away, id)
					}
				}
			}
		}
		if away == nil {
			continue
		}
		if !copied {
			shallow := *c
			shallow.Wounds = append([]casebook.Wound(nil), c.Wounds...)
			out, copied = &shallow, true
		}
		kept := []casebook.Dated[casebook.WoundMeasured]{}
		for _, m := range w.Measured {
			if !contains(away, m.ID) {
				kept = append(kept, m)
			}
		}
		out.Wounds[i].Measured = kept
	}
	return capped(c, out, copied)
}

// capped lets a canister that was read as holding more than it can count as full.
func capped(c, out *casebook.Case, copied bool) *casebook.Case {
	canistersAsked(c, func(q Question) {
		if right, ok := rightOf(c, q.About, q.Entries...); q.About != AskedCanister || ok && right != q.Entries[0] {
			return
		}
		if !copied {
			shallow := *c
			out, copied = &shallow, true
		}
		id := q.Entries[len(q.Entries)-1]
		list := append([]casebook.Dated[casebook.CanisterRead](nil), out.Canister...)
		for i := range list {
			if list[i].ID == id {
				most := q.most
				list[i].Body.VolumeML = &most
			}
		}
		out.Canister = list
	})
	return out
}

// Without is the state that the case would have without some entries.
func (s *State) Without(given Given, ids ...string) *State {
	return Of(without(s.Case, ids), given, s.Equipment, nil, s.AsOf)
}

func without(c *casebook.Case, ids []string) *casebook.Case {
	var entries []casebook.Entry
	for _, l := range c.Log {
		if !contains(ids, l.Entry.ID) {
			entries = append(entries, l.Entry)
		}
	}
	then := casebook.Fold(c.ID, entries)
	then.Blob = c.Blob
	return then
}

// askedFacts counts the questions for the rules, and puts the first into words.
func askedFacts(list []Question, set Sink) {
	var by []string
	words := ""
	for i, q := range list {
		by = append(by, q.Entries...)
		if i == 0 {
			words = q.Words + " " + q.Counts
		}
	}
	sort.Strings(by)
	set("case.conflicts", float64(len(list)), entriesOf(by...)...)
	set("case.conflicts_words", words, entriesOf(by...)...)
}
