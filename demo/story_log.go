package demo

import (
	"math"
	"time"

	"lowtide/casebook"
	"lowtide/pumplog"
)

// readOut is one pump log: how long before now it begins and ends, and what is unusual in it. The rows are five minutes
// apart; everything else follows from the order and the pump of the case.
type readOut struct {
	from, to time.Duration
	// lost leaves the readings out, as when only the entry came over.
	lost bool
	edit func(l *logRow)
}

// logRow is a row in the making: at is the time, change that of the newest dressing change before now.
type logRow struct {
	*pumplog.Sample
	at, change time.Time
	now        time.Time
	ordered    float64
	gone       bool
}

// ago is how long before now the row is.
func (l *logRow) ago() time.Duration { return l.now.Sub(l.at) }

// sinceChange is how long after the newest dressing change the row is.
func (l *logRow) sinceChange() time.Duration { return l.at.Sub(l.change) }

func (l *logRow) off() { l.SuctionMmHg, l.FlowMLMin, l.Therapy = 0, 0, pumplog.No }

// readOuts are the logs of the invented pumps, by patient.
var readOuts = map[string]readOut{
	// Off over supper, and an alarm that nobody asks about any more.
	"Ines Caldeira": {from: 6 * day, to: 40 * minute, edit: func(l *logRow) {
		if s := l.sinceChange(); s > 2*hour && s < 4*hour+40*minute {
			l.off()
		} else if h := int(s / hour); s > 5*hour && h%3 == 0 && l.at.Minute() < 10 {
			l.Alarm = 1
		}
	}},
	"Tobias Wendt": {from: 8 * day, to: 40 * minute, edit: func(l *logRow) {
		if s := l.sinceChange(); s > 20*hour && s < 22*hour || s > 30*hour && s < 33*hour {
			l.FlowMLMin = 0.4
		}
	}},
	// A battery of the second year, and a pump switched off for the night.
	"Henrietta Swann": {from: 25 * day, to: 50 * minute, edit: func(l *logRow) {
		into := float64(l.at.Hour()-7) + float64(l.at.Minute())/60
		perH := 6 + 3*(1-float64(l.ago())/float64(25*day))
		l.Plugged, l.BatteryPct = pumplog.Yes, 100
		if into > 0 && into < 9 {
			l.Plugged, l.BatteryPct = pumplog.No, float32(math.Round(100-perH*into))
		}
		if h := l.at.Hour(); l.at.Before(l.change) && (h == 23 || h < 4) {
			l.SuctionMmHg = float32(l.ordered / 2)
		}
	}},
	"Wilfred Oakshott": {from: 5 * day, to: 40 * minute, edit: func(l *logRow) {
		l.SuctionMmHg *= 0.7
		l.FlowMLMin += float32(math.Max(0, 1.2*l.sinceChange().Hours()))
	}},
	// Off for half an hour, and then nobody knows.
	"Coralie Duquesne": {from: 5 * day, to: 20 * minute, edit: func(l *logRow) {
		if s := l.sinceChange(); s > 1*hour && s <= 90*minute {
			l.off()
		} else if s > 90*minute && s < 4*hour {
			l.gone = true
		}
	}},
	"Jonah Thistlewood": {from: 20 * day, to: 9 * day},
	"Aoife Gallagher":   {from: 6 * day, to: 40 * minute, edit: func(l *logRow) { l.gone = l.at.Hour()%8 < 3 }},
	"Abel Quarrington":  {from: 5 * day, to: 40 * minute, lost: true},
}

// readsOut writes the import of the patient's log, if there is one.
func (t *teller) readsOut() {
	r := readOuts[t.name]
	if r.from == 0 {
		return
	}
	row := logRow{now: t.now, ordered: 125}
	pump := ""
	for _, e := range t.entries {
		switch b := e.Body.(type) {
		case casebook.DressingChanged:
			if e.At.After(row.change) {
				row.change = e.At
			}
		case casebook.PumpAssigned:
			pump = b.Pump
		case casebook.OrderWritten:
			if len(b.Stages) > 0 {
				row.ordered = b.Stages[0].SuctionMmHg
			}
		}
	}
	nan := float32(math.NaN())
	l := &pumplog.Log{Pump: pump, Words: []string{"", "leak"}}
	n := 0
	for ago := r.from; ago > r.to; ago -= 5 * minute {
		n++
		row.at = t.now.Add(-ago)
		row.gone = false
		row.Sample = &pumplog.Sample{T: row.at.UnixMilli(), SuctionMmHg: float32(math.Round(10*t.near(row.ordered, 1.5)) / 10), FlowMLMin: float32(math.Round(10*t.near(35, 4)) / 10),
			MotorPct: nan, BatteryPct: nan, Therapy: pumplog.Yes, Row: uint32(n + 1), Rows: 1}
		if r.edit != nil {
			r.edit(&row)
		}
		if !row.gone {
			l.Samples = append(l.Samples, *row.Sample)
		}
	}
	at := func(i int) time.Time { return time.UnixMilli(l.Samples[i].T).In(t.now.Location()) }
	last := len(l.Samples) - 1
	t.ago(r.to-10*minute, casebook.LogImported{Pump: pump, File: "pump-" + pump + ".csv", From: at(0), To: at(last), Rows: last + 3, NotUsed: 2,
		Reasons: []casebook.RowWhy{{Row: 2, Why: "the time cannot be read"}}, Unused: []casebook.RowWhy{{Row: last + 3, Why: "the time cannot be read: end of"}, {Row: last + 4, Why: "the time cannot be read: export"}},
		Mapping: "time=1, suction=2:mmHg, flow=3:mL/min, battery=4:%, plugged in=5, therapy=6, alarm=7, delimiter=comma, decimal=point, header=1", Key: "demo-log"})
	if r.lost {
		return
	}
	content := pumplog.Pack(l)
	hash := casebook.BlobHash(content)
	t.blobs[hash] = content
	t.entries[len(t.entries)-1].Blobs = []string{hash}
}
