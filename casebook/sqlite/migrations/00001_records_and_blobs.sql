-- +goose Up

-- 'LtCb': tells a store file of ours from any other SQLite file.
PRAGMA application_id = 0x4C744362;

CREATE TABLE record (
  -- Place in the chain, counted from 1 without gaps.
  seq INTEGER PRIMARY KEY,
  -- The entry's ID, made where the entry was made.
  id TEXT NOT NULL UNIQUE,
  -- The case that the entry belongs to.
  case_id TEXT NOT NULL,
  -- The entry's bytes as they were handed in; the store never looks into them.
  bytes BLOB NOT NULL,
  -- SHA-256 (64 hex digits) over the hash of the record before and this record: docs/format/store.md.
  hash TEXT NOT NULL CHECK (length(hash) = 64)
) STRICT;

CREATE INDEX record_case ON record (case_id, seq);

CREATE TABLE case_head (
  -- The case.
  case_id TEXT NOT NULL PRIMARY KEY,
  -- Hash of the case's latest record.
  head TEXT NOT NULL,
  -- How many records the case has.
  count INTEGER NOT NULL,
  -- Place of the case's latest record.
  seq INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE blob (
  -- SHA-256 (64 hex digits) of the bytes.
  hash TEXT NOT NULL PRIMARY KEY CHECK (length(hash) = 64),
  -- A photo or a log, as it was handed in.
  bytes BLOB NOT NULL
) STRICT;

-- A replaced row fires no DELETE trigger, so the guards against INSERT OR REPLACE and ON CONFLICT UPDATE stand
-- before the insert: only the next place in the chain and a new ID pass.
-- +goose StatementBegin
CREATE TRIGGER record_only_next BEFORE INSERT ON record
WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM record)
  OR EXISTS (SELECT 1 FROM record WHERE id = NEW.id)
BEGIN
  SELECT RAISE(ABORT, 'a record is only added at the end, under a new ID');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER record_no_update BEFORE UPDATE ON record
BEGIN
  SELECT RAISE(ABORT, 'a record is never changed');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER record_no_delete BEFORE DELETE ON record
BEGIN
  SELECT RAISE(ABORT, 'a record is never deleted');
END;
-- +goose StatementEnd

-- The heads follow from the records, within the same transaction. UPDATE and INSERT ... WHERE NOT EXISTS, because
-- a conflict clause inside a trigger would give way to that of the statement that fired it.
-- +goose StatementBegin
CREATE TRIGGER record_moves_head AFTER INSERT ON record
BEGIN
  UPDATE case_head SET head = NEW.hash, count = count + 1, seq = NEW.seq WHERE case_id = NEW.case_id;
  INSERT INTO case_head (case_id, head, count, seq)
    SELECT NEW.case_id, NEW.hash, 1, NEW.seq
    WHERE NOT EXISTS (SELECT 1 FROM case_head WHERE case_id = NEW.case_id);
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER case_head_only_new BEFORE INSERT ON case_head
WHEN EXISTS (SELECT 1 FROM case_head WHERE case_id = NEW.case_id)
  OR NEW.count IS NOT 1
  OR NOT EXISTS (SELECT 1 FROM record WHERE seq = NEW.seq AND case_id = NEW.case_id AND hash = NEW.head
                 AND seq = (SELECT max(seq) FROM record))
BEGIN
  SELECT RAISE(ABORT, 'a head only follows from a new record');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER case_head_only_forward BEFORE UPDATE ON case_head
WHEN NEW.case_id IS NOT OLD.case_id
  OR NEW.count IS NOT OLD.count + 1
  OR NEW.seq <= OLD.seq
  OR NOT EXISTS (SELECT 1 FROM record WHERE seq = NEW.seq AND case_id = NEW.case_id AND hash = NEW.head
                 AND seq = (SELECT max(seq) FROM record))
BEGIN
  SELECT RAISE(ABORT, 'a head only follows from a new record');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER case_head_no_delete BEFORE DELETE ON case_head
BEGIN
  SELECT RAISE(ABORT, 'a head is never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER blob_only_new BEFORE INSERT ON blob
WHEN EXISTS (SELECT 1 FROM blob WHERE hash = NEW.hash)
BEGIN
  SELECT RAISE(ABORT, 'a blob is never replaced');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER blob_no_update BEFORE UPDATE ON blob
BEGIN
  SELECT RAISE(ABORT, 'a blob is never changed');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER blob_no_delete BEFORE DELETE ON blob
BEGIN
  SELECT RAISE(ABORT, 'a blob is never deleted');
END;
-- +goose StatementEnd
