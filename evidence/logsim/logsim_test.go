package logsim

import "testing"

// TestDetection is the short form of the table of evidence/cmd/pumplog: recall and precision of leaks and blockages
// over 10 min at least 0.95, minutes at target within 1 % of the truth, at most one false episode in 30 days of noise.
func TestDetection(t *testing.T) {
	lines, err := Table(2, 15)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range lines {
		s := l.Score
		for what, v := range map[string]float64{"leak recall": Share(s.LeakFound, s.LeakTruth), "leak precision": Share(s.LeakRight, s.LeakListed),
			"blockage recall": Share(s.BlockFound, s.BlockTruth), "blockage precision": Share(s.BlockRight, s.BlockListed)} {
			if s.LeakTruth > 0 && v < 0.95 {
				t.Errorf("%s: %s %.3f", l.Name, what, v)
			}
		}
		if s.TargetError() > 1 {
			t.Errorf("%s: minutes at target %.0f of %.0f", l.Name, s.TargetGot, s.TargetTruth)
		}
		if s.LeakTruth+s.BlockTruth == 0 && float64(s.LeakListed+s.BlockListed) > float64(s.Days)/30 {
			t.Errorf("%s: %d false episodes in %d days", l.Name, s.LeakListed+s.BlockListed, s.Days)
		}
	}
}
