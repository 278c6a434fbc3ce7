// Package pumplog computes delivered therapy from a pump's log: it reads a table of any dialect, says what each column
// means and which rows it could not use, and judges what the log covers.
//
// Road of a log: [Look] guesses a [Mapping] from the first bytes, [Read] streams the whole table in bounded memory and
// gives a [Log] with a [Report] of every row that was not used, [Judge] compares the log with the orders in force.
// [Pack] and [Unpack] keep a log small. What the log does not cover is "unknown", never "on" and never "off".
//
// Suction is a depth below ambient in mmHg, written positive. Instants inside a log are Unix milliseconds; days are
// those of the time zone that the caller names. Derivations, thresholds and what was measured: docs/model/pumplog.md;
// the open layout of a log: docs/format/pumplog.md.
//
// What it cannot do: tell a leak from a blockage where a log has neither flow nor the motor's share; see a blockage
// where the usual flow is next to nothing; see what happens at the wound, for a log tells the suction at the pump.
package pumplog
