package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"

	"lowtide/casebook"
)

// Store is a [casebook.Store] in one SQLite file. Make one with [Open], [OpenReader] or [OpenFrozen].
type Store struct {
	path     string
	readOnly bool
	lock     *fileLock
	// copied is the folder of a copy that is read in the store's place; Close removes it.
	copied string
	// write has one connection: appends queue up in this process, and the immediate transaction keeps other
	// processes out. read has several.
	write, read *sql.DB
	stmt        statements
	// chain makes the links of the keyed chain. It is set and used within transactions of write only.
	chain casebook.ChainMAC
}

var (
	_ casebook.Store         = (*Store)(nil)
	_ casebook.MediumChecker = (*Store)(nil)
)

// statements are compiled once; the first six run on the write connection.
type statements struct {
	head, tail, byID, addRecord, addMAC, addBlob     *sql.Stmt
	caseLinks, cases, feed, mark, blob, blobs, hasIt *sql.Stmt
}

const (
	linkColumns = "SELECT seq, id, case_id, bytes, hash, NULL FROM record "
	feedColumns = "SELECT r.seq, r.id, r.case_id, r.bytes, r.hash, c.mac FROM record AS r LEFT JOIN chain_mac AS c ON c.seq = r.seq "
	tailColumns = "SELECT seq, hash FROM record ORDER BY seq DESC LIMIT 1"
)

func (s *Store) prepare(ctx context.Context) error {
	for _, p := range []struct {
		db   *sql.DB
		into **sql.Stmt
		text string
	}{
		{s.write, &s.stmt.head, "SELECT head FROM case_head WHERE case_id = $1"},
		{s.write, &s.stmt.tail, tailColumns},
		{s.write, &s.stmt.byID, "SELECT case_id, bytes FROM record WHERE id = $1"},
		{s.write, &s.stmt.addRecord, "INSERT INTO record (seq, id, case_id, bytes, hash) VALUES ($1, $2, $3, $4, $5)"},
		{s.write, &s.stmt.addMAC, "INSERT INTO chain_mac (seq, mac) VALUES ($1, $2)"},
		{s.write, &s.stmt.addBlob, "INSERT INTO blob (hash, bytes) SELECT $1, $2 WHERE NOT EXISTS (SELECT 1 FROM blob WHERE hash = $1)"},
		{s.read, &s.stmt.caseLinks, linkColumns + "WHERE case_id = $1 ORDER BY seq"},
		{s.read, &s.stmt.cases, "SELECT case_id, head, count FROM case_head ORDER BY case_id"},
		{s.read, &s.stmt.feed, feedColumns + "WHERE r.seq > $1 ORDER BY r.seq LIMIT $2"},
		{s.read, &s.stmt.mark, tailColumns},
		{s.read, &s.stmt.blob, "SELECT bytes FROM blob WHERE hash = $1"},
		{s.read, &s.stmt.blobs, "SELECT hash FROM blob ORDER BY hash"},
		{s.read, &s.stmt.hasIt, "SELECT EXISTS (SELECT 1 FROM blob WHERE hash = $1)"},
	} {
		stmt, err := p.db.PrepareContext(ctx, p.text)
		if err != nil {
			return fmt.Errorf("the store's tables are not as they should be: %w", err)
		}
		*p.into = stmt
	}
	return nil
}

// Append implements [casebook.Store].
func (s *Store) Append(ctx context.Context, caseID, head string, records ...casebook.Record) (string, error) {
	newHead, err := s.append(ctx, caseID, head, records)
	if err != nil {
		return "", fmt.Errorf("sqlite: append to case %q: %w", caseID, explain(ctx, err))
	}
	return newHead, nil
}

func (s *Store) append(ctx context.Context, caseID, head string, records []casebook.Record) (newHead string, err error) {
	tx, err := s.write.BeginTx(ctx, nil)
	if err != nil {
		return "", err
	}
	defer func() {
		if err != nil {
			// The first error is the one to tell; a rollback after it has nothing to add.
			_ = tx.Rollback()
		}
	}()
	if newHead, err = s.appendIn(ctx, tx, caseID, head, records); err != nil {
		return "", err
	}
	return newHead, tx.Commit()
}

// appendIn appends within a transaction of the write connection.
func (s *Store) appendIn(ctx context.Context, tx *sql.Tx, caseID, head string, records []casebook.Record) (string, error) {
	var current string
	err := tx.StmtContext(ctx, s.stmt.head).QueryRowContext(ctx, caseID).Scan(&current)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return "", err
	}
	byID := tx.StmtContext(ctx, s.stmt.byID)
	fresh, err := casebook.PlanAppend(caseID, head, current, records, func(id string) (casebook.Record, bool, error) {
		r := casebook.Record{ID: id}
		switch err := byID.QueryRowContext(ctx, id).Scan(&r.Case, &r.Bytes); {
		case errors.Is(err, sql.ErrNoRows):
			return r, false, nil
		case err != nil:
			return r, false, err
		}
		return r, true, nil
	})
	if err != nil || len(fresh) == 0 {
		return current, err
	}
	if k, ok, err := caseKey(ctx, tx, caseID); err != nil {
		return "", err
	} else if ok && k.ErasedBy != "" {
		return "", casebook.ErrErased
	}
	return s.addAll(ctx, tx, fresh)
}

// addAll continues the chain and returns its new end.
func (s *Store) addAll(ctx context.Context, tx *sql.Tx, fresh []casebook.Record) (hash string, err error) {
	var seq int64
	err = tx.StmtContext(ctx, s.stmt.tail).QueryRowContext(ctx).Scan(&seq, &hash)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return "", err
	}
	add := tx.StmtContext(ctx, s.stmt.addRecord)
	for _, r := range fresh {
		seq++
		hash = casebook.ChainHash(hash, r)
		if _, err := add.ExecContext(ctx, seq, r.ID, r.Case, notNull(r.Bytes), hash); err != nil {
			return "", err
		}
		if s.chain != nil {
			if _, err := tx.StmtContext(ctx, s.stmt.addMAC).ExecContext(ctx, seq, s.chain(seq, hash)); err != nil {
				return "", err
			}
		}
	}
	return hash, nil
}

// Mark implements [casebook.Store].
func (s *Store) Mark(ctx context.Context) (m casebook.Mark, err error) {
	err = s.stmt.mark.QueryRowContext(ctx).Scan(&m.Count, &m.Head)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return m, fmt.Errorf("sqlite: read the end of the chain: %w", explain(ctx, err))
	}
	return m, nil
}

// notNull: the driver writes a nil slice as NULL, which the tables refuse, and reads no bytes as nil.
func notNull(b []byte) []byte {
	if b == nil {
		return []byte{}
	}
	return b
}

// Case implements [casebook.Store].
func (s *Store) Case(ctx context.Context, caseID string) ([]casebook.Link, error) {
	links, err := scanLinks(s.stmt.caseLinks.QueryContext(ctx, caseID))
	if err != nil {
		return nil, fmt.Errorf("sqlite: read case %q: %w", caseID, explain(ctx, err))
	}
	return links, nil
}

// Feed implements [casebook.Store].
func (s *Store) Feed(ctx context.Context, after int64, limit int) ([]casebook.Link, error) {
	// SQLite takes a negative limit for no limit.
	links, err := scanLinks(s.stmt.feed.QueryContext(ctx, after, max(limit, 0)))
	if err != nil {
		return nil, fmt.Errorf("sqlite: read the feed after %d: %w", after, explain(ctx, err))
	}
	return links, nil
}

func scanLinks(rows *sql.Rows, err error) ([]casebook.Link, error) {
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	links := []casebook.Link{}
	for rows.Next() {
		var l casebook.Link
		if err := rows.Scan(&l.Seq, &l.ID, &l.Case, &l.Bytes, &l.Hash, &l.MAC); err != nil {
			return nil, err
		}
		links = append(links, l)
	}
	return links, rows.Err()
}

// Cases implements [casebook.Store].
func (s *Store) Cases(ctx context.Context) ([]casebook.CaseHead, error) {
	heads := []casebook.CaseHead{}
	err := s.each(ctx, s.stmt.cases, func(rows *sql.Rows) error {
		var h casebook.CaseHead
		if err := rows.Scan(&h.Case, &h.Head, &h.Count); err != nil {
			return err
		}
		heads = append(heads, h)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("sqlite: list the cases: %w", explain(ctx, err))
	}
	return heads, nil
}

func (s *Store) each(ctx context.Context, stmt *sql.Stmt, row func(*sql.Rows) error) error {
	rows, err := stmt.QueryContext(ctx)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := row(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}

// PutBlob implements [casebook.Store].
func (s *Store) PutBlob(ctx context.Context, content []byte) (string, error) {
	hash := casebook.BlobHash(content)
	var kept bool
	err := s.stmt.hasIt.QueryRowContext(ctx, hash).Scan(&kept)
	if err == nil && !kept {
		_, err = s.stmt.addBlob.ExecContext(ctx, hash, notNull(content))
	}
	if err != nil {
		return "", fmt.Errorf("sqlite: keep blob %s: %w", hash, explain(ctx, err))
	}
	return hash, nil
}

// Blob implements [casebook.Store]. A blob whose bytes no longer give its hash is [casebook.ErrBroken]: a
// changed photo is never handed out.
func (s *Store) Blob(ctx context.Context, hash string) ([]byte, error) {
	var content []byte
	err := s.stmt.blob.QueryRowContext(ctx, hash).Scan(&content)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return nil, fmt.Errorf("sqlite: blob %q: %w", hash, casebook.ErrNotFound)
	case err != nil:
		return nil, fmt.Errorf("sqlite: read blob %s: %w", hash, explain(ctx, err))
	case casebook.BlobHash(content) != hash:
		return nil, fmt.Errorf("sqlite: blob %s: %w: its bytes were changed", hash, casebook.ErrBroken)
	}
	return notNull(content), nil
}

// BlobHashes implements [casebook.Store].
func (s *Store) BlobHashes(ctx context.Context) ([]string, error) {
	hashes := []string{}
	err := s.each(ctx, s.stmt.blobs, func(rows *sql.Rows) error {
		var hash string
		if err := rows.Scan(&hash); err != nil {
			return err
		}
		hashes = append(hashes, hash)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("sqlite: list the blobs: %w", explain(ctx, err))
	}
	return hashes, nil
}

// Close waits for what is running, folds the WAL into the file and lets go of the lock.
func (s *Store) Close() error {
	err := s.read.Close()
	if s.write != s.read {
		err = errors.Join(err, s.write.Close())
	}
	err = errors.Join(err, s.lock.release())
	s.lock = nil
	if s.copied != "" {
		err = errors.Join(err, os.RemoveAll(s.copied))
	}
	if err != nil {
		return fmt.Errorf("sqlite: close %s: %w", s.path, err)
	}
	return nil
}
