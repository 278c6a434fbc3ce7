package caseload

import (
	"time"

	"lowtide/casebook"
	"lowtide/state"
)

// readAs is how tables of a kind were last read in a case.
type readAs struct {
	Text string
	At   time.Time
}

func mappingsOf(c *casebook.Case) map[string]readAs {
	var out map[string]readAs
	for i := range c.Logs {
		if l := &c.Logs[i]; l.Body.Key != "" {
			if out == nil {
				out = map[string]readAs{}
			}
			out[l.Body.Key] = readAs{state.WithoutHeader(l.Body.Mapping), l.At}
		}
	}
	return out
}

// Mapping returns how a table of the kind was last read in any case that the list has reviewed. It tells nothing of the
// case: a mapping names columns, units and forms of dates.
func (l *Caseload) Mapping(key string) (text string, ok bool) {
	var last time.Time
	for _, k := range l.view().list {
		if m, have := k.Read[key]; have && key != "" && m.At.After(last) {
			text, last, ok = m.Text, m.At, true
		}
	}
	return text, ok
}
