package main

import (
	"testing"

	"lowtide/evidence/scene"
)

// TestShortTable is the table's short form: photos as asked for are measured within their bounds, and no photo with
// a fault is accepted with more than 10 % of error.
func TestShortTable(t *testing.T) {
	n := 8
	if testing.Short() {
		n = 3
	}
	var good, hard []trial
	for i := range uint64(n) {
		for _, list := range []struct {
			to *[]trial
			d  scene.Drawn
		}{{&good, scene.Ordinary(51_000+i, 2, 30, 2, false)}, {&hard, scene.Hard(52_000+i, 2)}, {&hard, scene.Hard(53_000+i, 2)}} {
			r, err := measure(list.d, list.d.OneLaid())
			if err != nil {
				t.Fatal(err)
			}
			*list.to = append(*list.to, r)
		}
	}
	g, h := sum(good), sum(hard)
	t.Logf("as asked for: %+v", g)
	t.Logf("with a fault: %+v", h)
	// Few photos: the bounds of the 95th percentile, not of the median.
	if g.refused > n/4 || g.most > 4 || g.in95 < 0.8 {
		t.Errorf("as asked for: %+v", g)
	}
	if h.false10 > 0 {
		t.Errorf("%d photos with a fault were accepted and are off by more than 10 %%", h.false10)
	}
}
