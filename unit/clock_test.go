package unit_test

import (
	"testing"
	"time"

	"lowtide/unit"
)

func TestOff(t *testing.T) {
	for off, want := range map[time.Duration]string{0: "less than a minute ahead", -90 * time.Second: "2 minutes behind", 24*time.Hour + 3*time.Minute: "1 day and 3 minutes ahead", time.Hour + time.Minute: "1 hour and 1 minute ahead"} {
		if got := unit.Off(off); got != want {
			t.Errorf("%v: %s, want %s", off, got, want)
		}
	}
}
