package demo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"lowtide/casebook"
)

// Past cases are those of patients whose therapy ended in the last year and a half, copied from paper: dates and sizes
// only. They are what the service's own curve of healing is made of, and show on no list of the morning.

// PastCases is how many past cases [Past] tells.
const PastCases = 24

// pastNames are invented; a first and a last name of the same place in the lists are one person.
var pastNames = [2][PastCases]string{
	{"Alma", "Bertil", "Cosima", "Dewi", "Elspeth", "Fergus", "Gudrun", "Hamish", "Imke", "Joris", "Kerensa", "Lorcan", "Maud", "Niall", "Oona", "Piers", "Rhona", "Sander", "Tamsin", "Ulf", "Verity", "Wystan", "Ysolde", "Zeno"},
	{"Brackwater", "Tollemans", "Vanstreel", "Prosserby", "Kintail", "Dunmarrow", "Solheimer", "Glasserton", "Overveen", "Terbrugge", "Penhallack", "Cassery", "Wetherfen", "Donaghmore", "Ballantree", "Marshcombe", "Inverlaw", "Oosterwold", "Trewarren", "Lindqvister", "Ashenholt", "Thornaby-Rook", "Carrowmena", "Pelagis"}}

// Past tells the past cases as of now.
func Past(now time.Time, seed uint64) []casebook.Entry {
	zone, err := time.LoadLocation(Zone)
	if err != nil {
		panic("demo: " + err.Error()) // the zone data is compiled in
	}
	var out []casebook.Entry
	for i := range PastCases {
		t := &teller{name: pastNames[0][i] + " " + pastNames[1][i], now: now.In(zone).Truncate(time.Minute), rnd: rand.New(rand.NewPCG(seed, uint64(1000+i))), author: "J. Okafor", n: 100 + i}
		t.bytes = rand.NewChaCha8([32]byte{byte(seed), byte(seed >> 8), byte(seed >> 16), byte(seed >> 24), byte(i), 'p', 'a', 's', 't'})
		ended := time.Duration(60+20*i) * day
		weeks := 4 + t.rnd.IntN(6)
		t.caseID = t.id(t.now.Add(-ended - time.Duration(weeks)*7*day - 2*day))
		t.pastCase(ended, weeks)
		out = append(out, t.entries...)
	}
	return out
}

// pastCase tells a surgical wound that was measured every week until its therapy ended. Rates are drawn around the
// published means under this therapy, 8 % of the area and 16 % of the depth a week (Dunn 2011).
func (t *teller) pastCase(ended time.Duration, weeks int) {
	start := ended + time.Duration(weeks)*7*day
	t.ago(start+2*hour, casebook.PersonRegistered{Name: t.name, Born: fmt.Sprintf("%d-%02d-%02d", 1938+t.rnd.IntN(40), 1+t.rnd.IntN(12), 1+t.rnd.IntN(28)), Record: record(t.n), Place: "home", Zone: Zone, Nurse: nurses[t.n%len(nurses)], Team: teams[t.n%len(teams)]})
	t.ago(start+90*time.Minute, casebook.WoundFound{Wound: "A", Site: "lower abdomen, midline", Type: "surgical", Limb: no(), Circumferential: no(), PoorPerfusion: no(), Infected: no()})
	t.ago(start+80*time.Minute, casebook.NoteWritten{Text: "Copied from the paper record: dates and sizes only."})
	length, depth := t.near(7, 2), t.near(2.2, 0.8)
	width := length * t.near(0.5, 0.1)
	fall, rise := math.Max(0.01, t.near(0.09, 0.09)), math.Max(0.02, t.near(0.16, 0.12))
	for week := range weeks + 1 {
		side, left := math.Pow(1-fall, float64(week)/2)*t.near(1, 0.02), math.Pow(1-rise, float64(week))
		t.ago(start-time.Duration(week)*7*day, casebook.WoundMeasured{Wound: "A", LengthCm: round(length*side, 0.1), WidthCm: round(width*side, 0.1), DepthCm: round(depth*left, 0.1), Method: "ruler", Convention: "head to toe", NoneUnder: true})
	}
	why := "goal met"
	if fall < 0.03 {
		why = "no progress"
	}
	t.ago(ended-2*hour, casebook.TherapyEnded{Why: why, By: "Dr I. Vance"})
}
