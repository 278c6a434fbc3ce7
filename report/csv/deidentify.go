package csv

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"time"
)

// DefaultFewest is how many cases must share a word before a de-identified table shows it: cells of 1 to 10 are
// suppressed in the publications of the US Centers for Medicare & Medicaid Services (cell size policy; from memory).
const DefaultFewest = 11

// Suppressed stands where a word was too rare to show.
const Suppressed = "suppressed"

// Options of a de-identified table.
type Options struct {
	// Key makes the case names and the shifts of dates; at least 16 bytes. Who has it can link two exports.
	Key []byte
	// Fewest is how many cases must share a word; 0 is DefaultFewest.
	Fewest int
}

// Deidentify returns the table without what may tell who somebody is. Dates keep their weekday and their distances
// within a case: each case is moved into the past by 1 to 52 whole weeks. A moved time keeps its clock time.
//
// This lowers the risk that somebody is recognised; it does not make it nil, and does not replace the agency's own rules.
func Deidentify(t Table, o Options) Table {
	if o.Fewest == 0 {
		o.Fewest = DefaultFewest
	}
	out := Table{Name: t.Name, caseOf: t.caseOf}
	var keep []int
	for i, c := range t.Columns {
		if !c.Identifies {
			keep = append(keep, i)
			out.Columns = append(out.Columns, c)
		}
	}
	rare := rareWords(t, o.Fewest)
	for r, row := range t.Rows {
		code := mac(o.Key, t.caseOf[r])
		cells := make([]any, 0, len(keep))
		for _, i := range keep {
			v := row[i]
			switch c := t.Columns[i]; {
			case c.Name == "case":
				v = hex.EncodeToString(code[:8])
			case v == nil:
			case c.Type == "word":
				if rare[i][v.(string)] {
					v = Suppressed
				}
			case c.Type == "text":
				// free text may say anything; only the short name of a wound is kept, as its number in the case
				v = hex.EncodeToString(mac(o.Key, t.caseOf[r]+"\x00"+v.(string))[:2])
			default:
				if at, ok := v.(time.Time); ok {
					v = at.AddDate(0, 0, -7*shiftWeeks(code))
				}
			}
			cells = append(cells, v)
		}
		out.Rows = append(out.Rows, cells)
	}
	return out
}

func mac(key []byte, text string) []byte {
	m := hmac.New(sha256.New, key)
	m.Write([]byte(text))
	return m.Sum(nil)
}

// shiftWeeks is 1 to 52, by the second half of the code, which is not shown.
func shiftWeeks(code []byte) int { return int(binary.BigEndian.Uint32(code[16:])%52) + 1 }

// rareWords are, by column, the words that fewer cases than fewest share.
func rareWords(t Table, fewest int) map[int]map[string]bool {
	out := map[int]map[string]bool{}
	for i, c := range t.Columns {
		if c.Type != "word" {
			continue
		}
		by := map[string]map[string]bool{}
		for r, row := range t.Rows {
			if w, ok := row[i].(string); ok {
				if by[w] == nil {
					by[w] = map[string]bool{}
				}
				by[w][t.caseOf[r]] = true
			}
		}
		out[i] = map[string]bool{}
		for w, cases := range by {
			out[i][w] = len(cases) < fewest
		}
	}
	return out
}
