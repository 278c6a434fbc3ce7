package pumplog

import (
	"bytes"
	"math"
	"sort"
)

// column is what the first rows tell of a column.
type column struct {
	number                          int
	cells                           [][]byte
	filled, nums, dates, clocks     int
	dayOver, secondOver, twoNumbers int
	values                          []float64 // ordered
	inOrder                         []float64
	name, unitRow                   string
	used                            bool
}

func columnsOf(rows [][][]byte, width int) []column {
	out := make([]column, min(width, maxColumns))
	for i := range out {
		out[i].number = i + 1
		for _, r := range rows {
			if i < len(r) {
				out[i].cells = append(out[i].cells, trim(r[i]))
			}
		}
	}
	return out
}

func decimalOf(cols []column) string {
	point, comma := 0, 0
	for _, c := range cols {
		for _, b := range c.cells {
			if _, ok := readStamp(b, ""); ok {
				continue
			}
			i := bytes.IndexAny(b, ".,")
			if i < 0 || bytes.ContainsAny(b[i+1:], ".,") {
				continue
			}
			if _, ok := number(b, b[i]); !ok {
				continue
			}
			if b[i] == '.' {
				point++
			} else {
				comma++
			}
		}
	}
	if comma > point {
		return ","
	}
	return "."
}

func (c *column) measure(decimal byte) {
	for _, b := range c.cells {
		if len(b) == 0 {
			continue
		}
		c.filled++
		if s, ok := readStamp(b, ""); ok && bytes.IndexByte(b, ':') >= 0 || ok && s.hasDate {
			if _, num := number(b, decimal); !num {
				if s.hasDate {
					c.dates++
				}
				if s.hasClock {
					c.clocks++
				}
				c.order(s)
				continue
			}
		} else if s, ok := readStamp(b, "month first"); ok && s.hasDate {
			c.dates++
			if s.hasClock {
				c.clocks++
			}
			c.order(s)
			continue
		}
		if v, ok := number(b, decimal); ok {
			c.nums++
			c.inOrder = append(c.inOrder, v)
		}
	}
	c.values = append([]float64(nil), c.inOrder...)
	sort.Float64s(c.values)
}

func (c *column) order(s stamp) {
	if s.first > 0 {
		c.twoNumbers++
		if s.first > 12 {
			c.dayOver++
		}
		if s.second > 12 {
			c.secondOver++
		}
	}
}

func (c *column) mostly(n int) bool { return c.filled > 0 && n*10 >= c.filled*6 }

func (c *column) at(share float64) float64 {
	if len(c.values) == 0 {
		return math.NaN()
	}
	return c.values[int(share*float64(len(c.values)-1))]
}

// units takes the names, and the units where a row of units follows the header.
func (g *Guess) units(rows [][][]byte, first int, cols []column) {
	for i := range cols {
		if i < len(g.Names) {
			cols[i].name = g.Names[i]
		}
	}
	if g.HeaderLine == 0 || first >= len(rows) {
		return
	}
	for _, c := range rows[first] {
		if _, ok := number(c, g.Decimal[0]); ok {
			return
		}
		if _, ok := readStamp(trim(c), ""); ok {
			return
		}
	}
	for i := range cols {
		if i < len(rows[first]) {
			cols[i].unitRow = text(rows[first][i], 30)
		}
	}
}

func (c *column) unit(means Channel) string {
	if u := unitIn(means, c.unitRow); u != "" {
		return u
	}
	return unitIn(means, c.name)
}
