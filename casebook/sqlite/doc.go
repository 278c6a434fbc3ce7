// Package sqlite keeps records and blobs in one SQLite file, under the contract of [casebook.Store].
//
// What the file holds, and how to verify it by hand, is in docs/format/store.md.
//
//   - Every append is one transaction, in WAL mode with synchronous=FULL: when Append returns nil, the
//     records are on the medium.
//   - The database itself refuses UPDATE, DELETE and REPLACE on records, heads and blobs, whoever asks.
//   - One process writes at a time: it holds a lock on a file beside the store, which the operating system
//     lets go of when the process ends, however it ends. Others may open the store with [OpenReader].
//   - Files are for their owner alone (0600).
//   - Migrations only add. A store of a newer schema is refused with what to do.
//
// The store file belongs on a local disk: SQLite's WAL does not work over a network file system.
package sqlite
