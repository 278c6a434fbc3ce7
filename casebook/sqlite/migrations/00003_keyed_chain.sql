-- +goose Up

CREATE TABLE chain_mac (
  -- Place of the record in the chain.
  seq INTEGER NOT NULL PRIMARY KEY,
  -- HMAC-SHA-256 over the place and the record's hash, with a key that is derived from the ledger's:
  -- docs/format/store.md.
  mac BLOB NOT NULL CHECK (length(mac) = 32)
) STRICT;

-- +goose StatementBegin
CREATE TRIGGER chain_mac_only_new BEFORE INSERT ON chain_mac
WHEN EXISTS (SELECT 1 FROM chain_mac WHERE seq = NEW.seq) OR NOT EXISTS (SELECT 1 FROM record WHERE seq = NEW.seq)
BEGIN
  SELECT RAISE(ABORT, 'a record has one place in the keyed chain');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER chain_mac_no_update BEFORE UPDATE ON chain_mac
BEGIN
  SELECT RAISE(ABORT, 'the keyed chain is never changed');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER chain_mac_no_delete BEFORE DELETE ON chain_mac
BEGIN
  SELECT RAISE(ABORT, 'the keyed chain is never cut');
END;
-- +goose StatementEnd
