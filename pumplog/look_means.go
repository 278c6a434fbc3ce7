package pumplog

import (
	"fmt"
	"math"
)

// mean gives columns their meaning by their names, where the values do not speak against it.
func (g *Guess) mean(cols []column) {
	taken := map[Channel]int{}
	for i := range cols {
		c := &cols[i]
		means := meaning(c.name)
		hasDate, hasClock := c.mostly(c.dates), c.mostly(c.clocks)
		switch {
		case hasDate && hasClock:
			means = Time
		case hasDate:
			means = Date
		case hasClock:
			means = Clock
		case means == Time || means == Clock || means == Date || means == Elapsed:
			means = c.countedTime(means)
		case means == Plugged && c.mostly(c.nums) && c.at(1) > 1:
			means = Battery
		case (means == Suction || means == Ordered || means == Flow || means == Battery) && c.filled > 0 && !c.mostly(c.nums):
			means = ""
		}
		if means == "" {
			continue
		}
		if first, twice := taken[means]; twice {
			g.Doubts = append(g.Doubts, fmt.Sprintf("Columns %d and %d both look like %q; column %d is used.", first, c.number, means, first))
			continue
		}
		taken[means] = c.number
		c.used = true
		g.Columns = append(g.Columns, Column{Number: c.number, Name: c.name, Means: means, Unit: g.unitOf(c, means)})
	}
	if taken[Time] > 0 {
		g.drop(Date, Clock, Elapsed)
	} else if taken[Date] > 0 && taken[Clock] > 0 {
		g.drop(Elapsed)
	}
}

func (g *Guess) drop(list ...Channel) {
	kept := g.Columns[:0]
	for _, c := range g.Columns {
		out := false
		for _, d := range list {
			out = out || c.Means == d
		}
		if !out {
			kept = append(kept, c)
		}
	}
	g.Columns = kept
}

// countedTime tells what a column of numbers under a word for time is.
func (c *column) countedTime(means Channel) Channel {
	switch v := c.at(0.5); {
	case !c.mostly(c.nums):
		return ""
	case v >= 1e8:
		return Time
	case means == Date:
		return ""
	default:
		return Elapsed
	}
}

func (g *Guess) unitOf(c *column, means Channel) string {
	switch means {
	case Time:
		if c.mostly(c.nums) {
			if c.at(0.5) >= 1e11 {
				return "ms"
			}
			return "s"
		}
		return ""
	case Suction, Ordered:
		return c.unit(means) // settled by the values
	case Flow:
		if u := c.unit(means); u != "" {
			return u
		}
		g.Doubts = append(g.Doubts, fmt.Sprintf("Column %d does not say the unit of the flow; mL/min is assumed.", c.number))
		return "mL/min"
	case Battery, Motor:
		if u := c.unit(means); u == "%" && len(c.values) > 0 && c.at(1) > 0 && c.at(1) < 1 {
			g.Doubts = append(g.Doubts, fmt.Sprintf("Column %d says per cent, but none of its first values reaches 1: it is read as a share of 1.", c.number))
			return "share"
		} else if u != "" {
			return u
		}
		if len(c.values) > 0 && c.at(1) <= 1 {
			return "share"
		}
		return "%"
	case Elapsed:
		if u := c.unit(means); u != "" {
			return u
		}
		g.Doubts = append(g.Doubts, fmt.Sprintf("Column %d does not say what it counts; seconds are assumed.", c.number))
		return "s"
	}
	return ""
}

// byValues looks for the suction and the time where no name told them.
func (g *Guess) byValues(cols []column, k Known) {
	if g.Find(Time) == nil && g.Find(Date) == nil && g.Find(Elapsed) == nil {
		for i := range cols {
			if c := &cols[i]; !c.used && c.mostly(c.nums) && c.at(0) >= 1e8 && increasing(c.inOrder) {
				c.used = true
				g.Columns = append(g.Columns, Column{Number: c.number, Name: c.name, Means: Time, Unit: g.unitOf(c, Time)})
				break
			}
		}
	}
	if g.Find(Suction) != nil {
		return
	}
	if c := fitsOrder(cols, k); c != nil {
		c.used = true
		g.Columns = append(g.Columns, Column{Number: c.number, Name: c.name, Means: Suction})
		g.Doubts = append(g.Doubts, fmt.Sprintf("No column is called suction. Column %d is taken for it: it alone has values (%.4g to %.4g) that fit the order of %.4g mmHg.", c.number, c.at(0), c.at(1), k.OrderedMmHg))
		return
	}
	for i := range cols {
		c := &cols[i]
		if c.used || !c.mostly(c.nums) {
			continue
		}
		if q := math.Max(math.Abs(c.at(0.1)), math.Abs(c.at(0.9))); q >= 20 && q <= 260 {
			c.used = true
			g.Columns = append(g.Columns, Column{Number: c.number, Name: c.name, Means: Suction})
			g.ask("suction", "No column is called suction. Column %d has values that could be it (%.4g to %.4g). Say whether it is.", c.number, c.at(0), c.at(1))
			return
		}
	}
}

// fitsOrder is the one column without a meaning whose usual depth is the ordered one in some unit; nil when there is
// none, or more than one.
func fitsOrder(cols []column, k Known) *column {
	var found *column
	for i := range cols {
		c := &cols[i]
		if c.used || !c.mostly(c.nums) || k.OrderedMmHg <= 0 || !k.ByOrder {
			continue
		}
		q := math.Max(math.Abs(c.at(0.1)), math.Abs(c.at(0.9)))
		for _, u := range []string{"mmHg", "kPa", "cmH2O", "mbar", "Pa"} {
			if f, _ := factor(Suction, u); math.Abs(q*f/k.OrderedMmHg-1) <= 0.08 {
				if found != nil && found != c {
					return nil
				}
				found = c
			}
		}
	}
	return found
}

func increasing(v []float64) bool {
	for i := 1; i < len(v); i++ {
		if v[i] < v[i-1] {
			return false
		}
	}
	return len(v) > 1
}
