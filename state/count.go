package state

import (
	"sort"
	"strings"
	"time"

	"lowtide/casebook"
)

func countFacts(w *casebook.Wound, clock func(time.Time) string, set Sink) {
	last := ""
	if n := len(w.Changes); n > 0 {
		last = w.Changes[n-1].ID
	} else if w.Found != nil {
		last = w.Found.ID
	}
	if w.Count.Known {
		var kinds []string
		for f, n := range w.Count.InPlace {
			if n > 0 {
				kinds = append(kinds, f)
			}
		}
		sort.Strings(kinds)
		set("wound.pieces", float64(w.Count.Total()), last)
		// A wound without filler has none that could be the wrong one.
		set.setText("wound.filler", strings.Join(kinds, ", "), last)
	}
	put := func(name string, list []casebook.Uncounted) {
		total, by := 0, []string(nil)
		for _, u := range list {
			total += u.Count
			if !contains(by, u.Entry) {
				by = append(by, u.Entry)
			}
		}
		set("wound.count_"+name, float64(total), by...)
		if len(list) > 0 {
			set("wound.count_"+name+"_words", casebook.UncountedWords(list), by...)
			set("wound.count_"+name+"_at", list[0].At, by...)
		}
	}
	put("missing", w.Count.Missing)
	told := ""
	if n := len(w.Count.Told); n > 0 {
		told = " Told, and no word yet: " + w.Count.Told[n-1].Who + " (" + clock(w.Count.Told[n-1].At) + ")."
		set("wound.count_told", told, w.Count.Told[n-1].Entry)
	} else {
		set("wound.count_told", told)
	}
	put("surplus", w.Count.Surplus)
	set("wound.count_unsure", len(w.Count.Unsure) > 0)
	if len(w.Count.Unsure) > 0 {
		u := w.Count.Unsure[0]
		set("wound.count_unsure", true, u.Entry)
		set("wound.count_unsure_at", u.At, u.Entry)
	}
}
