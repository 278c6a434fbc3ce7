package state

import (
	"bytes"
	"io"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/pumplog"
	"lowtide/unit"
)

// The types below are those of the pump log's engine as pages need them.
type (
	// LogGuess is what the beginning of a table tells of how it is read.
	LogGuess = pumplog.Guess
	// LogMapping says how a table is read.
	LogMapping = pumplog.Mapping
	// LogReport says what became of a table's rows.
	LogReport = pumplog.Report
	// LogResult is what a log tells.
	LogResult = pumplog.Result
	// LogChannel is what a column can mean.
	LogChannel = pumplog.Channel
)

// LogMeanings lists what columns can mean, with their units.
var LogMeanings = pumplog.Channels

// LogHead is how much of a file is looked at for its mapping.
const LogHead = 512 << 10

// LookLog guesses how a table is read from its first bytes, with what the case tells of the order.
func LookLog(c *casebook.Case, head []byte) (LogGuess, error) {
	k := pumplog.Known{}
	for _, o := range c.Orders {
		for _, s := range o.Body.Stages {
			k.OrderedMmHg = s.SuctionMmHg
			for _, t := range o.Body.Stages {
				k.OrderedMmHg = max(k.OrderedMmHg, t.SuctionMmHg)
			}
		}
	}
	return pumplog.Look(bytes.NewReader(head), k)
}

// ChangeMapping applies what a person said to a guess.
func ChangeMapping(text string, guess LogMapping) (LogMapping, []string) {
	return pumplog.ParseMapping(text, guess)
}

// ImportedTable is a table that was read: Names are the pumps that it holds.
type ImportedTable struct {
	table  *pumplog.Table
	Report LogReport
	Names  []string
}

// LogClock is the error of a pump's clock: by how many minutes it was ahead at the last row, and, when it drifted, at an
// earlier time, that of the first row when it is not told. Nil is not told, and taken for right.
type LogClock struct {
	AheadMin, BeforeMin *float64
	BeforeAt            *time.Time
}

// ErrLogDrift is a clock's error that cannot be.
var ErrLogDrift = pumplog.ErrDrift

// ReadLog streams a table. Local times are those of the case's zone; nothing may lie after now.
func ReadLog(c *casebook.Case, src io.Reader, m LogMapping, clock LogClock, start, now time.Time) (*ImportedTable, error) {
	o := pumplog.Options{Zone: c.Zone, NotAfter: now, Start: start}
	if clock.AheadMin != nil {
		o.AheadMin, o.AheadAtStartMin = *clock.AheadMin, *clock.AheadMin
	}
	if clock.BeforeMin != nil {
		o.AheadAtStartMin = *clock.BeforeMin
		if clock.BeforeAt != nil {
			o.AheadAtStart = *clock.BeforeAt
		}
	}
	t, err := pumplog.Read(src, m, o)
	if err != nil {
		return nil, err
	}
	out := &ImportedTable{table: t, Report: t.Report}
	for _, l := range t.Logs {
		out.Names = append(out.Names, l.Pump)
	}
	return out, nil
}

// Most of what an entry lists; the reasons count all rows.
const (
	mostUnusedListed = 100
	mostReasons      = 40
	mostNotes        = 20
)

// Entry makes the entry's body and the packed readings of one of the table's pumps; ok is false when it has no rows.
// pump is the number as the service writes it.
func (t *ImportedTable) Entry(name, pump, file string, m LogMapping, key string, clock LogClock) (body casebook.LogImported, packed []byte, ok bool) {
	for i := range t.table.Logs {
		l := &t.table.Logs[i]
		if l.Pump != name || len(l.Samples) == 0 {
			continue
		}
		r := t.Report
		body = casebook.LogImported{Pump: pump, File: file, From: time.UnixMilli(l.Samples[0].T).UTC(), To: time.UnixMilli(l.Samples[len(l.Samples)-1].T).UTC(),
			Rows: r.Rows, NotUsed: r.NotUsed, Mapping: cut(m.Print(), 1000), Key: key, AheadMin: clock.AheadMin, BeforeMin: clock.BeforeMin, BeforeAt: clock.BeforeAt}
		for _, x := range r.Counts[:min(len(r.Counts), mostReasons)] {
			body.Reasons = append(body.Reasons, casebook.RowWhy{Row: x.Rows, Why: cut(x.Why, 200)})
		}
		for _, x := range r.List[:min(len(r.List), mostUnusedListed)] {
			body.Unused = append(body.Unused, casebook.RowWhy{Row: x.Row, Why: cut(x.Why, 200)})
		}
		for _, n := range r.Notes[:min(len(r.Notes), mostNotes)] {
			body.Notes = append(body.Notes, cut(n, 200))
		}
		return body, pumplog.Pack(l), true
	}
	return body, nil, false
}

func cut(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n-1]) + "…"
	}
	return s
}

// MappingOf returns the mapping with which a table of that kind was last read in the case; ok is false when none was.
func MappingOf(c *casebook.Case, key string) (text string, at time.Time, ok bool) {
	for i := len(c.Logs) - 1; i >= 0; i-- {
		if l := &c.Logs[i]; l.Body.Key == key && key != "" {
			return WithoutHeader(l.Body.Mapping), l.At, true
		}
	}
	return "", time.Time{}, false
}

// WithoutHeader leaves the header's line out of what is remembered: what stands above a table differs from file to file.
func WithoutHeader(mapping string) string {
	if i := strings.LastIndex(mapping, ", header="); i >= 0 {
		return mapping[:i]
	}
	return mapping
}

// LogDuration prints minutes as pages do.
func LogDuration(minutes float64) string { return unit.Duration(minutes / 60).String() }
