// Package payer computes where a case stands against the clock of whoever pays for it.
//
// A [Policy] is data: limits, criteria and dates of one payer, each with its locator. [Start] counts from the first
// day of therapy, time in hospital included where the policy counts it, and gives the end by days and by calendar
// months, the month that today lies in, when the next measured progress is due and what was used in the month.
//
// It decides nothing: a payer's line is not a clinical one, and a policy changes without notice here. Every page says
// "verify with the payer's current text".
//
// Days are calendar days as times at midnight UTC; whoever calls turns moments into the patient's own days. The package
// is pure: no clock, no files.
package payer
