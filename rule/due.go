package rule

import (
	"fmt"
	"strings"

	"lowtide/rule/value"
)

// due is a term of type time, plus or minus a span of hours.
type due struct {
	term  int
	sign  float64
	hours float64 // constant span
	span  int     // term that gives the span, or -1
	unitH float64 // hours in one unit of that term
}

// parseDue reads "TERM", "TERM + SPAN" or "TERM - SPAN", SPAN a value or a number term in a unit of time.
func (c *compiler) parseDue(s string) *due {
	parts := strings.Fields(strings.NewReplacer("+", " + ", "-", " - ").Replace(s))
	if len(parts) != 1 && (len(parts) != 3 || (parts[1] != "+" && parts[1] != "-")) {
		c.say(fmt.Sprintf("%q is not a due time", s), "write TERM, TERM + SPAN or TERM - SPAN")
		return nil
	}
	i, ok := c.find(parts[0])
	if !ok {
		return nil
	}
	if Vocabulary[i].Type != Time {
		c.say(parts[0]+" is a "+string(Vocabulary[i].Type), "start with a term that is a time")
		return nil
	}
	d := &due{term: i, span: -1, sign: 1}
	if len(parts) == 1 {
		return d
	}
	if parts[1] == "-" {
		d.sign = -1
	}
	var u string
	if v, ok := c.values[parts[2]]; ok {
		c.used[parts[2]] = true
		d.hours, _ = v.value.(float64)
		u = v.unit
	} else if strings.Contains(parts[2], ".") {
		if d.span, ok = c.find(parts[2]); !ok {
			return nil
		}
		u = Vocabulary[d.span].Unit
	} else {
		c.say("there is no value "+parts[2], "add a [[value]] of that name, or name a shared one under use")
		return nil
	}
	d.unitH, ok = hoursIn(u)
	d.hours *= d.unitH
	if !ok || d.hours > value.MaxHours || d.hours < -value.MaxHours {
		c.say(parts[2]+" is not a span of time", "give it in h or d")
		return nil
	}
	return d
}
