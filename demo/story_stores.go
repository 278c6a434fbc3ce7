package demo

import (
	"math/rand/v2"
	"time"

	"lowtide/casebook"
	"lowtide/stock"
)

// Stories of the stock: what lies on the shelf and in the cars, what was taken for whom, and who pays.

// keeper runs the stores of the invented service.
const keeper = "s.amani"

// nurseCar is the account whose car has stock.
const nurseCar = "m.thorne"

// paid notes a payer that long ago. The service is invented, and so is that this payer pays there.
func (t *teller) paid(ago time.Duration, payer string, startAgo time.Duration, documented ...string) {
	t.ago(ago, casebook.PayerNoted{Payer: payer, Start: t.now.Add(-startAgo).Format(time.DateOnly), Documented: documented})
}

// allAsked are the criteria that every wound is asked, and those of the types that the stories have.
func allAsked(more ...string) []string {
	return append([]string{"initial", "A1-evaluation", "A1-moist", "A1-debridement", "A1-nutrition", "order", "supervised"}, more...)
}

// took writes what was taken for the patient.
func (t *teller) took(ago time.Duration, item string, n int, lot, from string) {
	t.ago(ago, casebook.SupplyMoved{Item: item, Count: n, Lot: lot, From: from})
	t.entries[len(t.entries)-1].Author = nurseCar // the car is that of the account
}

// supplies is told after each patient's own story: who pays, and what was taken for them.
var supplies = map[string]func(*teller){
	"Casimir Nowak": func(t *teller) {
		t.paid(5*hour, "us-medicare", 36*day, allAsked("thirty-days")...)
		t.took(49*hour, "gauze kit", 1, "G-114", "shelf")
	},
	"Signe Haugland":    func(t *teller) { t.paid(5*hour, "us-medicare", 3*day, allAsked("B-surgical")...) },
	"Abel Quarrington":  func(t *teller) { t.paid(5*hour, "us-medicare", 131*day, allAsked("B-surgical")...) },
	"Aoife Gallagher":   func(t *teller) { t.paid(5*hour, "us-medicare", 112*day, allAsked("thirty-days", "A2-turning")...) },
	"Jonah Thistlewood": func(t *teller) { t.paid(99*hour, "us-medicare", 36*day, allAsked("A4-compression")...) },
	"Wilfred Oakshott":  func(t *teller) { t.paid(5*hour, "us-insurer-example", 11*day, "thirty-days", "improvement") },
	"Coralie Duquesne":  func(t *teller) { t.paid(5*hour, "us-medicare", 4*day, allAsked("B-surgical")...) },
	"Edda Farrow": func(t *teller) {
		t.took(49*hour, "foam kit 1", 1, "F-2231", "car")
		t.took(49*hour-minute, "canister 300", 1, "C-508", "car")
	},
	"Tobias Wendt": func(t *teller) { t.took(62*hour, "dense kit", 2, "D-77", "shelf") },
	"Gregor Malik": func(t *teller) { t.took(30*hour, "drape", 3, "", "shelf") },
}

// Stock tells what lay where, as entries of the stock's own register.
func Stock(now time.Time, seed uint64) []casebook.Entry {
	zone, err := time.LoadLocation(Zone)
	if err != nil {
		panic("demo: " + err.Error()) // the zone data is compiled in
	}
	now = now.In(zone).Truncate(time.Minute)
	bytes := rand.NewChaCha8([32]byte{byte(seed), byte(seed >> 8), byte(seed >> 16), byte(seed >> 24), 's', 't', 'o', 'r', 'e', 's'})
	var out []casebook.Entry
	ago := func(d time.Duration, by string, b casebook.Body) {
		at := now.Add(-d)
		id, err := casebook.NewID(at, bytes)
		if err != nil {
			panic("demo: " + err.Error()) // a seeded source never ends
		}
		out = append(out, stock.NewEntry(id, at, by, b))
	}
	date := func(d time.Duration) string { return now.Add(d).Format(time.DateOnly) }
	came := func(d time.Duration, item string, n int, lot, expires string) {
		ago(d, keeper, stock.Moved{Item: item, Count: n, From: stock.Outside, To: stock.Shelf, Lot: lot, Expires: expires})
	}
	load := func(d time.Duration, item string, n int, lot string) {
		ago(d, nurseCar, stock.Moved{Item: item, Count: n, From: stock.Shelf, To: stock.Car(nurseCar), Lot: lot})
	}
	ago(40*day, keeper, stock.Planned{LeadDays: 3, LeadSDDays: 1, ServicePct: 95})
	came(20*day, "foam kit 1", 14, "F-2231", date(400*day))
	came(20*day, "foam kit 2", 12, "F-3120", date(300*day))
	came(20*day, "dense kit", 20, "D-77", date(500*day))
	came(20*day, "gauze kit", 16, "G-114", date(250*day))
	came(60*day, "gauze kit", 4, "G-098", date(-6*day))
	came(20*day, "canister 300", 70, "C-508", date(700*day))
	came(20*day, "canister 400", 34, "C-611", date(600*day))
	came(20*day, "foam kit 3", 6, "F-4009", date(24*day))
	came(15*day, "canister 500", 20, "C-702", date(650*day))
	came(20*day, "moist dressing", 40, "M-15", date(350*day))
	load(3*day, "foam kit 1", 5, "F-2231")
	load(3*day, "canister 300", 6, "C-508")
	load(3*day, "moist dressing", 4, "M-15")
	ago(26*hour, keeper, stock.Recalled{Item: "dense kit", Lot: "D-77", By: "the supplier, by letter", Note: "Seal of the inner bag may be open. Do not use; change dressings that hold it at the next visit at the latest"})
	return out
}
