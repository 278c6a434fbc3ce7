// Package seal keeps what casebook records unreadable without a key: every record and blob is sealed with a data
// key of its case, and the data keys are wrapped by the store key, which comes from a key file or a passphrase.
//
// The primitives are XChaCha20-Poly1305 (RFC 8439 with the 24-byte nonce of draft-irtf-cfrg-xchacha), HKDF
// (RFC 5869) and HMAC with SHA-256, and Argon2id (RFC 9106). docs/format/store.md gives every byte.
//
// Sealing is deterministic: the nonce is a keyed hash of the record's ID and plain bytes, so the same entry
// gives the same bytes however often it arrives, and two different ones share a nonce with no more than
// chance (2^-96 for 2^48 entries). What this gives away is only what the store knows anyway: that an entry
// arrived twice.
package seal
