package casebook

import "time"

// LogImported is a pump's log that was read into the case. The readings themselves are a blob that the entry names
// (package pumplog packs them); what they say is computed by the review and never kept here. The fields tell how the
// file was read, so that anybody can see which rows count.
type LogImported struct {
	// Pump is the pump's number as the service writes it.
	Pump string `json:"pump" jsonschema:"required,minLength=1,maxLength=40" words:"Pump number"`
	File string `json:"file" jsonschema:"required,minLength=1,maxLength=200" words:"File"`
	// From and To are the first and the last reading that is used.
	From time.Time `json:"from" jsonschema:"required" words:"First reading"`
	To   time.Time `json:"to" jsonschema:"required" words:"Last reading"`
	// Rows counts the rows of the file, NotUsed those that were not used; Unused lists the first of them.
	Rows    int      `json:"rows" jsonschema:"required,minimum=1,maximum=1000000000" words:"Rows of the file"`
	NotUsed int      `json:"rows_not_used" jsonschema:"minimum=0,maximum=1000000000" words:"Rows not used"`
	Reasons []RowWhy `json:"reasons,omitempty" jsonschema:"maxItems=40" words:"Rows not used, by reason"`
	Unused  []RowWhy `json:"rows_unused,omitempty" jsonschema:"maxItems=100" words:"The first rows not used"`
	Notes   []string `json:"notes,omitempty" jsonschema:"maxItems=20" words:"What was put right"`
	// Mapping is what each column was taken for, Key names the kind of table under which it is remembered.
	Mapping string `json:"mapping" jsonschema:"required,minLength=1,maxLength=1000" words:"What the columns mean"`
	Key     string `json:"key,omitempty" jsonschema:"maxLength=64" words:"Kind of table"`
	// AheadMin is by how many minutes the pump's clock was ahead of the true time.
	AheadMin *float64 `json:"ahead_min,omitempty" jsonschema:"minimum=-10000,maximum=10000" unit:"min" words:"Pump's clock ahead by"`
	// BeforeMin is by how many minutes it was ahead at BeforeAt, earlier, or at the first reading when that is not told:
	// it drifted in between, and AheadMin is that of the last reading.
	BeforeMin *float64   `json:"before_min,omitempty" jsonschema:"minimum=-10000,maximum=10000" unit:"min" words:"Ahead earlier by"`
	BeforeAt  *time.Time `json:"before_at,omitempty" words:"Ahead earlier, when"`
	Note      string     `json:"note,omitempty" jsonschema:"maxLength=4000" words:"Note"`
}

// RowWhy is a row that was not used, or the number of rows that were not used for one reason.
type RowWhy struct {
	Row int    `json:"row" jsonschema:"required,minimum=0,maximum=1000000000" words:"Row"`
	Why string `json:"why" jsonschema:"required,minLength=1,maxLength=200" words:"Why"`
}

// Kind returns the kind of the entry.
func (LogImported) Kind() Kind { return KindLogImported }

func foldLogImported(f *Folding, l *Line, b LogImported) {
	f.Logs = append(f.Logs, ImportedLog{Dated: dated(l, b), Blob: firstBlob(l)})
}

// ImportedLog is a log in force with the blob that holds its readings; Blob is empty when the entry names none.
type ImportedLog struct {
	Dated[LogImported]
	Blob string
}
