// Package intake arrives with bytes from outside and leaves with checked entries: it reads case files and
// forms, lists every problem with its place, its value and what to do, and never guesses a value.
//
// One description serves all: the tags on the bodies of package casebook. The reader walks a JSON tree
// against the Go type by them, forms are read by them, and docs/format/case.schema.json is generated from them.
//
// Three layers, each reporting into the same list:
//
//   - scan: bytes to a tree, going on after the common slips (a missing comma, a decimal comma, NaN);
//   - decode: tree to Go values, with every field checked against its tags;
//   - check: what no single field shows (tissue shares, a change before its wound was found, corrections).
//
// Nothing here reads the clock: callers say what time it is.
package intake
