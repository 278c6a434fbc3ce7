// Package state computes what a case is at an instant: it turns the case's entries into inputs of the computing
// packages, runs them, and offers what they tell as facts for rules, figures, forecasts and the instant until which
// all of it holds. It is the only place that does so: rules judge it, pages and papers show it, and neither computes.
package state
