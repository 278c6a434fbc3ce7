// Package backup keeps copies of a sealed store: it writes them while the store is in use, encrypted to a recipient
// (age-encryption.org/v1), restores them into an empty place, and tries them out.
//
// A backup holds the store as it was at one moment, the access log if there is one, and a manifest with what they
// must hold. The store key is in it only on request: docs/handbook/keys-and-backup.md says what a restore needs.
package backup
