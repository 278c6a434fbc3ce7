package pumplog

import (
	"fmt"
	"math"
)

// suction settles the unit and the sign of the suction.
func (g *Guess) suction(cols []column, k Known) {
	for i := range g.Columns {
		m := &g.Columns[i]
		if m.Means != Suction && m.Means != Ordered {
			continue
		}
		c := &cols[m.Number-1]
		if c.name == "" && m.Name != "" {
			c.name = m.Name
		}
		neg, pos := 0, 0
		for _, v := range c.values {
			if v < 0 {
				neg++
			} else if v > 0 {
				pos++
			}
		}
		m.Negative = neg > pos
		q := math.Max(math.Abs(c.at(0.1)), math.Abs(c.at(0.9)))
		if m.Means == Suction {
			g.suctionUnit(m, q, k)
		} else if m.Unit == "" {
			m.Unit = "mmHg"
			if s := g.Find(Suction); s != nil && s.Unit != "" {
				m.Unit = s.Unit
			}
		}
	}
}

// suctionUnit takes the header's unit, or the one in which the usual depth q fits the order, or that of the range.
func (g *Guess) suctionUnit(m *Column, q float64, k Known) {
	if math.IsNaN(q) {
		q = 0
	}
	fits := func(unit string, within float64) bool {
		f, _ := factor(Suction, unit)
		return k.OrderedMmHg > 0 && math.Abs(q*f/k.OrderedMmHg-1) <= within
	}
	if m.Unit != "" {
		if k.OrderedMmHg > 0 && q > 0 && !fits(m.Unit, 0.5) {
			for _, u := range []string{"mmHg", "kPa", "Pa", "inHg"} {
				if u != m.Unit && fits(u, 0.12) {
					g.ask("suction", "The header gives the suction in %s, but the values (about %.4g) fit the order of %.4g mmHg only in %s. Say which unit it is.", m.Unit, q, k.OrderedMmHg, u)
					return
				}
			}
		}
		if f, _ := factor(Suction, m.Unit); q*f > 400 {
			g.ask("suction", "The values (about %.4g %s) are deeper than any suction: they may be pressures above vacuum, or in another unit. Say what they are.", q, m.Unit)
		}
		return
	}
	best, off := "", 0.08
	for _, u := range []string{"mmHg", "kPa", "cmH2O", "mbar", "Pa"} {
		f, _ := factor(Suction, u)
		if d := math.Abs(q*f/k.OrderedMmHg - 1); k.OrderedMmHg > 0 && d <= off {
			best, off = u, d
		}
	}
	if best != "" {
		m.Unit = best
		g.Doubts = append(g.Doubts, fmt.Sprintf("The unit of the suction is not written; the values fit the order in %s.", best))
		return
	}
	switch {
	case q >= 2.5 && q <= 36:
		m.Unit = "kPa"
		g.Doubts = append(g.Doubts, "The unit of the suction is not written; kPa is assumed from its range.")
	case q <= 300:
		m.Unit = "mmHg"
		g.Doubts = append(g.Doubts, "The unit of the suction is not written; mmHg is assumed from its range. cmH2O and mbar would look much the same.")
	default:
		m.Unit = "mmHg"
		g.ask("suction", "The values (about %.4g) are no suction in mmHg, kPa or cmH2O. Say in which unit they are.", q)
	}
}
