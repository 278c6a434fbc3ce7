package wording

import (
	"time"

	"lowtide/casebook"
)

// Came says how an entry came that nobody here wrote; at prints a time.
func Came(c *casebook.Came, at func(time.Time) string) string {
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
