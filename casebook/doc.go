// Package casebook records what happened: an [Entry] for everything seen and done, a [Case] that entries
// fold to, and a [Store] that keeps their bytes.
//
// A case is a set of entries. Folding does not depend on the order in which entries arrive, nor on how
// often one arrives, so two devices that exchange entries agree. Nothing is overwritten: a correction is
// an entry that names what it corrects, with a reason, and readers see both.
package casebook
