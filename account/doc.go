// Package account says who may use a store and how they prove who they are: accounts folded from entries, roles,
// passwords, one-time codes, passkeys' public halves, sessions, and the slowing of guesses.
//
// Accounts are entries of the reserved case [casebook.Accounts] and are sealed like every entry. They fold in the
// order in which the store kept them, not by their times as patients' cases do: a clock that was set back must not
// bring a disabled account or an old password back to life, and accounts are not exchanged between devices.
//
// Nothing here reads a clock or talks to a network: the time and the randomness come from the caller.
//
// Sources: NIST SP 800-63B (passwords, rate limits, sessions), RFC 9106 (Argon2id), RFC 4226 and RFC 6238
// (one-time codes). Numbers quoted from SP 800-63B are from memory; docs/decisions/0014 says which.
package account
