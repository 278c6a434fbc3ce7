package accesslog

import (
	"encoding/csv"
	"encoding/json"
	"io"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// WriteJSON writes lines as a JSON array.
func WriteJSON(w io.Writer, lines []Line) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	return enc.Encode(lines)
}

// times is how many accesses a line stands for beside its own, empty for none.
func times(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

// WriteCSV writes lines as CSV (RFC 4180) with a head. A cell that a spreadsheet would take for a formula gets an
// apostrophe in front.
func WriteCSV(w io.Writer, lines []Line) error {
	c := csv.NewWriter(w)
	c.UseCRLF = true
	if err := c.Write([]string{"at", "account", "what", "case", "outside the list", "why", "page", "from", "times", "id"}); err != nil {
		return err
	}
	for _, l := range lines {
		outside := ""
		if l.Outside {
			outside = "yes"
		}
		row := []string{l.At.UTC().Format(time.RFC3339Nano), l.Account, string(l.What), l.Case, outside, l.Why, l.Page, l.From, times(l.Times), l.ID}
		for i, cell := range row {
			// The wide forms too: some spreadsheets take them for the narrow ones.
			if first, _ := utf8.DecodeRuneInString(cell); cell != "" && strings.ContainsRune("=+-@\t\r\n＝＋－＠", first) {
				row[i] = "'" + cell
			}
		}
		if err := c.Write(row); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}
