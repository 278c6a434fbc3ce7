// Package review turns a case, the rules, the equipment and a clock into findings, forecasts and figures. It is the only
// place where entries become inputs of computations; pages, papers and commands only show a [Review].
//
//	review.Of(case, rules, equipment, asOf) -> Review{findings, forecasts, figures}
//
// A review is a pure function: the same inputs give the same bytes. Nothing in it is stored as truth; a
// sign-off stores the review's hash with the rule set's and the program's version.
package review
