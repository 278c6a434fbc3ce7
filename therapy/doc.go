// Package therapy computes the ordered program: stages on a timeline, what is ordered at any moment, its
// time-mean, the share of time at each depth, and totals over a window with pauses.
//
// A program is a repeating list of stages. One stage is continuous therapy; a program with a stage at 0 is
// intermittent. Suction is a positive depth below ambient in mmHg, as everywhere in Lowtide; [Text] prints it
// in other units and with a minus sign where a reader wants the pressure relative to ambient instead of a depth.
//
// A ramp is the first part of its stage and comes in addition to the hold: a stage lasts ramp + hold. During
// the ramp the ordered suction moves on a straight line from the stage before it. The very first ramp of a run
// starts at ambient, because nothing was ordered before.
//
// What it cannot do: it knows only what is ordered. What the wound really gets is package suction's question.
package therapy
