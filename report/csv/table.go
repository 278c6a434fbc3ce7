package csv

import (
	"encoding/csv"
	"encoding/json"
	"io"
	"strconv"
	"strings"
	"time"

	"lowtide/review"
)

// Item is one case with its review.
type Item struct {
	Review *review.Review
}

// Columns say what a table holds; they are its data dictionary.
type Column struct {
	Name string `json:"name"`
	// Type is "text", "word", "number", "count", "yes or no", "date" or "time"; only a word is one of a few.
	Type string `json:"type"`
	Unit string `json:"unit,omitempty"`
	// Words says what it is, Source which entry or figure it comes from.
	Words  string `json:"words"`
	Source string `json:"source"`
	// Identifies marks what may tell who the patient or the nurse is; it is left out of a de-identified table.
	Identifies bool `json:"identifies,omitempty"`
}

// Table is a list of rows. A cell is nil (not known), string, bool, int, float64 or time.Time; a date is a
// time.Time in a column of that type.
type Table struct {
	Name    string   `json:"name"`
	Columns []Column `json:"columns"`
	Rows    [][]any  `json:"-"`
	// caseOf is the case of each row.
	caseOf []string
}

// cell prints a value for both formats; nil is an empty cell.
func cell(c Column, v any) string {
	switch v := v.(type) {
	case nil:
		return ""
	case string:
		return v
	case bool:
		if v {
			return "yes"
		}
		return "no"
	case int:
		return strconv.Itoa(v)
	case float64:
		return strconv.FormatFloat(v, 'f', -1, 64)
	case time.Time:
		if c.Type == "date" {
			return v.Format(time.DateOnly)
		}
		return v.Format(time.RFC3339)
	}
	return ""
}

// harmless keeps a spreadsheet from running a text as a formula (OWASP, "CSV Injection"): a leading =, +, -, @, tab or
// line end gets an apostrophe before it. Numbers are not texts and stay as they are.
func harmless(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r\n＝＋－＠", firstRune(s)) {
		return "'" + s
	}
	return s
}

func firstRune(s string) rune {
	for _, r := range s {
		return r
	}
	return 0
}

// WriteCSV writes the table as CSV (RFC 4180) in UTF-8, with a header line.
func (t Table) WriteCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	line := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		line[i] = c.Name
	}
	if err := out.Write(line); err != nil {
		return err
	}
	for _, row := range t.Rows {
		for i, v := range row {
			line[i] = cell(t.Columns[i], v)
			if _, isText := v.(string); isText {
				line[i] = harmless(strings.ReplaceAll(line[i], "\x00", ""))
			}
		}
		if err := out.Write(line); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// WriteJSON writes the table with its dictionary: {"name", "columns", "rows": [{column: value}]}.
func (t Table) WriteJSON(w io.Writer) error {
	rows := make([]map[string]any, len(t.Rows))
	for i, row := range t.Rows {
		rows[i] = map[string]any{}
		for j, v := range row {
			if at, ok := v.(time.Time); ok {
				v = cell(t.Columns[j], at)
			}
			if v != nil {
				rows[i][t.Columns[j].Name] = v
			}
		}
	}
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	return e.Encode(struct {
		Name    string           `json:"name"`
		Columns []Column         `json:"columns"`
		Rows    []map[string]any `json:"rows"`
	}{t.Name, t.Columns, rows})
}

// WriteDictionary writes what every column of every table means, as Markdown.
func WriteDictionary(w io.Writer) error {
	var b strings.Builder
	for _, t := range []Table{Visits(nil), Wounds(nil), Days(nil)} {
		b.WriteString("\n## " + t.Name + "\n\n| column | type | unit | what it is | where it comes from | left out when de-identified |\n|---|---|---|---|---|---|\n")
		for _, c := range t.Columns {
			out := ""
			if c.Identifies {
				out = "yes"
			}
			b.WriteString("| " + strings.Join([]string{c.Name, c.Type, c.Unit, c.Words, c.Source, out}, " | ") + " |\n")
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}
