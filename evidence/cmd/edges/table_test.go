package main

import (
	"os"
	"strings"
	"testing"
)

// TestEdges holds refined loops to the targets: Dice at least 0.93 in the median and 0.85 at the 10th percentile, on
// the painters used while tuning; with LOWTIDE_DEEP=1 on 100 of each, and on the one that was kept back.
func TestEdges(t *testing.T) {
	n, side := 8, 256
	deep := os.Getenv("LOWTIDE_DEEP") == "1"
	if deep {
		n, side = 100, 512
	}
	got := table(tries(painters(deep), n, side, 5001))
	var b strings.Builder
	got.print(&b)
	t.Log("\n" + b.String())
	all := got[0]
	if all.loop < 0.67 || all.loop > 0.83 {
		t.Errorf("the loops' own median Dice is %.3f: they are not as rough as stated", all.loop)
	}
	if all.med < 0.93 || all.p10 < 0.85 {
		t.Errorf("median Dice %.3f, 10th percentile %.3f; want 0.93 and 0.85", all.med, all.p10)
	}
	// a stated standard error that says nothing would cover everything or nothing
	if deep && (all.in1 < 0.55 || all.in1 > 0.9 || all.in2 < 0.88) {
		t.Errorf("area within one stated standard error %.2f, within two %.2f; want 0.55 to 0.9 and 0.88", all.in1, all.in2)
	}
}
