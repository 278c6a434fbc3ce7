// Package meeting lets a nurse's device that was without a network exchange entries with the server, by set union in small
// steps that may be cut anywhere: whatever is cut is done again, and doing a step twice does nothing.
//
// What a device writes is at once signed with the device's own key and sealed to the server's public key ([Envelope]), and
// kept in its outbox until the server answers for it. So it can be sent while the device is locked, and when the device has
// dropped the key to everything else; and nobody but the server can read it then. The server ([Desk]) takes nothing on the
// word of a device: the signature says which device wrote an entry, the accounts say whose device that is and what she may
// write now, and the entry is checked as one from a form. What it cannot take stays in the outbox, with a sentence that
// says why.
//
// A step of the device ([Device]) is: ask what is on the list and what the time is; correct the times of entries that a
// wrong clock wrote; send the outbox, entries before files and small files before large ones; fetch what is new of each
// case. Entries travel byte for byte, so an ID stands for the same bytes everywhere.
package meeting
