-- +goose Up

CREATE TABLE key_meta (
  -- Always 1: a sealed store has one store key at a time; a plain store has no row.
  one INTEGER NOT NULL PRIMARY KEY CHECK (one = 1),
  -- Tells store keys apart: 16 hex digits that are computed from the key.
  key_id TEXT NOT NULL,
  -- Where the key comes from: file, passphrase, or derived (from a case key of another store).
  kind TEXT NOT NULL,
  -- Salt of Argon2id; empty when there is no passphrase.
  salt BLOB NOT NULL,
  -- Passes of Argon2id.
  passes INTEGER NOT NULL,
  -- Memory of Argon2id in KiB.
  memory_kib INTEGER NOT NULL,
  -- Lanes of Argon2id.
  lanes INTEGER NOT NULL
) STRICT;

CREATE TABLE case_key (
  -- The case.
  case_id TEXT NOT NULL PRIMARY KEY,
  -- Its data key, wrapped by the store key (docs/format/store.md); NULL once the case was erased.
  wrapped BLOB,
  -- ID of the ledger's entry that says who erased the case and why; NULL until then.
  erased_by TEXT,
  CHECK ((wrapped IS NULL) = (erased_by IS NOT NULL))
) STRICT;

-- Unlike a record, a wrapped key may be replaced (rotation) and destroyed (erasure). What is destroyed never comes
-- back, and a row never goes away: it says that there was a case.
-- +goose StatementBegin
CREATE TRIGGER case_key_only_new BEFORE INSERT ON case_key
WHEN EXISTS (SELECT 1 FROM case_key WHERE case_id = NEW.case_id) OR NOT EXISTS (SELECT 1 FROM key_meta)
BEGIN
  SELECT RAISE(ABORT, 'a case has one key');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER case_key_stays_erased BEFORE UPDATE ON case_key
WHEN OLD.wrapped IS NULL OR NEW.case_id IS NOT OLD.case_id
BEGIN
  SELECT RAISE(ABORT, 'an erased case stays erased');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER case_key_no_delete BEFORE DELETE ON case_key
BEGIN
  SELECT RAISE(ABORT, 'the row of a key is never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER key_meta_only_new BEFORE INSERT ON key_meta
WHEN EXISTS (SELECT 1 FROM key_meta) OR EXISTS (SELECT 1 FROM record) OR EXISTS (SELECT 1 FROM blob)
BEGIN
  SELECT RAISE(ABORT, 'a store is sealed from its start');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER key_meta_no_delete BEFORE DELETE ON key_meta
BEGIN
  SELECT RAISE(ABORT, 'a sealed store stays sealed');
END;
-- +goose StatementEnd

-- The bytes 4C 74 53 31 are "LtS1", with which sealed bytes start.
-- +goose StatementBegin
CREATE TRIGGER record_sealed BEFORE INSERT ON record
WHEN EXISTS (SELECT 1 FROM key_meta) AND substr(NEW.bytes, 1, 4) IS NOT X'4C745331'
BEGIN
  SELECT RAISE(ABORT, 'a sealed store takes no plain record');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER blob_sealed BEFORE INSERT ON blob
WHEN EXISTS (SELECT 1 FROM key_meta) AND substr(NEW.bytes, 1, 4) IS NOT X'4C745331'
BEGIN
  SELECT RAISE(ABORT, 'a sealed store takes no plain blob');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER record_not_erased BEFORE INSERT ON record
WHEN EXISTS (SELECT 1 FROM case_key WHERE case_id = NEW.case_id AND wrapped IS NULL)
BEGIN
  SELECT RAISE(ABORT, 'the case was erased');
END;
-- +goose StatementEnd
