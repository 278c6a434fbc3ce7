package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"lowtide/casebook"
)

var _ casebook.KeyStore = (*Store)(nil)

// keyed runs f in one transaction on the write connection.
func (s *Store) keyed(ctx context.Context, what string, f func(tx *sql.Tx) error) error {
	tx, err := s.write.BeginTx(ctx, nil)
	if err == nil {
		if err = f(tx); err == nil {
			err = tx.Commit()
		} else {
			// The first error is the one to tell; a rollback after it has nothing to add.
			_ = tx.Rollback()
		}
	}
	if err != nil {
		return fmt.Errorf("sqlite: %s: %w", what, explain(ctx, err))
	}
	return nil
}

type querier interface {
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

func keyMeta(ctx context.Context, q querier) (m casebook.KeyMeta, ok bool, err error) {
	err = q.QueryRowContext(ctx, "SELECT key_id, kind, salt, passes, memory_kib, lanes FROM key_meta").
		Scan(&m.ID, &m.Kind, &m.Salt, &m.Passes, &m.MemoryKiB, &m.Lanes)
	if errors.Is(err, sql.ErrNoRows) {
		return m, false, nil
	}
	return m, err == nil, err
}

// KeyMeta implements [casebook.KeyStore].
func (s *Store) KeyMeta(ctx context.Context) (casebook.KeyMeta, bool, error) {
	m, ok, err := keyMeta(ctx, s.read)
	if err != nil {
		return m, false, fmt.Errorf("sqlite: read which key the store has: %w", explain(ctx, err))
	}
	return m, ok, nil
}

// chainPage is how many links of a store of an older version get their MAC at a time.
const chainPage = 5000

// KeyChain implements [casebook.KeyStore]. The links of a store of an older version get their MACs in one step.
func (s *Store) KeyChain(ctx context.Context, mac casebook.ChainMAC) (filled int64, err error) {
	err = s.keyed(ctx, "start the keyed chain", func(tx *sql.Tx) error {
		s.chain = mac
		var begun bool
		if err := tx.QueryRowContext(ctx, "SELECT EXISTS (SELECT 1 FROM chain_mac)").Scan(&begun); err != nil || begun {
			return err
		}
		for {
			n, err := s.fillChain(ctx, tx, filled)
			if filled += n; err != nil || n < chainPage {
				return err
			}
		}
	})
	return filled, err
}

func (s *Store) fillChain(ctx context.Context, tx *sql.Tx, after int64) (int64, error) {
	rows, err := tx.QueryContext(ctx, "SELECT seq, hash FROM record WHERE seq > $1 ORDER BY seq LIMIT $2", after, chainPage)
	if err != nil {
		return 0, err
	}
	defer rows.Close()
	var links []casebook.Mark
	for rows.Next() {
		var m casebook.Mark
		if err := rows.Scan(&m.Count, &m.Head); err != nil {
			return 0, err
		}
		links = append(links, m)
	}
	if err := rows.Err(); err != nil {
		return 0, err
	}
	for _, m := range links {
		if _, err := tx.StmtContext(ctx, s.stmt.addMAC).ExecContext(ctx, m.Count, s.chain(m.Count, m.Head)); err != nil {
			return 0, err
		}
	}
	return int64(len(links)), nil
}

// StartKeys implements [casebook.KeyStore].
func (s *Store) StartKeys(ctx context.Context, m casebook.KeyMeta) error {
	return s.keyed(ctx, "start sealing", func(tx *sql.Tx) error {
		var kept bool
		err := tx.QueryRowContext(ctx, "SELECT EXISTS (SELECT 1 FROM record) OR EXISTS (SELECT 1 FROM blob)").Scan(&kept)
		switch {
		case err != nil:
			return err
		case kept:
			return casebook.ErrPlain
		}
		_, err = tx.ExecContext(ctx, "INSERT INTO key_meta (one, key_id, kind, salt, passes, memory_kib, lanes) VALUES (1, $1, $2, $3, $4, $5, $6)",
			m.ID, m.Kind, notNull(m.Salt), m.Passes, m.MemoryKiB, m.Lanes)
		return err
	})
}

func caseKey(ctx context.Context, q querier, caseID string) (casebook.CaseKey, bool, error) {
	k := casebook.CaseKey{Case: caseID}
	var erased sql.NullString
	err := q.QueryRowContext(ctx, "SELECT wrapped, erased_by FROM case_key WHERE case_id = $1", caseID).Scan(&k.Wrapped, &erased)
	if errors.Is(err, sql.ErrNoRows) {
		return k, false, nil
	}
	k.ErasedBy = erased.String
	return k, err == nil, err
}

// CaseKey implements [casebook.KeyStore].
func (s *Store) CaseKey(ctx context.Context, caseID string) (casebook.CaseKey, bool, error) {
	k, ok, err := caseKey(ctx, s.read, caseID)
	if err != nil {
		return k, false, fmt.Errorf("sqlite: read the key of case %q: %w", caseID, explain(ctx, err))
	}
	return k, ok, nil
}

// AddCaseKey implements [casebook.KeyStore].
func (s *Store) AddCaseKey(ctx context.Context, keyID string, k casebook.CaseKey) (kept casebook.CaseKey, err error) {
	err = s.keyed(ctx, fmt.Sprintf("keep the key of case %q", k.Case), func(tx *sql.Tx) error {
		meta, sealed, err := keyMeta(ctx, tx)
		if err != nil {
			return err
		}
		if !sealed || meta.ID != keyID {
			return casebook.ErrStale
		}
		var there bool
		if kept, there, err = caseKey(ctx, tx, k.Case); err != nil || there {
			return err
		}
		kept = k
		_, err = tx.ExecContext(ctx, "INSERT INTO case_key (case_id, wrapped) VALUES ($1, $2)", k.Case, notNull(k.Wrapped))
		return err
	})
	return kept, err
}

// CaseKeys implements [casebook.KeyStore].
func (s *Store) CaseKeys(ctx context.Context) ([]casebook.CaseKey, error) {
	keys, err := allKeys(s.read.QueryContext(ctx, keyColumns))
	if err != nil {
		return nil, fmt.Errorf("sqlite: list the keys: %w", explain(ctx, err))
	}
	return keys, nil
}

const keyColumns = "SELECT case_id, wrapped, erased_by FROM case_key ORDER BY case_id"

func allKeys(rows *sql.Rows, err error) ([]casebook.CaseKey, error) {
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	keys := []casebook.CaseKey{}
	for rows.Next() {
		var k casebook.CaseKey
		var erased sql.NullString
		if err := rows.Scan(&k.Case, &k.Wrapped, &erased); err != nil {
			return nil, err
		}
		k.ErasedBy = erased.String
		keys = append(keys, k)
	}
	return keys, rows.Err()
}

// Rewrap implements [casebook.KeyStore].
func (s *Store) Rewrap(ctx context.Context, from string, to casebook.KeyMeta, wrap func(casebook.CaseKey) ([]byte, error), head string, ledger casebook.Record) (newHead string, err error) {
	err = s.keyed(ctx, "change the store's key", func(tx *sql.Tx) error {
		meta, sealed, err := keyMeta(ctx, tx)
		if err != nil {
			return err
		}
		if !sealed || meta.ID != from {
			return casebook.ErrStale
		}
		keys, err := allKeys(tx.QueryContext(ctx, keyColumns))
		if err != nil {
			return err
		}
		for _, k := range keys {
			if k.ErasedBy != "" {
				continue
			}
			wrapped, err := wrap(k)
			if err != nil {
				return err
			}
			if _, err := tx.ExecContext(ctx, "UPDATE case_key SET wrapped = $2 WHERE case_id = $1", k.Case, notNull(wrapped)); err != nil {
				return err
			}
		}
		if _, err := tx.ExecContext(ctx, "UPDATE key_meta SET key_id = $1, kind = $2, salt = $3, passes = $4, memory_kib = $5, lanes = $6",
			to.ID, to.Kind, notNull(to.Salt), to.Passes, to.MemoryKiB, to.Lanes); err != nil {
			return err
		}
		newHead, err = s.appendIn(ctx, tx, ledger.Case, head, []casebook.Record{ledger})
		return err
	})
	return newHead, errors.Join(err, s.emptyWAL(ctx, err))
}

// EraseKey implements [casebook.KeyStore].
func (s *Store) EraseKey(ctx context.Context, cases []string, head string, ledger casebook.Record) (newHead string, err error) {
	err = s.keyed(ctx, fmt.Sprintf("erase case %q", strings.Join(cases, ", ")), func(tx *sql.Tx) error {
		for _, caseID := range cases {
			if err := eraseKey(ctx, tx, caseID, ledger.ID); err != nil {
				return err
			}
		}
		newHead, err = s.appendIn(ctx, tx, ledger.Case, head, []casebook.Record{ledger})
		return err
	})
	return newHead, errors.Join(err, s.emptyWAL(ctx, err))
}

func eraseKey(ctx context.Context, tx *sql.Tx, caseID, by string) error {
	switch k, there, err := caseKey(ctx, tx, caseID); {
	case err != nil:
		return err
	case !there:
		return casebook.ErrNotFound
	case k.ErasedBy != "":
		return casebook.ErrErased
	}
	// Two steps: the bytes are overwritten where they stand before the cell that holds them is let go of.
	for _, statement := range []string{
		"UPDATE case_key SET wrapped = zeroblob(length(wrapped)) WHERE case_id = $1",
		"UPDATE case_key SET wrapped = NULL, erased_by = $2 WHERE case_id = $1",
	} {
		if _, err := tx.ExecContext(ctx, statement, caseID, by); err != nil {
			return err
		}
	}
	return nil
}

// emptyWAL folds the WAL into the file and cuts it to nothing, so that old pages with a destroyed key do not
// stay in it. What was committed stays committed when this fails: a reader that holds on to the WAL, say; then
// the next open for writing does it.
func (s *Store) emptyWAL(ctx context.Context, before error) error {
	if before != nil {
		return nil
	}
	var busy, pages, moved int
	err := s.write.QueryRowContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)").Scan(&busy, &pages, &moved)
	switch {
	case err != nil:
		return fmt.Errorf("sqlite: %s: %w (%w)", s.path, casebook.ErrLingers, explain(ctx, err))
	case busy != 0:
		return fmt.Errorf("sqlite: %s: %w: another program reads the store", s.path, casebook.ErrLingers)
	}
	return nil
}
