// Package quiet counts what Lowtide says about patients of whom there is nothing to say: invented people whose therapy goes
// well and whose record is kept as taught. What is said of them costs attention that somebody else needs.
package quiet

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
)

// Now is the instant that the counts are made as of: a Wednesday evening.
var Now = time.Date(2026, 3, 4, 22, 0, 0, 0, time.UTC)

// Patient makes the n-th stable patient, up to [Now]: a therapy of one to five weeks, visited as ordered and within an hour
// and a half of the plan, with everything looked at, measured at the first visit after a week, read and signed. Those who
// walk are often found unplugged, with the hour at which they plug in. One in five has a risk that the prescriber accepted in
// writing, one in six a tunnel that stays as it is, one in ten an alarm a week that was mended at once. Nothing in it is a
// danger, and nothing is left out.
func Patient(n int) *casebook.Case {
	g := &maker{r: rand.New(rand.NewPCG(uint64(n), 20261130)), id: fmt.Sprintf("quiet-%04d", n), now: Now}
	g.make()
	return casebook.Fold(g.id, g.entries)
}

type maker struct {
	r       *rand.Rand
	id      string
	now     time.Time
	entries []casebook.Entry
}

func pick[T any](g *maker, list ...T) T    { return list[g.r.IntN(len(list))] }
func ptr[T any](v T) *T                    { return &v }
func (g *maker) in(lo, hi float64) float64 { return lo + (hi-lo)*g.r.Float64() }

// near is x with an error of the share.
func (g *maker) near(x, share float64) float64 { return x * math.Exp(share*g.r.NormFloat64()) }

func (g *maker) tell(at time.Time, b casebook.Body) {
	if at.After(g.now) {
		return
	}
	i := len(g.entries)
	g.entries = append(g.entries, casebook.Entry{ID: fmt.Sprintf("%08x-0000-7000-8000-%012x", i+1, i+1), Case: g.id, Kind: b.Kind(), Version: casebook.Version(b.Kind()),
		At: at, Recorded: at.Add(2 * time.Minute), Author: "N. Quiet", Body: b})
}

// wounds are kinds of wounds with a site each; none lies beside a great vessel.
var wounds = []casebook.WoundFound{
	{Site: "sacrum", Type: "pressure", Stage: "3"}, {Site: "left hip", Type: "pressure", Stage: "4"}, {Site: "right buttock", Type: "pressure", Stage: "3"},
	{Site: "lower abdomen, midline", Type: "surgical"}, {Site: "left flank", Type: "surgical"}, {Site: "back", Type: "surgical"},
	{Site: "right thigh, outer side", Type: "traumatic", Limb: ptr(true)}, {Site: "left foot, side", Type: "diabetic foot", Limb: ptr(true)}, {Site: "right lower leg", Type: "venous", Limb: ptr(true)},
}

var topics = []string{"alarms", "leak", "canister", "battery", "bleeding", "infection", "off-time", "whom to call"}

func (g *maker) make() {
	days := g.in(7, 35)
	start := g.now.Add(-time.Duration(days*24) * time.Hour).Truncate(24 * time.Hour).Add(9 * time.Hour)
	w := pick(g, wounds...)
	w.Wound, w.Circumferential, w.PoorPerfusion, w.Infected = "A", ptr(false), ptr(false), ptr(false)
	if w.Limb == nil {
		w.Limb = ptr(false)
	}
	every := pick(g, 48.0, 60, 72)
	risk := ""
	if g.r.IntN(5) == 0 {
		risk = pick(g, "anticoagulant", "bleeding_risk", "allergy", "cord_injury")
	}
	answers := map[string]string{}
	for _, q := range casebook.Questions {
		answers[q.ID] = casebook.AnswerNo
	}
	order := casebook.OrderWritten{Prescriber: "Dr Quiet", Wounds: []string{"A"}, Stages: []casebook.Stage{{SuctionMmHg: pick(g, 100.0, 125)}}, Filler: "foam", ContactLayer: "none",
		ChangeEveryH: &every, Goal: "bed level", GoalKind: "bed level", DurationDays: ptr(60.0)}
	if risk != "" {
		answers[risk], order.AcceptsRisks = casebook.AnswerYes, []string{risk}
	}
	place := pick(g, "home", "home", "nursing home", "ward")
	walks, tunnel, alarms := g.r.IntN(2) == 0, g.r.IntN(6) == 0, g.r.IntN(10) == 0
	size, pump, perDay := pick(g, 300.0, 400, 500), "portable", g.in(20, 80)
	g.tell(start, casebook.PersonRegistered{Name: "Quiet Person", Born: fmt.Sprintf("%d-06-15", 1935+g.r.IntN(50)), Place: place, Zone: "Europe/London", Nurse: "N. Quiet", Mobility: map[bool]string{true: "walks", false: "chair"}[walks], WeightKg: ptr(g.in(52, 110)),
		Contacts: []casebook.Contact{{Role: "nurse on call", Phone: "0115 496 0100"}, {Role: "prescriber", Phone: "0115 496 0155"}}})
	g.tell(start.Add(10*time.Minute), w)
	g.tell(start.Add(15*time.Minute), casebook.ScreeningDone{Answers: answers})
	g.tell(start.Add(25*time.Minute), order)
	g.tell(start.Add(30*time.Minute), casebook.PumpAssigned{Pump: "P-1", Class: pump, CanisterML: &size, Wounds: []string{"A"}})
	g.tell(start.Add(35*time.Minute), casebook.TeachingGiven{To: pick(g, "patient", "carer"), Topics: topics, Understood: ptr(true)})
	length, width, depth := g.in(4, 9), g.in(2, 4.5), g.in(1.2, 3.5)
	area, deep := g.in(0.07, 0.14), g.in(0.12, 0.22)
	usual := g.in(115, 145)
	content, changed, measured := 0.0, start, time.Time{}
	for at, last := start.Add(time.Hour), start; !at.After(g.now); {
		next := g.visitAfter(at, every)
		content += g.near(perDay, 0.12) * at.Sub(last).Hours() / 24
		weeks := at.Sub(start).Hours() / 168
		v := casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "A", In: []casebook.Pieces{{Filler: "foam", Count: 1}}, Out: []casebook.Pieces{{Filler: "foam", Count: 1}}, ContactLayer: ptr(false), Periwound: []string{"intact"}, Bed: []string{"granulation"}, Exudate: pick(g, "little", "moderate")}},
			Seal: "holds", SuctionMmHg: ptr(order.Stages[0].SuctionMmHg), NextVisit: &next,
			Seen:  casebook.Seen{Signs: []string{"none"}, TemperatureC: ptr(math.Round(10*g.in(36.2, 37.4)) / 10), Pain: ptr(float64(g.r.IntN(5))), SystolicMmHg: ptr(math.Round(g.near(usual, 0.04))), SystolicUsualMmHg: ptr(math.Round(usual))},
			Power: &casebook.PowerNoted{BatteryPct: ptr(math.Round(g.in(70, 100))), PluggedIn: ptr(true), Therapy: "on"}}
		if walks && g.r.IntN(3) == 0 {
			plug := at.Truncate(24 * time.Hour).Add(20 * time.Hour)
			v.Power.PluggedIn, v.Power.PlugInAt = ptr(false), &plug
			g.tell(plug, casebook.PowerNoted{BatteryPct: ptr(45.0), PluggedIn: ptr(true), Therapy: "on", Note: "By telephone."})
		}
		if alarms && weeks > 0 && g.r.IntN(3) == 0 {
			h := at.Add(time.Duration(g.in(6, 30) * float64(time.Hour)))
			g.tell(h, casebook.AlarmReported{Alarm: pick(g, "leak", "blockage", "tilted"), Settled: ptr(true), SuctionMmHg: ptr(order.Stages[0].SuctionMmHg), ReportedBy: "the carer"})
		}
		if at.Equal(start.Add(time.Hour)) {
			v.Wounds[0].Out, v.Wounds[0].NoneOut = nil, true
		}
		k := casebook.CanisterRead{VolumeML: ptr(math.Round(content/5) * 5), Colour: "straw"}
		ahead := content + 1.4*perDay*next.Sub(at).Hours()/24
		if !v.Wounds[0].NoneOut && (ahead > 0.7*size || next.Sub(changed) > 6*24*time.Hour) {
			k.Changed, content, changed = ptr(true), 0, at
		}
		v.Canister = &k
		g.tell(at, v)
		if at.Sub(measured) > 7*24*time.Hour-8*time.Hour {
			side := math.Pow(1-area, weeks/2)
			round := func(x, share float64) *float64 { return ptr(math.Max(0.1, math.Round(10*g.near(x, share))/10)) }
			gran := math.Min(95, 60+5*math.Round(weeks*2))
			m := casebook.WoundMeasured{Wound: "A", LengthCm: round(length*side, 0.02), WidthCm: round(width*side, 0.02), DepthCm: round(depth*math.Pow(1-deep, weeks), 0.04),
				Method: "ruler", Convention: "head to toe", NoneUnder: true, BedLevel: ptr(false), Tissue: &casebook.Tissue{GranulationPct: gran, SloughPct: 100 - gran}}
			if tunnel {
				m.NoneUnder, m.Tunnels = false, []casebook.Under{{FromClock: 2, DepthCm: math.Round(10*g.near(2.5, 0.05)) / 10}}
			}
			g.tell(at.Add(4*time.Minute), m)
			measured = at
		}
		g.tell(at.Add(12*time.Minute), casebook.ReviewSigned{Hash: fmt.Sprintf("%064x", g.r.Uint64()), AsOf: at, Rules: "invented", Program: "invented", Purpose: "visit"})
		at, last = next.Add(time.Duration(g.in(-45, 90))*time.Minute), at
	}
}

// visitAfter is the next visit in working hours, within the interval.
func (g *maker) visitAfter(at time.Time, every float64) time.Time {
	next := at.Add(time.Duration((every - g.in(1, 5)) * float64(time.Hour))).Truncate(15 * time.Minute)
	switch h := next.Hour(); {
	case h < 8:
		next = next.Add(-time.Duration(h+7) * time.Hour) // the afternoon before
	case h > 17:
		next = next.Add(-time.Duration(h-16) * time.Hour)
	}
	return next
}

// Share is how often a rule speaks on quiet days.
type Share struct {
	Rule  string
	Level rule.Level
	// Days is on how many patient-days it spoke.
	Days int
}

// Result is what was said over all patient-days.
type Result struct {
	Patients, Days int
	// Pressing are findings of level Today or higher, All those of every level; a finding counts once a patient-day.
	Pressing, All int
	// Quiet is on how many patient-days nothing of level Today or higher was said.
	Quiet int
	// Shares are the rules, the most frequent first.
	Shares []Share
}

// PerDay is the number of findings of level Today or higher a patient-day.
func (r Result) PerDay() float64 { return float64(r.Pressing) / float64(r.Days) }

// hours at which a day is looked at: the morning, the afternoon and the evening.
var hours = []int{8, 14, 20}

// Count reviews patients on each of the days before now, as the record stood then.
func Count(rules *rule.Set, patients, days int) Result {
	eq := equipment.BuiltIn()
	out := Result{Patients: patients}
	type key struct {
		rule  string
		level rule.Level
	}
	shares := map[key]int{}
	for n := range patients {
		c := Patient(n)
		for d := range days {
			day := Now.AddDate(0, 0, -d).Truncate(24 * time.Hour)
			seen := map[string]key{}
			for _, h := range hours {
				at := day.Add(time.Duration(h) * time.Hour)
				for _, f := range review.Of(state.Of(c, rules, eq, nil, at), rules).Findings {
					seen[f.Key()+string(f.Level)] = key{f.Rule, f.Level}
				}
			}
			out.Days++
			pressing := 0
			for _, k := range seen {
				shares[k]++
				if k.level.Rank() <= rule.Today.Rank() {
					pressing++
				}
			}
			out.All, out.Pressing = out.All+len(seen), out.Pressing+pressing
			if pressing == 0 {
				out.Quiet++
			}
		}
	}
	for k, n := range shares {
		out.Shares = append(out.Shares, Share{k.rule, k.level, n})
	}
	sort.Slice(out.Shares, func(i, j int) bool {
		a, b := out.Shares[i], out.Shares[j]
		if a.Days != b.Days {
			return a.Days > b.Days
		}
		return a.Rule < b.Rule
	})
	return out
}
