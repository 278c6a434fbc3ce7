package casebook

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func square(photo string, area float64) OutlineTraced {
	return OutlineTraced{Wound: "A", Photo: photo, Parts: []TracedPart{{Edge: "0,0 10,0 10,10 0,10"}}, Scale: TracedScale{By: "two strips"}, AreaCm2: area, AreaSECm2: 0.3}
}

func (s *story) photo() string {
	id := s.add(PhotoTaken{Wound: "A", WidthPx: 100, HeightPx: 80})
	s.entries[len(s.entries)-1].Blobs = []string{"hash-" + id}
	return id
}

func measured(t *testing.T, c *Case) []Dated[WoundMeasured] {
	t.Helper()
	w := c.Wound("A")
	if w == nil {
		t.Fatal("no wound")
	}
	return w.Measured
}

// TestOutlineIsASize: a confirmed outline joins the wound's sizes at the time of its photo, under its own ID.
func TestOutlineIsASize(t *testing.T) {
	var s story
	s.add(WoundFound{Wound: "A"})
	photo := s.photo()
	ruler := s.add(WoundMeasured{Wound: "A", Method: "ruler"})
	o := square(photo, 12)
	d := 1.5
	o.Depths = []DepthAt{{DepthCm: 0.4}, {DepthCm: d}}
	o.Tissue, o.TissueFrom = &Tissue{GranulationPct: 100}, "suggested"
	traced := s.add(o)
	c := s.fold()
	list := measured(t, c)
	if len(list) != 2 || list[0].ID != traced || list[1].ID != ruler {
		t.Fatalf("%+v", list)
	}
	m := list[0]
	if !m.At.Equal(c.Photos[0].At) || m.Body.Method != "outline" || *m.Body.AreaCm2 != 12 || *m.Body.DepthCm != d {
		t.Errorf("%+v", m)
	}
	if m.Body.Tissue != nil {
		t.Error("shares that were only suggested count as looked at")
	}
	if p := c.Photo(photo); p == nil || p.Blob != "hash-"+photo {
		t.Errorf("%+v", p)
	}
}

// TestOutlineWithoutItsPhoto: when the photo is withdrawn or moved away, nobody can look at what was drawn on, and the
// outline is no size any more; undoing that brings it back.
func TestOutlineWithoutItsPhoto(t *testing.T) {
	for _, action := range []string{"withdraw", "moved out"} {
		var s story
		photo := s.photo()
		traced := s.add(square(photo, 12))
		gone := s.correct(photo, EntryCorrected{Action: action, OtherCase: "d"})
		c := s.fold()
		if n := len(measured(t, c)); n != 0 || c.Wound("A").LostOutlines[0] != traced {
			t.Errorf("%s: %d sizes, lost %v", action, n, c.Wound("A").LostOutlines)
		}
		s.correct(gone, EntryCorrected{Action: "withdraw"})
		if n := len(measured(t, s.fold())); n != 1 {
			t.Errorf("%s undone: %d sizes", action, n)
		}
	}
}

// TestMovedPhotoKeepsItsOutline: in the other case both have new IDs, and still belong together.
func TestMovedPhotoKeepsItsOutline(t *testing.T) {
	var s story
	photo := s.photo()
	traced := s.add(square(photo, 12))
	var there story
	for _, e := range s.entries {
		there.n = 10 * (len(there.entries) + 1)
		id := there.add(EntryCorrected{Action: "moved in", OtherCase: "c", Original: &e})
		x := &there.entries[len(there.entries)-1]
		if e.ID == photo {
			x.Blobs = []string{"again-" + id}
		}
	}
	c := there.fold()
	list := measured(t, c)
	if len(list) != 1 || list[0].ID == traced || c.Photo(photo).Blob == "hash-"+photo || c.Photo(photo).ID == photo {
		t.Errorf("%+v %+v", list, c.Photos)
	}
}

// TestPartsOfALargeWound: areas of several photos add, and a part without its whole is no size.
func TestPartsOfALargeWound(t *testing.T) {
	var s story
	one, two := s.photo(), s.photo()
	first := s.add(square(one, 30))
	more := square(two, 20)
	more.AddsTo = first
	s.add(more)
	c := s.fold()
	list := measured(t, c)
	if len(list) != 1 || *list[0].Body.AreaCm2 != 50 {
		t.Fatalf("%+v", list)
	}
	s.correct(first, EntryCorrected{Action: "withdraw"})
	if list := measured(t, s.fold()); len(list) != 0 {
		t.Errorf("a part stands for the whole: %+v", list)
	}
}

// TestLawPointsRoundTrip: points come back to a tenth of a pixel, and written points are written the same again.
func TestLawPointsRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var points [][2]float64
		for range rapid.IntRange(0, 30).Draw(t, "n") {
			points = append(points, [2]float64{rapid.Float64Range(-5, 60000).Draw(t, "x"), rapid.Float64Range(-5, 60000).Draw(t, "y")})
		}
		text := WritePoints(points)
		back, err := ReadPoints(text)
		if err != nil || len(back) != len(points) || WritePoints(back) != text {
			t.Fatal(text, err)
		}
		for i := range points {
			if math.Hypot(points[i][0]-back[i][0], points[i][1]-back[i][1]) > 0.0708 {
				t.Fatal(points[i], back[i])
			}
		}
	})
}

// FuzzReadPoints: whatever stands in an entry as a loop, it is points that read the same again or a refusal.
func FuzzReadPoints(f *testing.F) {
	for _, s := range []string{"", "1,2 3,4", "1,2,3", "NaN,1", "1e400,0", "-0.05,7", "1,"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		points, err := ReadPoints(s)
		if err != nil {
			return
		}
		if _, err := ReadPoints(WritePoints(points)); err != nil {
			t.Error(s, err)
		}
	})
}
