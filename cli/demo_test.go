package cli

import (
	"testing"
	"time"
)

// A clock that starts at a given time goes on from there, and the real one comes back.
func TestStartClock(t *testing.T) {
	real := now
	defer func() { now = real }()
	wall := time.Date(2026, 11, 25, 22, 59, 0, 0, time.UTC)
	now = func() time.Time { return wall }

	back, err := startClock("2026-03-10T09:20:00Z")
	if err != nil {
		t.Fatal(err)
	}
	start := time.Date(2026, 3, 10, 9, 20, 0, 0, time.UTC)
	if got := now(); !got.Equal(start) {
		t.Errorf("the clock starts at %v", got)
	}
	wall = wall.Add(90 * time.Second)
	if got := now(); !got.Equal(start.Add(90 * time.Second)) {
		t.Errorf("the clock stands at %v after 90 s", got)
	}
	back()
	if got := now(); !got.Equal(wall) {
		t.Errorf("the real clock did not come back: %v", got)
	}

	if _, err := startClock("half past nine"); err == nil {
		t.Error("words were taken for a time")
	}
	if back, err := startClock(""); err != nil || !now().Equal(wall) {
		t.Errorf("no time: %v, %v", now(), err)
	} else {
		back()
	}
}
