package main

import (
	"math"
	"math/rand/v2"
	"time"

	"lowtide/rule"
	"lowtide/trouble"
)

// caller is one call to come: what is really the matter, and how it answers. Its answers do not come from the program's
// own formulas.
type caller interface {
	truth() string
	// sign answers a sign, danger a danger question, try a check.
	sign(g *trouble.Sign) string
	danger(d *trouble.Danger) string
	try(c *trouble.Check) bool
}

// bench is a caller with a pump that is simulated by what happens in it: where air gets in and how much, what stands in
// the canister, the battery, how the pump stands. The words of the answers follow from these numbers, with a person who
// hears and reads as people do. None of the chances of the model's files are used.
type bench struct {
	r     *rand.Rand
	cause string
	// leak is air in mL/min at site; open is the share of the tube that is free.
	leak, open     float64
	site           string
	fillPct        float64
	batteryPct     float64
	mains          bool
	angle          float64
	set, ordered   float64
	thick, flowing bool
	deaf, misread  float64 // how badly the person hears and reads
	hoursChanged   float64
	hoursCanister  float64
	history        bool
	bleedRisk      bool
	clumsy         float64
}

// shares are how often the causes come on the bench: chosen apart from the model's priors.
var shares = []struct {
	cause string
	share float64
}{
	{"seal-dressing", 30}, {"seal-port", 8}, {"seal-tube", 5}, {"canister-seat", 7}, {"canister-full", 14}, {"kink", 12}, {"clot", 6}, {"tilt", 4},
	{"filter-wet", 2}, {"battery", 6}, {"pump-fault", 1.5}, {"program", 1.5}, {"bleeding", 1}, {"not-equipment", 2},
}

func newBench(r *rand.Rand) *bench {
	b := &bench{r: r, leak: math.Exp(r.NormFloat64()*0.6) * 4, open: 1, fillPct: 5 + 75*r.Float64(), batteryPct: 35 + 65*r.Float64(), mains: r.Float64() < 0.5,
		angle: math.Abs(r.NormFloat64()) * 8, ordered: 125, set: 125, thick: r.Float64() < 0.08, flowing: r.Float64() < 0.5,
		deaf: 0.10 + 0.35*r.Float64(), misread: 0.02 + 0.06*r.Float64(), hoursChanged: 60 * r.Float64(), hoursCanister: 90 * r.Float64(), history: r.Float64() < 0.18,
		bleedRisk: r.Float64() < 0.25, clumsy: 0.85 + 0.3*r.Float64()}
	total := 0.0
	for _, s := range shares {
		total += s.share
	}
	x := r.Float64() * total
	for _, s := range shares {
		if x -= s.share; x < 0 {
			b.cause = s.cause
			break
		}
	}
	b.breakIt()
	return b
}

// breakIt puts the fault in.
func (b *bench) breakIt() {
	r := b.r
	big := func() float64 { return 250 * math.Exp(r.NormFloat64()*0.7) }
	switch b.cause {
	case "seal-dressing":
		b.leak, b.site, b.history = big(), "dressing", r.Float64() < 0.5
		if r.Float64() < 0.35 {
			b.hoursChanged = 5 * r.Float64()
		}
	case "seal-port":
		b.leak, b.site, b.history = big(), "port", r.Float64() < 0.4
	case "seal-tube":
		b.leak, b.site = big(), "tube"
	case "canister-seat":
		b.leak, b.site = 3*big(), "canister"
		if r.Float64() < 0.75 {
			b.hoursCanister = 4 * r.Float64()
			b.fillPct = 8 * r.Float64()
		}
	case "canister-full":
		b.fillPct, b.open = 97+3*r.Float64(), 0
	case "kink":
		b.open = 0.02 * r.Float64()
	case "clot":
		b.open, b.thick = 0.05*r.Float64(), r.Float64() < 0.9
	case "tilt":
		b.angle = 50 + 40*r.Float64()
	case "filter-wet":
		b.open, b.fillPct = 0.05*r.Float64(), 40+55*r.Float64()
		if r.Float64() < 0.5 {
			b.angle = 40 + 30*r.Float64()
		}
	case "battery":
		b.batteryPct, b.mains = 9*r.Float64(), false
	case "program":
		b.set = []float64{75, 100, 150, 50, 175}[r.IntN(5)]
	case "bleeding":
		b.thick, b.flowing, b.bleedRisk, b.fillPct = r.Float64() < 0.4, true, r.Float64() < 0.7, 30+65*r.Float64()
	}
}

// suction is what the pump shows: a pump that gives 1000 mL/min at rest and nothing at 300 mmHg, against the leak.
func (b *bench) suction() float64 {
	if b.dark() || b.cause == "tilt" && b.angle > 60 || b.cause == "pump-fault" && b.leak > 3 {
		return 0
	}
	if b.open < 0.1 && b.site == "" {
		return b.set // it holds at the pump, behind the blockage
	}
	lo, hi := 0.0, b.set
	for range 40 { // the leak grows with the root of the depth, the pump's flow falls along a line
		mid := (lo + hi) / 2
		if 1000*(1-mid/300) > b.leak*math.Sqrt(mid/125) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

func (b *bench) dark() bool { return !b.mains && b.batteryPct < 2 }

// says is the alarm that this pump would give.
func (b *bench) says() string {
	switch {
	case b.dark():
		return "silent"
	case b.cause == "pump-fault":
		return "fault"
	case b.batteryPct < 10 && !b.mains:
		return "battery"
	case b.angle > 45:
		return "tilted"
	case b.fillPct > 98:
		return "full"
	case b.open < 0.1:
		return "blockage"
	case b.leak > 120:
		return "leak"
	}
	return "silent"
}

// truth implements caller.
func (b *bench) truth() string { return b.cause }

// slip gives another of the answers, as somebody does who reads or hears wrongly.
func (b *bench) slip(g *trouble.Sign, right string, rate float64) string {
	if b.r.Float64() < rate {
		return g.Answers[b.r.IntN(len(g.Answers))].ID
	}
	return right
}

// pick is right with a chance, otherwise the other word.
func (b *bench) pick(p float64, one, other string) string {
	if b.r.Float64() < p {
		return one
	}
	return other
}

// sign implements caller. One case a sign, long for that reason alone.
func (b *bench) sign(g *trouble.Sign) string {
	s := b.suction()
	switch g.ID {
	case "alarm":
		return b.slip(g, b.says(), 2*b.misread)
	case "hiss":
		if b.site == "" || b.leak < 60 || b.r.Float64() < b.deaf {
			return b.slip(g, "none", b.misread)
		}
		if b.r.Float64() < 0.12 {
			return map[string]string{"dressing": "port", "port": "dressing", "tube": "port", "canister": "tube"}[b.site]
		}
		return b.site
	case "shown":
		switch {
		case s < 5:
			return b.slip(g, "none", b.misread)
		case s < b.ordered-12:
			return b.slip(g, "less", b.misread)
		case s > b.ordered+12:
			return b.slip(g, "more", b.misread)
		}
		return b.slip(g, "ordered", b.misread)
	case "film":
		atWound := s
		if b.open < 0.1 {
			atWound *= 0.3 + 0.5*b.r.Float64()
		}
		if b.site == "dressing" && b.r.Float64() < 0.2 || b.cause == "bleeding" && b.r.Float64() < 0.25 {
			return "wet"
		}
		return b.slip(g, b.pick(map[bool]float64{true: 0.88, false: 0.15}[atWound > 70], "firm", "soft"), b.misread)
	case "tube":
		switch {
		case b.thick && b.r.Float64() < 0.75:
			return "thick"
		case b.open < 0.1:
			return b.pick(0.75, "still", "empty")
		case b.site != "":
			return b.pick(0.55, "empty", "runs")
		}
		return b.pick(map[bool]float64{true: 0.75, false: 0.3}[b.flowing], "runs", b.pick(0.4, "still", "empty"))
	case "canister":
		seen := b.fillPct + 6*b.r.NormFloat64()
		if seen < 50 {
			return "low"
		} else if seen < 94 {
			return "part"
		}
		return "full"
	case "position":
		return b.pick(map[bool]float64{true: 0.94, false: 0.06}[b.angle > 35], "lying", "upright")
	case "power":
		if b.batteryPct < 10 && !b.mains {
			return b.slip(g, "low", b.misread)
		}
		return b.slip(g, map[bool]string{true: "mains", false: "charged"}[b.mains], b.misread)
	case "recent":
		switch {
		case b.hoursCanister < 4:
			return b.pick(0.8, "canister", "nothing")
		case b.hoursChanged < 5:
			return b.pick(0.7, "dressing", "nothing")
		case b.cause == "kink" || b.cause == "tilt" || b.site == "dressing" || b.site == "tube":
			return b.pick(0.55, "moved", "nothing")
		}
		return b.pick(0.3, "moved", "nothing")
	case "motor":
		switch {
		case b.dark() || b.cause == "pump-fault" && b.r.Float64() < 0.6:
			return "silent"
		case b.leak > 120:
			return b.slip(g, "always", 2*b.misread)
		}
		return b.slip(g, b.pick(0.65, "sometimes", "silent"), b.misread)
	case "canister_expected_pct":
		answer, _ := g.Band(math.Max(0, b.fillPct*math.Exp(0.15*b.r.NormFloat64())), shared)
		return answer
	case "battery_expected_pct":
		if b.mains {
			return "charged"
		}
		answer, _ := g.Band(b.batteryPct+8*b.r.NormFloat64(), nil)
		return answer
	case "seal_before":
		return map[bool]string{true: "leaked", false: "held"}[b.history]
	case "thick":
		return b.pick(map[bool]float64{true: 0.6, false: 0.12}[b.thick], "yes", "no")
	case "program_differs":
		return b.pick(map[bool]float64{true: 0.6, false: 0.02}[b.set != b.ordered], "yes", "no")
	case "changed_h":
		answer, _ := g.Band(b.hoursChanged, nil)
		return answer
	case "canister_changed_h":
		answer, _ := g.Band(b.hoursCanister, nil)
		return answer
	case "bleeding_risk":
		return map[bool]string{true: "yes", false: "no"}[b.bleedRisk]
	}
	return trouble.Unknown // what this bench does not have: a log, earlier calls
}

// danger implements caller.
func (b *bench) danger(d *trouble.Danger) string {
	p := 0.01
	switch {
	case b.cause == "bleeding" && d.ID == "blood":
		p = 0.85
	case b.cause == "not-equipment" && d.ID == "pain":
		p = 0.4
	}
	if b.r.Float64() < p {
		return trouble.Yes
	}
	if b.r.Float64() < 0.02 {
		return trouble.Unknown
	}
	return trouble.No
}

// mends are how often a check mends a cause on the bench: set apart from the model's file.
var mends = map[string]map[string]float64{
	"upright": {"tilt": 0.9}, "plug-in": {"battery": 0.95}, "straighten": {"kink": 0.88}, "connectors": {"seal-tube": 0.75, "kink": 0.05},
	"reseat": {"canister-seat": 0.88}, "press-film": {"seal-dressing": 0.42, "seal-port": 0.2}, "patch": {"seal-dressing": 0.72, "seal-port": 0.5},
	"press-port": {"seal-port": 0.5}, "new-canister": {"canister-full": 0.95, "filter-wet": 0.9, "canister-seat": 0.7, "clot": 0.05},
	"drain-tube": {"clot": 0.3, "kink": 0.1}, "restart": {"pump-fault": 0.3}, "read-program": {"program": 0.95, "not-equipment": 0.1},
	"all-well": {"not-equipment": 0.8},
}

// try implements caller.
func (b *bench) try(c *trouble.Check) bool {
	return b.r.Float64() < math.Min(0.99, mends[c.ID][b.cause]*b.clumsy)
}

// drawn is a caller who answers by a table of chances: the model's own numbers, each row stirred by as much as sigma on
// the logarithm, so that the model is wrong about every one of them.
type drawn struct {
	r     *rand.Rand
	m     *trouble.Model
	cause string
	sigma float64
	// key stirs a row the same way in every call.
	key uint64
}

func newDrawn(r *rand.Rand, m *trouble.Model, sigma float64, key uint64) *drawn {
	d := &drawn{r: r, m: m, sigma: sigma, key: key}
	var p []float64
	for i := range m.Causes {
		p = append(p, m.Causes[i].Prior)
	}
	d.cause = m.Causes[d.draw(p, "prior")].ID
	return d
}

// draw takes a place by chances that are stirred by the name of the row.
func (d *drawn) draw(p []float64, row string) int {
	h := d.key
	for _, c := range []byte(row) {
		h = (h ^ uint64(c)) * 1099511628211
	}
	stir := rand.New(rand.NewPCG(h, 1))
	q, sum := make([]float64, len(p)), 0.0
	for i := range p {
		q[i] = p[i] * math.Exp(d.sigma*stir.NormFloat64())
		sum += q[i]
	}
	x := d.r.Float64() * sum
	for i := range q {
		if x -= q[i]; x < 0 {
			return i
		}
	}
	return len(q) - 1
}

func (d *drawn) truth() string { return d.cause }

func (d *drawn) sign(g *trouble.Sign) string {
	p, ok := g.Given[d.cause]
	if !ok {
		p = g.Usual
	}
	return g.Answers[d.draw(p, g.ID+d.cause)].ID
}

func (d *drawn) danger(q *trouble.Danger) string {
	p, ok := q.Given[d.cause]
	if !ok {
		p = q.Usual
	}
	return []string{trouble.Yes, trouble.No}[d.draw([]float64{p, 1 - p}, q.ID+d.cause)]
}

func (d *drawn) try(c *trouble.Check) bool {
	p := c.Finds[d.cause]
	return p > 0 && d.draw([]float64{p, 1 - p}, c.ID+d.cause) == 0
}

// shared gives a built-in shared value.
func shared(id, unit string) float64 {
	rules, err := rule.Builtin()
	if err != nil {
		panic(err)
	}
	return rules.Values(time.Time{}).Number(id, unit)
}
