package pumplog

import (
	"bytes"
)

// dates settles the order of day and month.
func (g *Guess) dates(cols []column, head []byte) {
	for i := range cols {
		c := &cols[i]
		if c.twoNumbers == 0 {
			continue
		}
		switch {
		case c.dayOver > 0 && c.secondOver == 0:
			g.Dates = "day first"
		case c.secondOver > 0 && c.dayOver == 0:
			g.Dates = "month first"
		case c.dayOver > 0:
			g.ask("dates", "Some dates can only be read with the day first, others only with the month first. Say which counts; the others are not used.")
		default:
			c.more(head, g.Delimiter[0])
			switch day, month := c.jumps("day first"), c.jumps("month first"); {
			case c.secondOver > c.dayOver:
				g.Dates = "month first"
			case c.dayOver > 0 || day < month:
				g.Dates = "day first"
			case month < day:
				g.Dates = "month first"
			case c.dotted():
				g.Dates = "day first"
				g.Doubts = append(g.Doubts, "The dates are read with the day first, as dates with points are.")
			default:
				g.ask("dates", "The file does not tell whether its dates have the day first or the month first. Say which.")
			}
		}
		return
	}
}

// more reads the column through the whole beginning of the file: a log of a row a minute needs 1440 rows for a new day.
func (c *column) more(head []byte, delimiter byte) {
	r := newRowReader(bytes.NewReader(head), delimiter)
	c.cells = nil
	for n := 0; n < 20_000; n++ {
		f, why, ok := r.row()
		if !ok {
			return
		}
		if why != "" || len(f) < c.number {
			continue
		}
		b := append([]byte(nil), trim(f[c.number-1])...)
		if s, ok := readStamp(b, "day first"); ok {
			c.order(s)
		} else if s, ok := readStamp(b, "month first"); ok {
			c.order(s)
		}
		c.cells = append(c.cells, b)
	}
}

// dotted tells whether the dates are written with points, which are written with the day first wherever they are used.
func (c *column) dotted() bool {
	for _, b := range c.cells {
		if s, ok := readStamp(b, ""); ok && s.first > 0 {
			return bytes.IndexByte(b, '.') >= 0 && bytes.IndexByte(b, '.') <= 2
		}
	}
	return false
}

// jumps counts steps of more than two days under one reading of the dates.
func (c *column) jumps(dates string) int {
	n, last := 0, int64(0)
	for _, b := range c.cells {
		s, ok := readStamp(b, dates)
		if !ok || !s.hasDate {
			continue
		}
		d := epochDay(s.year, s.month, s.day)
		if last != 0 && (d-last > 2 || last-d > 2) {
			n++
		}
		last = d
	}
	return n
}
