// Package csv shows reviewed cases as tables for quality work: one row a visit, a wound, a day. It computes nothing
// but counts and dates of what the entries say; every other number is a figure or a forecast of the review.
//
// On request a table is de-identified: names, addresses, numbers and free text are left out, cases get names that
// cannot be traced back without the key of that export, dates are shifted by one number of weeks a case, and a word that
// fewer than a set number of cases share is suppressed.
package csv
