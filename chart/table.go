package chart

import "time"

// Table holds the numbers of a chart in words.
type Table struct {
	Caption string
	Header  []string
	Rows    []TableRow
}

// TableRow is one line of a table. Entry is the log entry that it comes from.
type TableRow struct {
	At    time.Time
	Cells []string
	Entry string
}
