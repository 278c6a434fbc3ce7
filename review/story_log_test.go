package review_test

import (
	"errors"
	"math"
	"time"

	"lowtide/casebook"
	"lowtide/pumplog"
	"lowtide/rule"
)

// blobs holds the contents that entries of the stories name; it is filled while the stories are told.
var blobs = map[string][]byte{}

func keepBlob(content []byte) string {
	hash := casebook.BlobHash(content)
	blobs[hash] = content
	return hash
}

// withBlobs folds beside a store that holds them.
func withBlobs(c *casebook.Case) *casebook.Case {
	c.Blob = func(hash string) ([]byte, error) {
		if b, ok := blobs[hash]; ok {
			return b, nil
		}
		return nil, errors.New("not kept")
	}
	return c
}

// readOut is the import of pump P-11's log, a row in five minutes, from one hour to another: 125 mmHg and 40 mL/min
// unless edit says otherwise; a sample that edit makes NaN in suction is left out.
func readOut(atH, fromH, toH float64, edit func(h float64, s *pumplog.Sample)) step {
	nan := float32(math.NaN())
	l := &pumplog.Log{Pump: "P-11", Words: []string{"", "leak"}}
	for m := 0.0; fromH+m/60 < toH; m += 5 {
		h := fromH + m/60
		s := pumplog.Sample{T: noonPlus(h).UnixMilli(), SuctionMmHg: 125, FlowMLMin: float32(40 + math.Mod(m*7, 3)), MotorPct: nan, BatteryPct: nan, Row: uint32(m/5) + 2, Rows: 1}
		if edit != nil {
			edit(h, &s)
		}
		if s.SuctionMmHg == s.SuctionMmHg {
			l.Samples = append(l.Samples, s)
		}
	}
	n := len(l.Samples)
	body := casebook.LogImported{Pump: "P-11", File: "p-11.csv", From: time.UnixMilli(l.Samples[0].T).UTC(), To: time.UnixMilli(l.Samples[n-1].T).UTC(), Rows: n, Mapping: "time=1, suction=2:mmHg, flow=3:mL/min"}
	return step{atH: atH, body: body, blob: pumplog.Pack(l)}
}

func init() {
	between := func(h, a, b float64) bool { return h >= a && h < b }
	low := func(h float64, s *pumplog.Sample) {
		if math.Mod(h+240, 24) < 4 {
			s.SuctionMmHg = 60
		}
	}
	off := func(a, b float64) func(float64, *pumplog.Sample) {
		return func(h float64, s *pumplog.Sample) {
			if between(h, a, b) {
				s.SuctionMmHg, s.FlowMLMin = 0, 0
			}
		}
	}
	gapAfterOff := func(h float64, s *pumplog.Sample) {
		off(-20, -19.5)(h, s)
		if between(h, -19.5, -15) {
			s.SuctionMmHg = float32(math.NaN())
		}
	}
	grows := func(h float64, s *pumplog.Sample) { s.FlowMLMin += float32(math.Max(0, h+24)) }
	blocked := func(h float64, s *pumplog.Sample) {
		if between(h, -10, -9) || between(h, -5, -4.5) {
			s.FlowMLMin = 0.5
		}
	}
	alarms := func(h float64, s *pumplog.Sample) {
		for _, a := range []float64{-20, -15, -10, -5} {
			if between(h, a, a+0.2) {
				s.Alarm = 1
			}
		}
	}
	weak := func(h float64, s *pumplog.Sample) { s.SuctionMmHg = 80 }
	gaps := func(h float64, s *pumplog.Sample) {
		if math.Mod(h+240, 10) < 4 {
			s.SuctionMmHg = float32(math.NaN())
		}
	}
	ages := func(h float64, s *pumplog.Sample) {
		// Every day fourteen hours on battery; at first 5 % an hour, at last 7.
		perH := 5 + 2*(h+600)/600
		into := math.Mod(h+600, 24)
		s.Plugged, s.BatteryPct = pumplog.Yes, 100
		if into < 12 {
			s.Plugged, s.BatteryPct = pumplog.No, float32(math.Round(100-perH*into))
		}
	}
	unread := readOut(-1, -120, -1, nil)
	unread.blob = nil
	storyOf(
		story{rule: "SUC-HOURS-01", level: rule.Plan, tell: []step{readOut(-1, -120, -1, low)}, says: []string{"last 4 whole days", "at most 20 h a day", "22 h are meant"}, act: []step{readOut(193, -1, 192, nil)}},
		story{rule: "SUC-OFF-01", level: rule.Today, tell: []step{readOut(-1, -120, -1, off(-20, -17))}, says: []string{"off for 3 h from Tue 3 Mar 16:00"}, act: []step{at(1, change(nil))}},
		story{rule: "SUC-OFF-02", level: rule.Plan, tell: []step{readOut(-1, -120, -1, gapAfterOff)}, says: []string{"more than 2 h", "off for 30 min from Tue 3 Mar 16:00", "up to 5 h"}, act: []step{at(1, change(nil))}},
		story{rule: "SUC-GROW-01", level: rule.Plan, wait: 36 * time.Hour, tell: []step{readOut(35, -120, 35, grows)}, says: []string{"by the flow it grew by 24 mL/min a day", "twice as much as at first"}, act: []step{at(37, change(nil))}},
		story{rule: "SUC-BLOCK-01", level: rule.Today, tell: []step{readOut(-1, -120, -1, blocked)}, says: []string{"2 times without flow", "the longest 1 h", "the last Wed 4 Mar 07:00"}, act: []step{at(1, change(nil))}},
		story{rule: "SUC-REPEAT-01", level: rule.Plan, tell: []step{readOut(-1, -120, -1, alarms)}, says: []string{`alarm "leak" 4 times`, "the last Wed 4 Mar 07:00"}, act: []step{at(1, change(nil))}},
		story{rule: "SUC-DIFF-01", level: rule.Today, tell: []step{readOut(-1, -120, -1, weak)}, says: []string{"The log shows 80 mmHg continuously. Ordered is 125 mmHg continuously.", "Mean suction while on: 80 mmHg, ordered 125 mmHg"}, act: []step{readOut(150, -1, 149, nil)}},
		story{rule: "POW-AGE-01", level: rule.Plan, tell: []step{readOut(-1, -600, -1, ages)}, says: []string{"% of what it did at first"}, act: []step{at(1, casebook.PumpReturned{Pump: "P-11"}), at(1.1, casebook.PumpAssigned{Pump: "P-12", Class: "portable", CanisterML: num(300), Wounds: []string{"A"}})}},
		story{rule: "REC-LOG-01", level: rule.Plan, tell: []step{readOut(-100, -300, -170, nil)}, says: []string{"log of pump P-11", "up to Wed 25 Feb 09:55"}, act: []step{readOut(1, -120, 0.5, nil)}},
		story{rule: "REC-LOG-02", level: rule.Note, tell: []step{readOut(-1, -120, -1, gaps)}, says: []string{"% of its time"}, act: []step{readOut(1, -120, -1, nil)}},
		story{rule: "REC-LOG-03", level: rule.Plan, tell: []step{unread.called("log")}, says: []string{"not kept beside its entry"}, act: []step{withdraws(1, "log"), readOut(1.1, -120, -1, nil)}},
	)
}
