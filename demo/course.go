package demo

import (
	"math"
	"time"

	"lowtide/casebook"
)

// course is an uneventful therapy: what is left out of it is what a story is about.
type course struct {
	days  int           // since the start
	every time.Duration // between changes
	last  time.Duration // since the newest change
	wound casebook.WoundFound
	// Size at the start and its fall a week.
	length, width, depth float64
	areaFall, depthFall  float64
	suction              float64
	stages               []casebook.Stage
	filler               string
	pieces               int
	canister             float64
	perDay               float64 // output
	class                string
	answers              map[string]string // beyond "no" to everything
	accepts              []string
	person               func(*casebook.PersonRegistered)
	order                func(*casebook.OrderWritten)
	// unsigned leaves the last visit without a sign-off.
	unsigned bool
	// noTeaching, noScreening leave those out.
	noTeaching, noScreening bool
	// topics and understood are what the teaching was; nil topics are all.
	topics     []string
	understood *bool
	// layer tells that a contact layer goes in.
	layer bool
	// sameCanister is how long ago the last canister went in; 0 changes them as they fill.
	sameCanister time.Duration
	// measuredOnce measures at the start only.
	measuredOnce bool
	// newest changes what was written at the newest visit.
	newest func(*casebook.DressingChanged)
	// next is when the next visit is planned, from now; 0 plans none. missed is how long ago it was, if nobody came.
	next, missed time.Duration
}

// standard is a portable pump on a surgical wound that does well.
func standard() course {
	return course{days: 12, every: 60 * hour, last: 26 * hour, wound: casebook.WoundFound{Wound: "A", Site: "lower abdomen, midline", Type: "surgical", Limb: no(), Circumferential: no(), PoorPerfusion: no(), Infected: no()},
		length: 7.5, width: 3.5, depth: 2.6, areaFall: 0.09, depthFall: 0.17, suction: 125, filler: "foam", pieces: 1, canister: 400, perDay: 70, class: "portable", next: 34 * hour}
}

// tell writes the course and returns the ID of its newest change.
func (c course) tell(t *teller, p patient) string {
	start := time.Duration(c.days) * day
	c.begin(t, p, start)
	// Changes from the start to the newest one, evenly spaced.
	span := start - 3*hour - c.last
	n := int(span/c.every) + 1
	size := func(ago time.Duration) float64 { return float64(start-ago) / float64(7*day) }
	measured := start + 8*day
	inCanister, at, newest := 0.0, start-2*hour, ""
	for i := 0; i <= n; i++ {
		ago := c.last + span*time.Duration(n-i)/time.Duration(n)
		if i > 0 && i < n {
			ago = t.workingHours(ago)
		}
		if i > 0 {
			inCanister += c.perDay * (at - ago).Hours() / 24 * t.near(1, 0.15)
			at = ago
		}
		newest = c.change(t, ago, i, &inCanister)
		if measured-ago >= 6*day+12*hour && (i == 0 || !c.measuredOnce) {
			c.measure(t, ago-10*time.Minute, size(ago))
			measured = ago
		}
		if i < n || !c.unsigned {
			t.sign(ago - 20*time.Minute)
		}
	}
	return newest
}

// workingHours moves a moment in the past to between nine and four of its day.
func (t *teller) workingHours(ago time.Duration) time.Duration {
	at := t.now.Add(-ago)
	nine := time.Date(at.Year(), at.Month(), at.Day(), 9, 5*t.rnd.IntN(84), 0, 0, at.Location())
	return t.now.Sub(nine)
}

// inHours moves a planned visit to between eight and five of its day.
func (t *teller) inHours(at time.Time) time.Time {
	hour := min(16, max(8, at.Hour()))
	return time.Date(at.Year(), at.Month(), at.Day(), hour, 15*(at.Minute()/15), 0, 0, at.Location())
}

func (c course) begin(t *teller, p patient, start time.Duration) {
	reg := casebook.PersonRegistered{Name: p.name, Born: p.born, Record: record(t.n), Place: p.place, Address: p.address, Zone: Zone, Nurse: nurses[t.n%len(nurses)],
		Team: teams[t.n%len(teams)], Mobility: "walks", Contacts: []casebook.Contact{{Role: "nurse on call", Name: "night line", Phone: "0115 496 0100"}, {Role: "prescriber", Name: "Dr I. Vance", Phone: "0115 496 0155"}}}
	if c.person != nil {
		c.person(&reg)
	}
	t.ago(start+2*hour, reg)
	t.ago(start+90*time.Minute, c.wound)
	if !c.noScreening {
		t.ago(start+80*time.Minute, screening(c.answers))
	}
	order := casebook.OrderWritten{Prescriber: "Dr I. Vance", Wounds: []string{c.wound.Wound}, Stages: c.stages, Filler: c.filler, ContactLayer: "none",
		ChangeEveryH: num(c.every.Hours()), Goal: "bed level and ready to close", DurationDays: num(56), AcceptsRisks: c.accepts}
	if order.Stages == nil {
		order.Stages = []casebook.Stage{{SuctionMmHg: c.suction}}
	}
	if c.order != nil {
		c.order(&order)
	}
	t.ago(start+60*time.Minute, order)
	t.ago(start+10*time.Minute, casebook.PumpAssigned{Pump: pump(t.n), Class: c.class, CanisterML: num(c.canister), Wounds: []string{c.wound.Wound}})
	if !c.noTeaching {
		topics, understood := c.topics, c.understood
		if topics == nil {
			topics, understood = []string{"alarms", "leak", "canister", "battery", "bleeding", "infection", "off-time", "whom to call"}, yes()
		}
		t.ago(start-4*hour, casebook.TeachingGiven{To: "patient", Topics: topics, Understood: understood})
	}
	t.ago(start-5*hour, casebook.PowerNoted{BatteryPct: num(100), PluggedIn: yes(), Therapy: "on"})
}

// change writes one dressing change; the first one takes nothing out.
func (c course) change(t *teller, ago time.Duration, i int, inCanister *float64) string {
	w := casebook.WoundChange{Wound: c.wound.Wound, In: []casebook.Pieces{{Filler: c.filler, Count: c.pieces}}, ContactLayer: &c.layer, Periwound: []string{"intact"}, Bed: []string{"granulation"}, Exudate: "moderate"}
	if i == 0 {
		w.NoneOut = true
	} else {
		w.Out = []casebook.Pieces{{Filler: c.filler, Count: c.pieces}}
	}
	k := casebook.CanisterRead{VolumeML: round(*inCanister, 10), Colour: "straw"}
	// A canister that would pass three quarters before the next visit, or is a week old, is changed.
	if next := *inCanister + c.perDay*c.every.Hours()/24; i > 0 && ago >= c.sameCanister && (next > 0.75*c.canister || i%3 == 0) {
		k.Changed = yes()
		*inCanister = 0
	}
	d := casebook.DressingChanged{Wounds: []casebook.WoundChange{w}, Seal: "holds", SuctionMmHg: num(c.shown()), Seen: casebook.Seen{Signs: []string{"none"}, Pain: num(float64(1 + t.rnd.IntN(3))), TemperatureC: num(float64(int(t.near(36.7, 0.3)*10)) / 10)}, Canister: &k, Power: &casebook.PowerNoted{BatteryPct: round(t.near(75, 20), 1), PluggedIn: yes(), Therapy: "on"}}
	next := t.inHours(t.now.Add(-ago + c.every))
	if ago == c.last {
		next = t.inHours(t.now.Add(c.next))
	}
	if ago == c.last && c.missed > 0 {
		next = t.now.Add(-c.missed)
	}
	if ago != c.last || c.next > 0 || c.missed > 0 {
		d.NextVisit = &next
	}
	if ago == c.last && c.newest != nil {
		c.newest(&d)
	}
	return t.ago(ago, d)
}

// held is a hold test of the seal at a visit.
func held(first, second, seconds float64) func(*casebook.DressingChanged) {
	return func(d *casebook.DressingChanged) {
		d.HoldTest = &casebook.HoldTest{FirstMmHg: first, SecondMmHg: second, Seconds: seconds}
	}
}

func (c course) shown() float64 {
	if len(c.stages) > 0 {
		return c.stages[0].SuctionMmHg
	}
	return c.suction
}

func (c course) measure(t *teller, ago time.Duration, weeks float64) string {
	side := math.Pow(1-c.areaFall, weeks/2)
	gran := min(95, 55+12*weeks)
	return t.ago(ago, casebook.WoundMeasured{Wound: c.wound.Wound, LengthCm: round(c.length*side, 0.1), WidthCm: round(c.width*side, 0.1), DepthCm: round(c.depth*math.Pow(1-c.depthFall, weeks), 0.1),
		Method: "ruler", Convention: "head to toe", Tissue: &casebook.Tissue{GranulationPct: *round(gran, 5), SloughPct: 100 - *round(gran, 5)}, BedLevel: no(), NoneUnder: true})
}

// sign writes a sign-off as the program of that time would have: the hash is of a review that nobody can
// make again, because it is invented.
func (t *teller) sign(ago time.Duration) {
	var hash [64]byte
	for i := range hash {
		hash[i] = "0123456789abcdef"[t.rnd.IntN(16)]
	}
	t.ago(ago, casebook.ReviewSigned{Hash: string(hash[:]), AsOf: t.now.Add(-ago - time.Minute), Rules: "invented", Program: "invented", Purpose: "visit"})
}

// screening answers "no" to everything but the answers given; an empty answer leaves the question open.
func screening(answers map[string]string) casebook.ScreeningDone {
	out := casebook.ScreeningDone{Answers: map[string]string{}}
	for _, q := range casebook.Questions {
		switch a, given := answers[q.ID]; {
		case !given:
			out.Answers[q.ID] = casebook.AnswerNo
		case a != "":
			out.Answers[q.ID] = a
		}
	}
	return out
}
