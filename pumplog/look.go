package pumplog

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"math"
	"sort"
	"strings"
)

// Guess is what the beginning of a table tells of how it is to be read.
type Guess struct {
	Mapping
	// Encoding is "UTF-8" (or single bytes) or "UTF-16".
	Encoding string `json:"encoding"`
	// Key stays the same for tables with the same delimiter and header: a mapping is remembered under it.
	Key string `json:"key"`
	// Ask lists what has to be answered before the table can be read; Doubts what was assumed.
	Ask    []Question `json:"ask,omitempty"`
	Doubts []string   `json:"doubts,omitempty"`
	// Rows are the first rows of the table, printed; Pumps are the pumps named in them.
	Rows  [][]string `json:"rows,omitempty"`
	Pumps []string   `json:"pumps,omitempty"`
}

// Question is something that only a person can answer. About is what an answer names: "suction", "dates", or "table".
type Question struct {
	About string `json:"about"`
	Words string `json:"words"`
}

// Open lists what keeps the table from being read with mapping m: questions that answer (a text for [ParseMapping])
// does not speak to, and what the mapping itself lacks.
func (g Guess) Open(answer string, m Mapping) []string {
	said := map[string]bool{}
	for _, part := range strings.Split(answer, ",") {
		key, _, _ := strings.Cut(part, "=")
		said[strings.ToLower(strings.TrimSpace(key))] = true
	}
	var out []string
	for _, q := range g.Ask {
		if !said[q.About] {
			out = append(out, q.Words)
		}
	}
	return append(out, m.Check()...)
}

// ask adds a question.
func (g *Guess) ask(about, words string, args ...any) {
	if len(args) > 0 {
		words = fmt.Sprintf(words, args...)
	}
	g.Ask = append(g.Ask, Question{about, words})
}

// Known is what the case tells that helps to guess.
type Known struct {
	// OrderedMmHg is the deepest suction ordered, 0 when none is known.
	OrderedMmHg float64
}

// Look guesses from the first 256 kB of a table. An error is one of reading; a table of which nothing can be guessed
// has Ask.
func Look(src io.Reader, k Known) (Guess, error) {
	var g Guess
	var in io.Reader
	in, g.Encoding = decoded(src)
	head, err := io.ReadAll(io.LimitReader(in, headBytes))
	if err != nil {
		return g, err
	}
	g.Delimiter = delimiterOf(head)
	rows, lines := firstRows(head, g.Delimiter[0])
	if len(rows) == 0 {
		g.ask("table", "The file holds no table.")
		return g, nil
	}
	width := modalWidth(rows)
	first := g.header(rows, lines, width)
	cols := columnsOf(rows[first:], width)
	g.Decimal = decimalOf(cols)
	for i := range cols {
		cols[i].measure(g.Decimal[0])
	}
	g.units(rows, first, cols)
	g.mean(cols)
	g.byValues(cols)
	g.dates(cols, head)
	g.suction(cols, k)
	g.order()
	g.show(rows[first:], cols)
	sum := sha256.Sum256([]byte(g.Delimiter + "\n" + fold(strings.Join(g.Names, "\n"))))
	g.Key = hex.EncodeToString(sum[:8])
	return g, nil
}

// lookRows is how many rows a guess looks at.
const lookRows = 400

func firstRows(head []byte, delimiter byte) (rows [][][]byte, lines []int) {
	r := newRowReader(bytes.NewReader(head), delimiter)
	for len(rows) < lookRows {
		f, why, ok := r.row()
		if !ok {
			break
		}
		if why != "" || (len(f) == 1 && len(trim(f[0])) == 0) {
			continue
		}
		cells := make([][]byte, len(f))
		for i, c := range f {
			cells[i] = append([]byte(nil), c...)
		}
		rows, lines = append(rows, cells), append(lines, r.line)
	}
	// A head that was cut ends in a piece of a row.
	if len(head) == headBytes && len(rows) > 1 && len(rows) < lookRows {
		rows, lines = rows[:len(rows)-1], lines[:len(lines)-1]
	}
	return rows, lines
}

// delimiterOf takes the mark whose cells are most often a time, a number or a word.
func delimiterOf(head []byte) string {
	best, most := ",", 0.0
	for _, d := range []string{",", ";", "\t", "|"} {
		rows, _ := firstRows(head[:min(len(head), 16<<10)], d[0])
		width := modalWidth(rows)
		if width < 2 {
			continue
		}
		clean, all := 0, 0
		for _, r := range rows {
			if len(r) != width {
				all += width
				continue
			}
			for _, c := range r {
				all++
				if plain(c) {
					clean++
				}
			}
		}
		if score := float64(clean) / float64(max(all, 1)); score > most+1e-9 {
			best, most = d, score
		}
	}
	return best
}

func plain(c []byte) bool {
	if c = trim(c); len(c) == 0 {
		return true
	}
	if _, ok := number(c, '.'); ok {
		return true
	}
	if _, ok := number(c, ','); ok {
		return true
	}
	if _, ok := readStamp(c, ""); ok {
		return true
	}
	return len(c) < 80 && bytes.IndexAny(c, ",;|\t") < 0
}

func modalWidth(rows [][][]byte) int {
	count := map[int]int{}
	for _, r := range rows {
		count[len(r)]++
	}
	width := 0
	for w, n := range count {
		if width == 0 || n > count[width] || (n == count[width] && w > width) {
			width = w
		}
	}
	return width
}

// header finds the header and returns the index of the first row of data.
func (g *Guess) header(rows [][][]byte, lines []int, width int) int {
	for i, r := range rows {
		if len(r) < width-1 || len(r) > width+1 || lines[i] > headLines {
			continue
		}
		words, values := 0, 0
		for _, c := range r {
			c = trim(c)
			_, num := number(c, '.')
			_, num2 := number(c, ',')
			_, stamp := readStamp(c, "")
			switch {
			case num || num2 || stamp:
				values++
			case len(c) > 0:
				words++
			}
		}
		if values > 0 || words == 0 {
			if i == 0 || values > 0 {
				return i
			}
			continue
		}
		g.HeaderLine = lines[i]
		for _, c := range r {
			g.Names = append(g.Names, strings.TrimSpace(text(c, 60)))
		}
		return min(i+1, len(rows))
	}
	return 0
}

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
			if i < 0 || bytes.IndexAny(b[i+1:], ".,") >= 0 {
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
		if u := c.unit(means); u != "" {
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
func (g *Guess) byValues(cols []column) {
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

func increasing(v []float64) bool {
	for i := 1; i < len(v); i++ {
		if v[i] < v[i-1] {
			return false
		}
	}
	return len(v) > 1
}

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

// show keeps the first rows as text, and the pumps that they name.
func (g *Guess) show(rows [][][]byte, cols []column) {
	for _, r := range rows[:min(5, len(rows))] {
		var out []string
		for _, c := range r[:min(len(r), 24)] {
			out = append(out, text(c, 40))
		}
		g.Rows = append(g.Rows, out)
	}
	if p := g.Find(Pump); p != nil {
		seen := map[string]bool{}
		for _, b := range cols[p.Number-1].cells {
			if name := pumpName(b); name != "" && !seen[name] && len(g.Pumps) < maxPumps {
				seen[name] = true
				g.Pumps = append(g.Pumps, name)
			}
		}
	}
}

func pumpName(b []byte) string { return strings.TrimSpace(text(trim(b), 40)) }
