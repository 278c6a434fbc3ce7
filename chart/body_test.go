package chart

import (
	"reflect"
	"strings"
	"testing"

	"lowtide/casebook"
)

// TestSpotsAreThoseOfTheEntry: the drawing has a place for every word that an entry can say, inside its frame, and no two
// places lie on each other.
func TestSpotsAreThoseOfTheEntry(t *testing.T) {
	field, _ := reflect.TypeOf(casebook.WoundFound{}).FieldByName("Spot")
	var words []string
	for _, part := range strings.Split(field.Tag.Get("jsonschema"), ",") {
		words = append(words, strings.TrimPrefix(part, "enum="))
	}
	for _, isChild := range []bool{false, true} {
		spots := Spots(isChild)
		if len(spots) != len(words) {
			t.Fatalf("%d places for %d words", len(spots), len(words))
		}
		var points []Point
		for i, s := range spots {
			if s.Name != words[i] {
				t.Errorf("place %d is %q, the entry says %q", i, s.Name, words[i])
			}
			for _, side := range []string{"left", "right", "middle"} {
				at, ok := s.Side(side)
				if !ok {
					continue
				}
				if at.X < 5 || at.X > bodyWidthPx-5 || at.Y < 5 || at.Y > bodyHeightPx-5 {
					t.Errorf("%s, %s: %v lies outside", s.Name, side, at)
				}
				for _, p := range points {
					if dx, dy := p.X-at.X, p.Y-at.Y; dx*dx+dy*dy < 16 {
						t.Errorf("%s, %s: %v lies on another place, %v", s.Name, side, at, p)
					}
				}
				points = append(points, at)
			}
		}
	}
}

// TestBodySides: the patient's right is at the reader's left, except on the back.
func TestBodySides(t *testing.T) {
	for _, s := range Spots(false) {
		right, ok := s.Side("right")
		left, _ := s.Side("left")
		if ok && (right.X < left.X) != (s.View != BodyBack) {
			t.Errorf("%s: right at %v, left at %v", s.Name, right, left)
		}
	}
}

func TestBodyShowsWounds(t *testing.T) {
	marks := []BodyMark{{"A", "sacrum", "middle"}, {"B", "heel", "left"}, {"C", "heel", "left"}, {"D", "", ""}}
	got := Body("/body.svg", false, marks, BodyAloud(marks[:3]), nil)
	for _, want := range []string{">A</text>", ">B</text>", ">C</text>", "wound A, sacrum; wound B, left heel; wound C, left heel"} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q", want)
		}
	}
	if strings.Contains(got, ">D</text>") {
		t.Error("a wound whose place is not known is drawn somewhere")
	}
}
