package pumplog

import (
	"bytes"
	"fmt"
	"testing"
	"time"
)

// minuteLog writes n rows of one a minute in our own layout.
func minuteLog(n int) []byte {
	var b bytes.Buffer
	b.WriteString("time,suction_mmHg,flow_mL_min,motor_pct,battery_pct,plugged_in,therapy,alarm,pump\n")
	t := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	x := uint64(1)
	for i := range n {
		x ^= x << 13
		x ^= x >> 7
		x ^= x << 17
		b.WriteString(t.Add(time.Duration(i) * time.Minute).Format("2006-01-02T15:04:05Z"))
		fmt.Fprintf(&b, ",%.1f,%.1f,%.1f,%d,no,on,,P-07\n", 124+float64(x%20)/10, 40+float64(x>>8%40)/1e18, 6+float64(x>>20%20)/1e18, 100-i/60%60)
	}
	return b.Bytes()
}

func BenchmarkReadAndJudge(b *testing.B) {
	raw := minuteLog(172_800)
	b.SetBytes(int64(len(raw)))
	zone, _ := time.LoadLocation("Europe/London")
	for b.Loop() {
		g, err := Look(bytes.NewReader(raw), Known{})
		if err != nil || len(g.Ask) > 0 {
			b.Fatal(err, g.Ask)
		}
		t, err := Read(bytes.NewReader(raw), g.Mapping, Options{Zone: zone})
		if err != nil || t.Report.NotUsed > 0 {
			b.Fatal(err, t.Report.List[0])
		}
		Judge(&t.Logs[0], []Order{{Stages: []Stage{{SuctionMmHg: 125, HoldMin: 60}}}}, zone, Usual, Period{})
	}
}

func BenchmarkRead(b *testing.B) {
	raw := minuteLog(172_800)
	g, _ := Look(bytes.NewReader(raw), Known{})
	for b.Loop() {
		_, _ = Read(bytes.NewReader(raw), g.Mapping, Options{})
	}
}
