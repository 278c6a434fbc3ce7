package pumplog

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
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
	// ByOrder takes the one column that fits the order for the suction where no word tells it, instead of asking.
	ByOrder bool
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
	g.byValues(cols, k)
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
	return len(c) < 80 && !bytes.ContainsAny(c, ",;|\t")
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
