package unit

import (
	"fmt"
	"time"
)

// Off says by how much a clock is off, such as "1 day and 3 minutes ahead".
func Off(off time.Duration) string {
	side := "ahead"
	if off < 0 {
		side, off = "behind", -off
	}
	off = off.Round(time.Minute)
	var text string
	for _, u := range []struct {
		of   time.Duration
		name string
	}{{24 * time.Hour, "day"}, {time.Hour, "hour"}, {time.Minute, "minute"}} {
		n := off / u.of
		if off -= n * u.of; n == 0 {
			continue
		}
		if text != "" {
			text += " and "
		}
		if text += fmt.Sprintf("%d %s", n, u.name); n != 1 {
			text += "s"
		}
	}
	if text == "" {
		text = "less than a minute"
	}
	return text + " " + side
}
