package intake

import (
	"testing"

	"lowtide/casebook"
)

// TestOneLaid: that only one strip was laid is said of a scale from one strip alone; an outline from one strip of the time
// before it was asked says nothing, and has no problem.
func TestOneLaid(t *testing.T) {
	for _, c := range []struct {
		scale casebook.TracedScale
		bad   bool
	}{
		{casebook.TracedScale{By: "one strip"}, false},
		{casebook.TracedScale{By: "one strip", OneLaid: true}, false},
		{casebook.TracedScale{By: "two strips", OneLaid: true}, true},
		{casebook.TracedScale{By: "two strips"}, false},
	} {
		var got []string
		checkOutline(casebook.OutlineTraced{Parts: []casebook.TracedPart{{Edge: "0,0 9,0 9,9"}}, Scale: c.scale}, func(pointer string, _ Code, _, _, _ string) { got = append(got, pointer) })
		if want := []string{"/scale/one_laid"}; c.bad != (len(got) == 1 && got[0] == want[0]) || !c.bad && len(got) > 0 {
			t.Errorf("%+v: problems at %q", c.scale, got)
		}
	}
}
