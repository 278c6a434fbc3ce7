// Package review judges the state of a case by the rules: findings, beside the forecasts and figures of the state. Pages,
// papers and commands only show a [Review].
//
//	review.Of(case, rules, equipment, asOf) -> Review{findings, forecasts, figures}
//
// A review is a pure function: the same inputs give the same bytes. Nothing in it is stored as truth; a
// sign-off stores the review's hash with the rule set's and the program's version.
package review
