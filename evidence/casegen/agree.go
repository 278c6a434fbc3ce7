package casegen

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/pumplog"
)

// agree lets what a body says agree with the case so far, and with itself where intake asks for it. A kind that is not
// here stays as its tags made it.
func (m *maker) agree(body any) {
	switch b := body.(type) {
	case *casebook.PersonRegistered:
		b.Zone = m.zone.String()
		if b.Born != "" {
			b.Born = fmt.Sprintf("19%02d%s", 20+m.rnd.IntN(80), b.Born[4:])
			if strings.HasSuffix(b.Born, "02-29") {
				b.Born = b.Born[:8] + "28"
			}
		}
	case *casebook.WoundFound:
		m.found(b)
	case *casebook.ScreeningDone:
		if b.Wound != "" {
			b.Wound = m.anyWound().name
		}
	case *casebook.OrderWritten:
		m.order(b)
	case *casebook.DecisionMade:
		if b.Choice == "continue" || b.NextAt != nil {
			b.NextAt = m.later(21 * day)
		}
	case *casebook.PumpAssigned:
		m.assigned(b)
	case *casebook.PumpReturned:
		b.Pump = m.pumpName()
		for i := range m.pumps {
			m.pumps[i].returned = m.pumps[i].returned || m.pumps[i].name == b.Pump
		}
	case *casebook.DressingChanged:
		m.changed(b)
	case *casebook.PiecesAccounted:
		w := m.anyWound()
		b.Wound = w.name
		if len(w.in) > 0 {
			b.Filler = w.in[0].Filler
		}
	case *casebook.WoundMeasured:
		m.measured(b)
	case *casebook.PhotoTaken:
		b.Wound = m.anyWound().name
		b.WidthPx, b.HeightPx = max(b.WidthPx, 200), max(b.HeightPx, 200)
	case *casebook.OutlineTraced:
		m.traced(b)
	case *casebook.CanisterRead:
		m.canister(b)
	case *casebook.AlarmReported:
		b.OffSince = m.before(b.OffSince)
	case *casebook.PowerNoted:
		m.power(b)
	case *casebook.LogImported:
		b.Pump = m.pumpName()
		b.To = m.at.Add(-time.Duration(m.rnd.IntN(90)) * time.Minute).Truncate(time.Minute)
		b.From = b.To.Add(-time.Duration(m.between(2, min(96, m.at.Sub(m.start).Hours()+3)) * float64(time.Hour))).Truncate(time.Minute)
		b.NotUsed = min(b.NotUsed, b.Rows)
	case *casebook.NoteWritten:
		b.NextVisit = m.next(b.NextVisit)
	case *casebook.ReviewSigned:
		b.AsOf = m.at
	case *casebook.CallTaken:
		m.call(b)
	case *casebook.PayerNoted:
		if b.Start != "" && b.HomeSince != "" && b.HomeSince < b.Start {
			b.Start, b.HomeSince = b.HomeSince, b.Start
		}
	}
}

func (m *maker) later(most time.Duration) *time.Time {
	t := m.at.Add(time.Hour + time.Duration(m.rnd.Float64()*float64(most))).Truncate(time.Minute)
	return &t
}

// next moves a planned visit behind now, most of them to when it is due.
func (m *maker) next(t *time.Time) *time.Time {
	if t == nil {
		return nil
	}
	return m.later(3 * m.every)
}

// before moves a time that must have been to within the last ten hours.
func (m *maker) before(t *time.Time) *time.Time {
	if t == nil {
		return nil
	}
	b := m.at.Add(-time.Duration(m.rnd.Float64() * float64(10*time.Hour))).Truncate(time.Minute)
	return &b
}

func (m *maker) woundNames() []string {
	var out []string
	for _, w := range m.wounds {
		out = append(out, w.name)
	}
	return out
}

func (m *maker) anyWound() *wound { return &m.wounds[m.rnd.IntN(len(m.wounds))] }

// fillers drops a filler that stands twice in one list.
func fillers(list []casebook.Pieces) []casebook.Pieces {
	var out []casebook.Pieces
	for _, p := range list {
		if !slices.ContainsFunc(out, func(q casebook.Pieces) bool { return q.Filler == p.Filler }) {
			out = append(out, p)
		}
	}
	return out
}

func (m *maker) found(b *casebook.WoundFound) {
	b.InPlace = fillers(b.InPlace)
	b.InPlaceUnknown = b.InPlaceUnknown && len(b.InPlace) == 0
	if strings.Contains(b.Site, "left") && b.Side == "right" {
		b.Side = "left"
	}
	if len(m.wounds) > 0 && m.chance(0.15) {
		b.Wound = m.anyWound().name // again
		return
	}
	if len(m.wounds) == 6 {
		b.Wound = m.wounds[0].name
		return
	}
	b.Wound = string(rune('A' + len(m.wounds)))
	m.wounds = append(m.wounds, wound{name: b.Wound, length: m.between(2, 14), width: m.between(1, 8), depth: m.between(0, 5), week: pick(m.rnd, 0.8, 0.88, 0.94, 1, 1.08), in: b.InPlace})
}

func (m *maker) order(b *casebook.OrderWritten) {
	if b.GoalKind != "depth under" && b.GoalKind != "bed level" && b.GoalKind != "level and granulated" {
		b.GoalDepthCm = nil
	} else if b.GoalKind == "depth under" && b.GoalDepthCm == nil {
		x := m.between(0.2, 2)
		b.GoalDepthCm = &x
	}
	if b.GoalKind != "area under" {
		b.GoalAreaCm2 = nil
	} else if b.GoalAreaCm2 == nil {
		x := m.between(1, 20)
		b.GoalAreaCm2 = &x
	}
	if b.GoalKind != "level and granulated" {
		b.GoalGranulationPct = nil
	}
	if m.chance(m.odd) {
		return
	}
	// As orders are: continuous, or two stages of some minutes.
	stages := []casebook.Stage{{SuctionMmHg: m.ordered}}
	if m.chance(0.25) {
		long, short := pick(m.rnd, 3.0, 5, 10, 60, 180), pick(m.rnd, 1.0, 2, 3, 30)
		stages = []casebook.Stage{{SuctionMmHg: m.ordered, HoldMin: &long}, {SuctionMmHg: pick(m.rnd, 0.0, 25, 50), HoldMin: &short}}
	}
	b.Stages = stages
}

// pumpName is a pump of the case, or one that it does not have.
func (m *maker) pumpName() string {
	if len(m.pumps) == 0 || m.chance(m.odd/4) {
		return "P-unknown"
	}
	return m.pumps[m.rnd.IntN(len(m.pumps))].name
}

func (m *maker) assigned(b *casebook.PumpAssigned) {
	if len(m.pumps) > 0 && m.chance(0.2) {
		b.Pump = m.pumpName()
	} else {
		b.Pump = "P-" + strconv.Itoa(1+len(m.pumps))
	}
	size := pick(m.rnd, 200.0, 300, 400, 500, 800)
	if b.CanisterML != nil {
		b.CanisterML = &size
		m.told = size
	}
	if len(b.Wounds) == 0 && m.chance(0.5) {
		b.Wounds = m.woundNames()
	}
	m.pumps = append(m.pumps, pump{name: b.Pump, size: size, read: m.at})
}

// canister reads what has run since the last reading, up to the size that was told last: intake refuses more.
func (m *maker) canister(b *casebook.CanisterRead) {
	if len(m.pumps) == 0 {
		return
	}
	p := &m.pumps[m.rnd.IntN(len(m.pumps))]
	if b.Pump != "" {
		b.Pump = p.name
	}
	p.mL += m.mL * m.at.Sub(p.read).Hours() / 24 * m.between(0.7, 1.4)
	p.read = m.at
	if m.told > 0 {
		p.size = min(p.size, m.told)
	}
	if b.VolumeML != nil || m.chance(0.7) {
		v := math.Round(min(p.mL, p.size)/10) * 10
		if m.chance(m.odd) {
			v = math.Round(m.between(0, 1.09*p.size))
		}
		b.VolumeML = &v
	}
	if p.mL > 0.7*p.size && m.chance(0.8) {
		yes := true
		b.Changed = &yes
	}
	if b.Changed != nil && *b.Changed {
		p.mL = 0
	}
	if b.SizeML != nil {
		p.size = pick(m.rnd, 200.0, 300, 500, 800)
		size := p.size
		b.SizeML = &size
		m.told = p.size
	}
}

func (m *maker) power(b *casebook.PowerNoted) {
	if b.Therapy == "off" && m.chance(0.6) {
		b.Therapy = "on"
	}
	if b.PlugInAt != nil {
		b.PlugInAt = m.later(day)
	}
}

// changed counts pieces: what went in last comes out, and something goes in.
func (m *maker) changed(b *casebook.DressingChanged) {
	n := len(m.wounds)
	if m.chance(0.2) {
		n = 1 + m.rnd.IntN(n)
	}
	for len(b.Wounds) < n {
		b.Wounds = append(b.Wounds, casebook.WoundChange{})
	}
	b.Wounds = b.Wounds[:n]
	for i, at := range m.rnd.Perm(len(m.wounds))[:n] {
		w, k := &m.wounds[at], &b.Wounds[i]
		k.Wound = w.name
		k.Out, k.In = fillers(k.Out), fillers(k.In)
		if !m.chance(m.odd) {
			k.Out, k.NoneOut = w.in, len(w.in) == 0
		}
		if !m.chance(m.odd) {
			k.In = []casebook.Pieces{{Filler: pick(m.rnd, "foam", "foam", "foam", "gauze", "dense foam"), Count: 1 + m.rnd.IntN(3)}}
		}
		k.NoneOut = k.NoneOut && len(k.Out) == 0
		k.NoneIn = k.NoneIn && len(k.In) == 0
		w.in = k.In
	}
	if b.SuctionMmHg != nil && !m.chance(m.odd) {
		x := math.Round(m.ordered * m.between(0.97, 1.03))
		b.SuctionMmHg = &x
	}
	if h := b.HoldTest; h != nil && !m.chance(m.odd) {
		h.SecondMmHg = math.Round(h.FirstMmHg * m.between(0.5, 1))
	}
	if b.Canister != nil {
		m.canister(b.Canister)
	}
	if b.Power != nil {
		m.power(b.Power)
	}
	if b.NextVisit != nil || m.chance(0.5) {
		b.NextVisit = m.later(2 * m.every)
	}
}

// measured is the size that the course gives, with an error of some percent.
func (m *maker) measured(b *casebook.WoundMeasured) {
	w := m.anyWound()
	b.Wound = w.name
	left := math.Pow(w.week, m.at.Sub(m.start).Hours()/168)
	size := func(x float64) *float64 {
		v := min(20, math.Round(10*x*math.Sqrt(left)*m.between(0.94, 1.06))/10)
		return &v
	}
	if !m.chance(m.odd) {
		b.LengthCm, b.WidthCm, b.DepthCm = size(w.length), size(w.width), size(w.depth)
	}
	if b.Method != "outline" && !m.chance(m.odd) {
		b.Method = "ruler"
		b.Convention = "head to toe"
	}
	b.NoneUnder = b.NoneUnder && len(b.Undermining)+len(b.Tunnels) == 0
	for i := range b.Tunnels {
		b.Tunnels[i].ToClock = nil
	}
	if b.VolumeCm3 == nil {
		b.VolumeMethod = ""
	} else if b.VolumeMethod == "" {
		b.VolumeMethod = "cast"
	}
	m.tissue(b.Tissue)
}

func (m *maker) tissue(t *casebook.Tissue) {
	if t == nil {
		return
	}
	g := math.Round(m.between(0, 100))
	s := math.Round(m.between(0, 100-g))
	*t = casebook.Tissue{GranulationPct: g, SloughPct: s}
	rest := 100 - g - s
	*pick(m.rnd, &t.EscharPct, &t.EpitheliumPct, &t.OtherPct) = rest
}

// ring writes a closed line around a place as casebook reads points.
func (m *maker) ring(x, y, a, b float64, n int) string {
	points := make([][2]float64, n)
	for i := range points {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		r := m.between(0.9, 1)
		points[i] = [2]float64{x + r*a*c, y + r*b*s}
	}
	return casebook.WritePointsCm(points)
}

// traced draws ellipses on a photo of the case.
func (m *maker) traced(b *casebook.OutlineTraced) {
	p := m.photos[m.rnd.IntN(len(m.photos))]
	b.Photo, b.Wound, b.AddsTo = p.id, p.wound, ""
	if len(m.outlines) > 0 && m.chance(m.odd) {
		b.AddsTo = m.pick(m.outlines)
	}
	scale := float64(min(p.width, p.height)) / 20 // pixels in a centimetre
	w, h := float64(p.width), float64(p.height)
	area := 0.0
	for i := range b.Parts {
		part := &b.Parts[i]
		x, y := w*m.between(0.35, 0.65), h*m.between(0.35, 0.65)
		r, s := scale*m.between(0.5, 4), scale*m.between(0.5, 3)
		part.Edge, part.EdgeCm = m.ring(x, y, r, s, 24), m.ring(x/scale, y/scale, r/scale, s/scale, 24)
		area += math.Pi * r * s / scale / scale
		part.Islands = nil
		if m.chance(0.2) {
			part.Islands = []string{m.ring(x, y, r/4, s/4, 8)}
		}
	}
	if !m.chance(m.odd) {
		b.AreaCm2 = math.Round(10*area*0.9) / 10
		b.AreaSECm2 = math.Round(100*area*m.between(0.02, 0.15)) / 100
	}
	b.Scale.OneLaid = b.Scale.OneLaid && b.Scale.By == "one strip"
	b.Scale.Ruler = ""
	if b.Scale.By == "ruler" {
		cm := 10.0
		b.Scale.RulerCm, b.Scale.Ruler = &cm, fmt.Sprintf("10,10 %.1f,10", min(w, 10+10*scale))
	}
	b.Marks, b.MarksCm = "", ""
	if m.chance(0.4) {
		b.Marks, b.MarksCm = "20,20 100,30 50,150", "1,1 5,1.5 2.5,7.5"
	}
	if b.VolumeCm3 != nil && b.VolumeModel == "" {
		b.VolumeModel = "cone"
	}
	m.tissue(b.Tissue)
	if b.Tissue != nil && b.TissueFrom == "" {
		b.TissueFrom = "confirmed"
	}
}

func (m *maker) call(b *casebook.CallTaken) {
	b.Call = "call-" + strconv.Itoa(len(m.calls))
	if len(m.calls) > 0 && m.chance(0.4) {
		b.Call = m.pick(m.calls)
	}
	if b.GoesOn != "" {
		b.GoesOn = m.caseID
	}
	b.OffSince = m.before(b.OffSince)
	for i := range b.Answers {
		b.Answers[i].Answer = m.pick(m.words.lists["answers of "+b.Answers[i].Question])
	}
}

// log is the content of an imported log: a reading every ten minutes of a pump that is off now and then, leaks, sounds
// an alarm or says nothing for hours.
func (m *maker) log(b *casebook.LogImported) []byte {
	nan := float32(math.NaN())
	l := &pumplog.Log{Pump: b.Pump, Words: []string{"", "leak", "blockage"}}
	therapy, quiet, leak := true, false, 1.0
	battery := 100.0
	for t, row := b.From, uint32(2); !t.After(b.To); t, row = t.Add(10*time.Minute), row+1 {
		switch r := m.rnd.Float64(); {
		case r < 0.01:
			therapy = !therapy
		case r < 0.02:
			quiet = !quiet
		case r < 0.03:
			leak = m.between(0.2, 8)
		case !therapy && r < 0.2:
			therapy = true
		}
		battery -= m.between(0, 1.5)
		if battery < 10 {
			battery = 100
		}
		if quiet {
			continue
		}
		s := pumplog.Sample{T: t.UnixMilli(), SuctionMmHg: float32(math.Round(m.ordered + m.between(-4, 4))), FlowMLMin: float32(math.Round(10*30*leak) / 10), MotorPct: nan, BatteryPct: float32(math.Round(battery)), Therapy: pumplog.Yes, Plugged: pumplog.No, Row: row, Rows: 1}
		if !therapy {
			s.SuctionMmHg, s.FlowMLMin, s.Therapy = 0, 0, pumplog.No
		}
		if m.chance(0.02) {
			s.Alarm = uint8(1 + m.rnd.IntN(2))
		}
		l.Samples = append(l.Samples, s)
	}
	b.Rows = max(1, len(l.Samples)) + b.NotUsed
	return pumplog.Pack(l)
}
