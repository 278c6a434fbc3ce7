package state

import (
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/stock"
)

// recallFacts says whether the patient has, or may have in the dressing, a recalled lot: more of it came than is recorded
// as used up or taken back, or the dressing was not changed since the last entry that names it.
func recallFacts(s *State, t Terms) {
	if s.Recalls == nil {
		return
	}
	c, eq, set := s.Case, s.Equipment, t.Case
	var lots, words, by []string
	for _, r := range s.Recalls.Recalls {
		for _, g := range stock.Who(stock.UsesOf(c, eq.ItemID), r.Item, r.Lot) {
			if g.Count <= 0 && changedSince(c, eq, g) {
				continue
			}
			lots = append(lots, LotWords(eq, g.Item, g.Lot))
			if w := RecallWords(c.Zone, r); !contains(words, w) {
				words = append(words, w)
			}
			by = append(by, g.Entries...)
		}
	}
	set("supply.recalled", strings.Join(lots, "; "), entriesOf(by...)...)
	set("supply.recall_words", strings.Join(words, " "), entriesOf(by...)...)
}

// changedSince tells whether what was used of a lot is gone: its canister or its dressing was changed since. Where there are
// several pumps or wounds, one change does not tell which, so that the newest of every one is asked for.
func changedSince(c *casebook.Case, eq *equipment.Set, g stock.Given) bool {
	if i, ok := eq.Item(g.Item); ok && i.CanisterML > 0 {
		names := PumpNames(c)
		if len(names) == 0 {
			names = []string{newestPump(c)}
		}
		for _, name := range names {
			if k := CanisterOn(c, name); k.ChangedAt == nil || !k.ChangedAt.After(g.Last) {
				return false
			}
		}
		return true
	}
	for i := range c.Wounds {
		if w := &c.Wounds[i]; len(w.Changes) > 0 && (w.Count.Total() > 0 || !w.Count.Known) && !w.Changes[len(w.Changes)-1].At.After(g.Last) {
			return false
		}
	}
	return len(c.Changes) > 0 && c.Changes[len(c.Changes)-1].At.After(g.Last)
}

// NamesLots tells whether anything in the case says what supplies the patient got.
func NamesLots(c *casebook.Case) bool {
	for _, d := range c.Changes {
		if len(d.Body.Used) > 0 {
			return true
		}
	}
	return len(c.Supplies) > 0
}

func LotWords(eq *equipment.Set, item, lot string) string {
	if lot == "" {
		return eq.ItemWords(item) + ", no lot recorded"
	}
	return eq.ItemWords(item) + ", lot " + lot
}

func RecallWords(zone *time.Location, r stock.Recall) string {
	w := "Recalled by " + r.By + ", recorded " + Clock(zone, r.At) + "."
	if r.Note != "" {
		w += " " + strings.TrimSuffix(r.Note, ".") + "."
	}
	return w
}
