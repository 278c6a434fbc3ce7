package casegen

import (
	"encoding/json"
	"math"
	"time"

	"lowtide/casebook"
)

// spoil adds what only another store, or a broken one, hands over.
func (m *maker) spoil() {
	if len(m.entries) == 0 {
		return
	}
	some := func() casebook.Entry { return m.entries[m.rnd.IntN(len(m.entries))] }
	for range 1 + m.rnd.IntN(6) {
		e := some()
		switch m.rnd.IntN(8) {
		case 0: // twice
		case 1: // one ID, two contents
			e.Author = "somebody else"
		case 2: // a time to come, or before all memory
			e.ID = m.newID(m.now)
			e.At = pick(m.rnd, m.now.Add(30*day), time.Date(1, 1, 1, 0, 0, 0, 0, time.UTC), time.Time{})
		case 3: // a kind or a version of a later program
			e.ID, e.Kind, e.Version = m.newID(m.now), pick(m.rnd, e.Kind, "tide.turned"), 99
			e.Body = casebook.Unknown{Of: e.Kind, Raw: json.RawMessage(`{"wound":"A","list":[1,{}]}`)}
		case 4: // a correction of itself, or of nothing
			e = casebook.Entry{ID: m.newID(m.now), Case: m.caseID, Kind: casebook.KindEntryCorrected, Version: 1, At: e.At, Recorded: e.At, Author: e.Author, Reason: "x", Body: casebook.EntryCorrected{Action: pick(m.rnd, "withdraw", "replace", "moved out", "moved in", "no such word")}}
			e.Corrects = pick(m.rnd, e.ID, "", "nobody")
		case 5: // two corrections that name each other
			x := pick(m.rnd, "withdraw", "replace")
			a := casebook.Entry{ID: m.newID(m.now), Case: m.caseID, Kind: casebook.KindEntryCorrected, Version: 1, At: e.At, Recorded: e.At, Author: e.Author, Reason: "x", Body: casebook.EntryCorrected{Action: x}}
			e = a
			e.ID = m.newID(m.now)
			a.Corrects, e.Corrects = e.ID, a.ID
			m.entries = append(m.entries, a)
		case 6: // numbers that no scale shows
			big := pick(m.rnd, -1, 1e308, math.MaxInt32, 1e-300)
			e = casebook.Entry{ID: m.newID(m.now), Case: m.caseID, Version: 1, At: e.At, Recorded: e.At, Author: e.Author}
			e.Body = pick[casebook.Body](m.rnd, casebook.CanisterRead{VolumeML: &big}, casebook.WoundMeasured{Wound: "A", LengthCm: &big, WidthCm: &big, DepthCm: &big}, casebook.PowerNoted{BatteryPct: &big},
				casebook.OrderWritten{Stages: []casebook.Stage{{SuctionMmHg: big, HoldMin: &big}, {SuctionMmHg: big}}}, casebook.PumpAssigned{Pump: "P-1", CanisterML: &big})
			e.Kind = e.Body.Kind()
		case 7: // a wound and a pump that nobody opened
			e = casebook.Entry{ID: m.newID(m.now), Case: m.caseID, Version: 1, At: e.At, Recorded: e.At, Author: e.Author}
			e.Body = pick[casebook.Body](m.rnd, casebook.WoundMeasured{Wound: "ZZ"}, casebook.PumpReturned{Pump: "never came"}, casebook.DressingChanged{}, casebook.OutlineTraced{Wound: "A", Photo: "none"}, casebook.LogImported{})
			e.Kind = e.Body.Kind()
		}
		m.entries = append(m.entries, e)
	}
}
