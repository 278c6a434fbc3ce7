package pumplog_test

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"lowtide/evidence/kept"
	"lowtide/evidence/logsim"
	"lowtide/pumplog"
)

var update = flag.Bool("update", false, "write testdata/kept.tsv anew")

// TestKept holds how invented pump logs are read and judged, to six digits. What is right is for the simulated pumps, whose
// truth is known, and for the tables beside it; this shows that a changed number or comparison anywhere in the package
// changes what a nurse reads. When a change is meant: go test ./pumplog -run TestKept -update.
func TestKept(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 0))
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	say := func(row string, parts ...any) {
		out.WriteString(row)
		for _, p := range parts {
			d, err := kept.Digest(p, 6)
			if err != nil {
				t.Fatalf("%s: %v", row, err)
			}
			fmt.Fprintf(&out, "\t%s", d)
		}
		out.WriteByte('\n')
	}
	judge := func(row string, raw []byte, ordered float64, zone *time.Location, orders []pumplog.Order, set pumplog.Settings) {
		known := pumplog.Known{OrderedMmHg: ordered, ByOrder: rnd.IntN(2) == 0}
		g, err := pumplog.Look(bytes.NewReader(raw), known)
		if err != nil {
			say(row, err.Error())
			return
		}
		text := g.Print()
		m, problems := pumplog.ParseMapping(text, g.Mapping)
		tab, err := pumplog.Read(bytes.NewReader(raw), g.Mapping, pumplog.Options{Zone: zone, Start: keptStart, NotAfter: keptStart.AddDate(0, 0, 20), AheadMin: float64(rnd.IntN(3)) * 4})
		if err != nil {
			say(row, g, text, []any{m, problems, g.Check()}, err.Error())
			return
		}
		var results, packed []any
		for i := range tab.Logs {
			l := &tab.Logs[i]
			var p pumplog.Period
			if i == 0 && rnd.IntN(3) == 0 {
				p = pumplog.Period{From: keptStart.Add(7 * time.Hour), To: keptStart.Add(40 * time.Hour)}
			}
			r := pumplog.Judge(l, orders, zone, set, p)
			long, ok := r.LongestOff()
			results = append(results, r, long, ok, l.Interval())
			for k := range r.Days {
				results = append(results, r.Days[k].Whole(), r.Days[k].MetBy(20))
			}
			b := pumplog.Pack(l)
			back, err := pumplog.Unpack(b)
			_, cut := pumplog.Unpack(b[:len(b)/2])
			packed = append(packed, len(b), fmt.Sprintf("%v", *back), fmt.Sprint(err), fmt.Sprint(cut), pumplog.IsPacked(b)) // what is missing is no number
		}
		if len(tab.Logs) > 1 {
			packed = append(packed, fmt.Sprintf("%v", *pumplog.Merge(&tab.Logs[0], &tab.Logs[1])))
		}
		say(row, g, text, []any{m, problems, g.Check()}, tab.Report, results, packed)
	}
	at := func(mmHg ...float64) []pumplog.Order {
		o := pumplog.Order{From: keptStart.Add(-time.Hour)}
		for _, s := range mmHg {
			o.Stages = append(o.Stages, pumplog.Stage{SuctionMmHg: s, HoldMin: 5})
		}
		return []pumplog.Order{o}
	}
	for seed := range uint64(20) {
		s := logsim.Setup{Seed: seed, Days: 2 + int(seed%4), StepS: []int{60, 120, 300, 600}[seed%4], Start: keptStart, Events: seed%3 > 0, Duplicates: seed%5 == 1, OutOfOrder: seed%5 == 2, ClockJump: seed%5 == 3, Scatter: float64(seed%3) * 0.1, Coughs: float64(seed%2) * 0.02, AgeingPct: float64(seed%4) * 15}
		raw, _ := logsim.Simple(s)
		judge(fmt.Sprint("simulated ", seed), raw, 125, time.UTC, at(125), pumplog.Usual)
	}
	for i := range 190 {
		set := pumplog.Usual
		if i%4 == 0 {
			set.BandMmHg, set.OffBelowMmHg, set.EpisodeMin, set.JoinAlarmMin, set.DailyTargetH = 5+20*rnd.Float64(), 5+30*rnd.Float64(), 20*rnd.Float64(), 60*rnd.Float64(), 10+14*rnd.Float64()
			set.NightFromH, set.NightToH = rnd.IntN(24), rnd.IntN(24)
		}
		zone := time.UTC
		if i%3 == 0 {
			zone = berlin
		}
		program := []float64{125}
		if i%5 == 0 {
			program = []float64{120, 40}
		}
		judge(fmt.Sprint("made ", i), keptTable(rnd, program), []float64{0, 125, 120}[rnd.IntN(3)], zone, at(program...), set)
	}
	wrong, err := kept.Compare("testdata/kept.tsv", out.Bytes(), []string{"log", "guess", "mapping", "read back", "report", "judged", "packed"}, *update)
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range wrong {
		t.Error(w)
	}
}

var keptStart = time.Date(2026, 3, 27, 6, 0, 0, 0, time.UTC) // a night later clocks change in Berlin

// keptTable is a table of a pump in one of many layouts, with times off, leaks, blockages, gaps, alarms and broken rows.
func keptTable(rnd *rand.Rand, program []float64) []byte {
	pick := func(list ...string) string { return list[rnd.IntN(len(list))] }
	sep := pick(",", ";", "\t", ",", "|")
	decimal := "."
	if sep != "," && rnd.IntN(2) == 0 {
		decimal = ","
	}
	number := func(v float64, digits int) string {
		return strings.Replace(fmt.Sprintf("%.*f", digits, v), ".", decimal, 1)
	}
	stamp := []func(time.Time, float64) string{
		func(t time.Time, _ float64) string { return t.Format("2006-01-02T15:04:05Z") },
		func(t time.Time, _ float64) string { return t.Format("2006-01-02 15:04:05") },
		func(t time.Time, _ float64) string { return t.Format("02.01.2006 15:04") },
		func(t time.Time, _ float64) string { return t.Format("01/02/2006 03:04:05 PM") },
		func(t time.Time, _ float64) string { return t.Format("02/01/2006 15:04:05") },
		func(t time.Time, _ float64) string { return t.Format("2 Jan 2006 15:04:05") },
		func(t time.Time, _ float64) string {
			return t.In(time.FixedZone("", 3600)).Format("2006-01-02T15:04:05-07:00")
		},
		func(_ time.Time, s float64) string { return fmt.Sprintf("%.0f", s) },
		func(t time.Time, _ float64) string { return fmt.Sprint(t.Unix()) },
		func(t time.Time, _ float64) string { return fmt.Sprint(t.UnixMilli()) },
	}[rnd.IntN(10)]
	unitName, factor := "mmHg", 1.0
	switch rnd.IntN(5) {
	case 0:
		unitName, factor = "kPa", 0.133322
	case 1:
		unitName, factor = "mbar", 1.33322
	case 2:
		unitName, factor = "hPa", 1.33322
	}
	if rnd.IntN(3) == 0 {
		factor = -factor
	}
	head := []string{pick("time", "Date/Time", "timestamp", "Zeit", "elapsed_s", "clock"), pick("suction", "pressure", "vacuum", "Druck", "p") + pick("_", " [", " (", " ") + unitName}
	has := map[string]bool{}
	for _, c := range []string{"flow", "motor", "battery", "plugged", "therapy", "alarm", "pump", "target", "canister", "noise"} {
		if has[c] = rnd.IntN(3) > 0; has[c] {
			head = append(head, map[string]string{"flow": pick("flow_mL_min", "leak (mL/min)", "air flow L/min"), "motor": pick("motor_pct", "duty %", "pump speed"), "battery": pick("battery_pct", "Battery %", "charge"),
				"plugged": pick("plugged_in", "mains", "charging"), "therapy": pick("therapy", "on/off", "state"), "alarm": pick("alarm", "event", "message"), "pump": pick("pump", "serial", "device"),
				"target": pick("target", "set mmHg", "ordered_mmHg"), "canister": pick("canister_mL", "fill"), "noise": pick("x", "temp_C", "row")}[c])
		}
	}
	var b bytes.Buffer
	if rnd.IntN(6) == 0 {
		b.WriteString("\ufeff")
	}
	for range rnd.IntN(4) / 2 {
		b.WriteString(pick("Export of one pump", "# log", "Device report"+sep+sep) + "\n")
	}
	if rnd.IntN(9) > 0 {
		b.WriteString(strings.Join(head, sep) + pick("\n", "\r\n"))
	}
	step := []int{30, 60, 60, 120, 300, 900}[rnd.IntN(6)]
	n := 150 + rnd.IntN(900)
	what, left, size, battery, sec := "", 0, 1.0, 90.0, 0
	for i := range n {
		sec += step
		if rnd.IntN(200) == 0 {
			sec += step * (2 + rnd.IntN(60)) // a gap
		}
		if left--; left <= 0 {
			what, left, size = []string{"", "", "", "off", "leak", "kink", "full", "drift", "shallow"}[rnd.IntN(9)], 10+rnd.IntN(120), 1.5+3*rnd.Float64()
		}
		order := program[sec/300%len(program)]
		p, flow, motor, alarm := order+2*rnd.NormFloat64(), 40*(1+0.1*rnd.NormFloat64()), 8*(1+0.1*rnd.NormFloat64()), ""
		switch what {
		case "off":
			p, flow, motor = math.Abs(rnd.NormFloat64()), 0, 0
		case "leak":
			flow, motor, p, alarm = flow*size, motor*size, p-3*size, pick("leak", "", "", "Leak!")
		case "kink":
			flow, motor, alarm = 0.5, 0.2, pick("blockage", "", "occlusion")
		case "full":
			p, flow, alarm = p-20*size, 0, pick("canister full", "full", "")
		case "drift":
			flow, motor = flow*(1+float64(i)/float64(n)), motor*(1+float64(i)/float64(n))
		case "shallow":
			p -= 10 * size
		}
		battery -= float64(step) / 600
		plugged := battery < 20 || rnd.IntN(400) == 0
		if plugged {
			battery = min(100, battery+60)
		}
		row := []string{stamp(keptStart.Add(time.Duration(sec)*time.Second), float64(sec)), number(p*factor, 1+rnd.IntN(2))}
		for _, c := range []string{"flow", "motor", "battery", "plugged", "therapy", "alarm", "pump", "target", "canister", "noise"} {
			if !has[c] {
				continue
			}
			row = append(row, map[string]string{"flow": number(max(0, flow), 1), "motor": number(max(0, motor), 1), "battery": number(battery, 0), "plugged": map[bool]string{true: "yes", false: "no"}[plugged],
				"therapy": map[bool]string{true: "off", false: "on"}[what == "off"], "alarm": alarm, "pump": fmt.Sprintf("P-%02d", 7+i*2/n*rnd.IntN(2)), "target": number(order, 0), "canister": number(float64(i%300), 0), "noise": fmt.Sprint(i)}[c])
		}
		switch rnd.IntN(300) {
		case 0:
			row[1] = pick("", "-", "n/a", "9999", "1e9", "12x")
		case 1:
			row[0] = pick("", "yesterday", "2026-13-40 25:61", "0")
		case 2:
			row = row[:1]
		case 3:
			b.WriteString(strings.Join(row, sep) + "\n") // twice
		}
		b.WriteString(strings.Join(row, sep) + "\n")
	}
	return b.Bytes()
}
