package demo

import (
	"math/rand/v2"
	"time"

	"lowtide/casebook"
	"lowtide/week"
)

// Week tells who works when, and where places are, as entries of the week's own register.
func Week(now time.Time, seed uint64) []casebook.Entry {
	zone, err := time.LoadLocation(Zone)
	if err != nil {
		panic("demo: " + err.Error()) // the zone data is compiled in
	}
	at := now.In(zone).Truncate(time.Minute).Add(-60 * day)
	rnd := rand.New(rand.NewPCG(seed, 'w'))
	bytes := rand.NewChaCha8([32]byte{byte(seed), byte(seed >> 8), byte(seed >> 16), byte(seed >> 24), 'w', 'e', 'e', 'k'})
	var out []casebook.Entry
	say := func(b casebook.Body) {
		at = at.Add(time.Minute)
		id, err := casebook.NewID(at, bytes)
		if err != nil {
			panic("demo: " + err.Error()) // a seeded source never ends
		}
		out = append(out, week.NewEntry(id, at, nurseCar, b))
	}
	place := func(name string, east, north float64) { say(week.Place{Name: name, East: &east, North: &north}) }
	hours := func(from, to int, days ...int) (out []week.Hours) {
		for _, d := range days {
			out = append(out, week.Hours{Weekday: d, From: from * 60, To: to * 60})
		}
		return out
	}
	place("Quayside clinic", 0, 0)
	place("Hill clinic", 1.5, 3)
	say(week.Nurse{Account: nurseCar, Name: nurses[0], Base: "Quayside clinic", Team: teams[0], Hours: hours(8, 16, 1, 2, 3, 4, 6)})
	say(week.Nurse{Account: "j.okafor", Name: nurses[1], Base: "Hill clinic", Team: teams[1], Hours: hours(8, 16, 1, 2, 4, 5, 0), Covers: []string{"l.brandt"}})
	say(week.Nurse{Account: "l.brandt", Name: nurses[2], Base: "Quayside clinic", Team: teams[0], Hours: hours(9, 18, 3, 4, 5, 6, 0), Covers: []string{nurseCar}})
	seen := map[string]bool{"": true, "Cloud Farm, above the pass": true} // where that is nobody said
	for _, p := range patients {
		if name := visitedAt(p); !seen[name] {
			seen[name] = true
			place(name, float64(rnd.IntN(80)-40)/10, float64(rnd.IntN(80)-40)/10)
		}
	}
	return out
}

// visitedAt is where a patient is visited: a ward or a home is one place for all who lie there.
func visitedAt(p patient) string {
	address := p.address
	if p.place != "home" {
		for i := len(address) - 1; i > 0; i-- {
			if address[i] == ',' {
				return address[:i]
			}
		}
	}
	return address
}
