// Package rule keeps the rules of the trade as data, each with its source, and judges the facts of a case by them.
//
// A rule is one TOML file under data, a source one under source. [Load] reads them, lists every problem that it
// finds, and refuses the whole pack when there is one. [Set.WithLocal] lays a local protocol over a pack: it changes
// values, switches rules off, and adds rules, and every change stays visible. [Set.Judge] is the evaluator.
//
// # Cannot tell
//
// An expression is split at and, or, not into leaves. A leaf is unknown when a term that it uses has no value for the
// case. Leaves are joined by Kleene's strong three-valued logic (S. C. Kleene, Introduction to Metamathematics, 1952,
// §64): a definite answer is given only when no value of the unknown terms could change it. So learning one more
// fact never turns one definite answer into another, unless the rule itself asks known(term).
//
// # Time
//
// Rules use instants only through since(T) and until(T), and only as "since(T) OP limit". Each such leaf changes its
// answer at one instant that is known beforehand, so [Outcome.Until] is exact: a review may be kept until then.
// Dates in force (from, until, and the from of a local change) begin and end at midnight UTC.
package rule
