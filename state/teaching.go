package state

import (
	"lowtide/casebook"
)

func teachFacts(c *casebook.Case, set Sink) {
	topic := func(name string) (bool, []string) {
		var by []string
		for _, t := range c.Teaching {
			if contains(t.Body.Topics, name) && t.Body.To != "staff" {
				by = append(by, t.ID)
			}
		}
		return len(by) > 0, by
	}
	for _, x := range []struct{ term, topic string }{{"teach.bleeding", "bleeding"}, {"teach.alarms", "alarms"}, {"teach.whom_to_call", "whom to call"}} {
		yes, by := topic(x.topic)
		set(x.term, yes, by...)
	}
	if n := len(c.Teaching); n > 0 {
		t := c.Teaching[n-1]
		set("teach.last_at", t.At, t.ID)
		set.setBool("teach.understood", t.Body.Understood, t.ID)
	}
}
