// Package stock records where supplies lie: on the shelf and in each nurse's car, by item and lot.
//
// Stock belongs to no patient, so its entries stand in a register of the program's own, sealed like all others
// (docs/decisions/0020-stock.md). What was used for a patient stands in that patient's case and takes from shelf or car
// when the entry says so. [Fold] joins both. Like a case, stock is a set of entries: the result depends neither on
// the order in which they arrive nor on how often one does.
package stock
