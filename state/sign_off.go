package state

import (
	"time"

	"lowtide/casebook"
)

func signOffFacts(c *casebook.Case, set Sink) {
	var signed time.Time
	if n := len(c.Signed); n > 0 {
		signed = c.Signed[n-1].At
		set("sign_off.last_at", signed, c.Signed[n-1].ID)
	}
	if n := len(c.Changes); n > 0 {
		set("sign_off.due", c.Changes[n-1].At.After(signed), c.Changes[n-1].ID)
	}
}
