// Package week plans who sees whom on which day, when and in which order: needs become visits with windows, people, places
// and roads become shifts and travel times, and package route finds the plan.
//
// The service's own people, places, roads, wishes, fixed visits and kept plans belong to no patient: their entries stand in
// a register of the program's own, like the stock. [Fold] reads it. A plan is never stored as truth about a case: a kept
// plan says what was promised, and a visit counts when it is written.
//
// Times of the day are minutes since midnight in the service's time zone; days count from the plan's first.
package week
