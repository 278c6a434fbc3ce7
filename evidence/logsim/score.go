package logsim

import (
	"bytes"
	"time"

	"lowtide/pumplog"
)

// Score compares what pumplog found with the truth.
type Score struct {
	// Of leaks and blockages that lasted more than 10 min, and three rows: those there were, those found, and what was listed in all.
	LeakTruth, LeakFound, LeakListed, LeakRight     int
	BlockTruth, BlockFound, BlockListed, BlockRight int
	// Minutes at target and off: got and true.
	TargetGot, TargetTruth, OffGot, OffTruth, UnknownGot, UnknownTruth float64
	Days                                                               int
}

// Judge reads and judges a log as the program does.
func Judge(raw []byte, orderedMmHg float64) (*pumplog.Result, *pumplog.Report, error) {
	g, err := pumplog.Look(bytes.NewReader(raw), pumplog.Known{OrderedMmHg: orderedMmHg})
	if err != nil {
		return nil, nil, err
	}
	t, err := pumplog.Read(bytes.NewReader(raw), g.Mapping, pumplog.Options{})
	if err != nil {
		return nil, nil, err
	}
	order := []pumplog.Order{{Stages: []pumplog.Stage{{SuctionMmHg: orderedMmHg, HoldMin: 60}}}}
	return pumplog.Judge(&t.Logs[0], order, time.UTC, pumplog.Usual, pumplog.Period{}), &t.Report, nil
}

// Compare scores a result. An episode is found, or right, when the two overlap by at least half of the longer one's
// length; two found parts of one true episode count as one right and one wrong.
func Compare(res *pumplog.Result, tr Truth) Score {
	s := Score{TargetGot: res.AtTargetMin, TargetTruth: tr.AtTargetMin, OffGot: res.OffMin, OffTruth: tr.OffMin, UnknownGot: res.UnknownMin, UnknownTruth: tr.UnknownMin, Days: len(res.Days)}
	kind := map[string]string{Leak: pumplog.Leak, Kink: pumplog.Blockage, Full: pumplog.Blockage, Tilt: pumplog.Blockage}
	used := map[int]bool{}
	for _, e := range tr.Events {
		k := kind[e.What]
		if k == "" || e.To.Sub(e.From) <= 10*time.Minute {
			continue
		}
		found := -1
		for i, x := range res.Episodes {
			if x.Kind == k && !used[i] && overlap(e.From, e.To, x.From, x.To) {
				found = i
			}
		}
		if found >= 0 {
			used[found] = true
		}
		if e.To.Sub(e.From).Minutes() < tr.LeastMin {
			continue
		}
		if k == pumplog.Leak {
			s.LeakTruth++
			s.LeakFound += count(found >= 0)
		} else {
			s.BlockTruth++
			s.BlockFound += count(found >= 0)
		}
	}
	for i, x := range res.Episodes {
		switch x.Kind {
		case pumplog.Leak:
			s.LeakListed++
			s.LeakRight += count(used[i])
		case pumplog.Blockage:
			s.BlockListed++
			s.BlockRight += count(used[i])
		}
	}
	return s
}

func count(b bool) int {
	if b {
		return 1
	}
	return 0
}

func overlap(a, b, c, d time.Time) bool {
	from, to := a, b
	if c.After(from) {
		from = c
	}
	if d.Before(to) {
		to = d
	}
	longest := max(b.Sub(a), d.Sub(c))
	return to.Sub(from)*2 >= longest
}

// Add sums scores.
func (s Score) Add(t Score) Score {
	return Score{s.LeakTruth + t.LeakTruth, s.LeakFound + t.LeakFound, s.LeakListed + t.LeakListed, s.LeakRight + t.LeakRight,
		s.BlockTruth + t.BlockTruth, s.BlockFound + t.BlockFound, s.BlockListed + t.BlockListed, s.BlockRight + t.BlockRight,
		s.TargetGot + t.TargetGot, s.TargetTruth + t.TargetTruth, s.OffGot + t.OffGot, s.OffTruth + t.OffTruth, s.UnknownGot + t.UnknownGot, s.UnknownTruth + t.UnknownTruth, s.Days + t.Days}
}
