package healing

import (
	"math"
	"testing"
)

// The curve through the past lies on a smooth series, passes a wild reading by, and ends where the present is.
func TestPast(t *testing.T) {
	right := []float64{20, 18, 16.3, 14.6, 13.2, 11.9, 10.7, 9.6}
	in := Input{Sizes: weekly(right...), Past: true}
	a := assess(in)
	if len(a.Past) != 2*len(right)-1 || a.Past[0].Days != -49 || a.Past[len(a.Past)-1].Days != 0 {
		t.Fatalf("%d points from %v", len(a.Past), a.Past[0].Days)
	}
	for i, p := range a.Past {
		want := right[i/2]
		if i%2 == 1 {
			want = math.Sqrt(right[i/2] * right[i/2+1])
		}
		if math.Abs(p.Area.Median-want) > 0.03*want || p.Area.P10 > want || p.Area.P90 < want {
			t.Errorf("day %v: %+v, want %v", p.Days, *p.Area, want)
		}
	}
	if last := a.Past[len(a.Past)-1].Area; math.Abs(last.Median-a.Now.Area.Median) > 1e-6 || math.Abs(last.P90-a.Now.Area.P90) > 1e-6 {
		t.Errorf("the curve ends at %+v, the present is %+v", *last, *a.Now.Area)
	}
	wrong := weekly(right...)
	*wrong[3].AreaCm2 = 29
	p := assess(Input{Sizes: wrong, Past: true}).Past[6]
	if math.Abs(p.Area.Median-14.6) > 1 {
		t.Errorf("beside a wild reading: %+v", *p.Area)
	}
	if len(assess(Input{Sizes: weekly(right...)}).Past) != 0 {
		t.Error("a curve that nobody asked for")
	}
}

// A goal of a level and granulated bed comes no sooner than either part of it.
func TestGoalOfTwoParts(t *testing.T) {
	z := weekly(20, 18, 16.3, 14.6)
	for i := range z {
		z[i].DepthCm, z[i].BarePct = value(2-0.4*float64(i)), value(70-15*float64(i))
	}
	level, clean := Goal{ID: "level", Measure: Depth, Below: 0.3}, Goal{ID: "clean", Measure: Bare, Below: 10}
	both := level
	both.And = []Goal{clean}
	a := assess(Input{Sizes: z, Goals: []Goal{level, clean, both}})
	if len(a.Goals) != 3 || a.Goals[2].MedianDays == nil {
		t.Fatalf("%+v", a.Goals)
	}
	for d, c := range a.Goals[2].ChanceByDays {
		if x, y := a.Goals[0].ChanceByDays[d], a.Goals[1].ChanceByDays[d]; c > min(x, y) || math.Abs(c-x*y) > 0.01 { // days between nodes are joined by lines
			t.Errorf("by day %s: %v, parts %v and %v", d, c, x, y)
		}
	}
	if b := a.Ahead[1].Bare; b == nil || b.Median >= 25 || b.P90 > 60 || b.P10 < 0 {
		t.Errorf("bare in two weeks: %+v", b)
	}
	if len(a.Progress) != 2 {
		t.Errorf("the look of the bed judges progress: %+v", a.Progress)
	}
	z[0].BarePct, z[1].BarePct, z[2].BarePct = nil, nil, nil
	if g := assess(Input{Sizes: z, Goals: []Goal{both}}).Goals[0]; g.MedianDays != nil || g.Basis == "" {
		t.Errorf("one look: %+v", g)
	}
}
