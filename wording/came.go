package wording

import (
	"time"

	"lowtide/casebook"
	"lowtide/unit"
)

// Came says how an entry came that was not written here; at prints a time.
func Came(c *casebook.Came, at func(time.Time) string) string {
	if c.Phone != "" {
		return "Written on " + c.Phone + " without a network; it came here " + at(c.At) + "." + clockWords(c.Ahead)
	}
	text := "Came by file " + c.File + ", brought by " + c.By + ", " + at(c.At)
	if c.Claimed() {
		return text + ". Nobody here has taken it over."
	}
	text += ". Taken over by " + c.TakenBy + ", " + at(c.TakenAt)
	if c.TakenWhy != "" {
		text += ": " + c.TakenWhy
	}
	return text + "."
}

// clockWords says that the clock of a phone was off, when a nurse would notice.
func clockWords(ahead time.Duration) string {
	if ahead.Abs() < 2*time.Minute {
		return ""
	}
	return " The phone's clock was " + unit.Off(ahead) + " when it met the server."
}
