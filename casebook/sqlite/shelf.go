package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"sync"
)

// Shelf is a file beside a store in which the program keeps sealed rows from one run to the next, so that it need not read
// every case at its start. All of it can be made again: a file that is damaged, or of another form, is replaced by an empty
// one, and nothing waits for the disk. Its methods may be called from several goroutines.
type Shelf struct {
	path string
	mu   sync.Mutex
	db   *sql.DB
}

// ShelfOf is where the shelf of a store stands.
func ShelfOf(store string) string { return store + ".rows" }

// shelfForm is the user_version of a shelf's file: docs/format/store.md.
const shelfForm = 1

// OpenShelf opens the shelf at path, or makes it.
func OpenShelf(ctx context.Context, path string) (*Shelf, error) {
	s := &Shelf{path: path}
	if err := s.open(ctx); err != nil {
		if err := s.anew(ctx); err != nil {
			return nil, fmt.Errorf("sqlite: shelf %s: %w", path, err)
		}
	}
	return s, nil
}

func (s *Shelf) open(ctx context.Context) error {
	f, err := os.OpenFile(s.path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	db, err := sql.Open("sqlite", fileURL(s.path)+"?mode=rw&_txlock=immediate&_defensive=1&_dqs=0&_pragma=synchronous(OFF)&_pragma=journal_mode(DELETE)&_pragma=secure_delete(1)&_pragma=trusted_schema(0)&_pragma=cell_size_check(1)")
	if err != nil {
		return err
	}
	db.SetMaxOpenConns(1)
	var form, rows int
	err = db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&form)
	if err == nil && form == 0 {
		_, err = db.ExecContext(ctx, fmt.Sprintf("CREATE TABLE row (case_id TEXT NOT NULL PRIMARY KEY, bytes BLOB NOT NULL) STRICT; PRAGMA user_version = %d", shelfForm))
		form = shelfForm
	}
	if err == nil && form != shelfForm {
		err = fmt.Errorf("form %d", form)
	}
	if err == nil {
		err = db.QueryRowContext(ctx, "SELECT count(*) FROM row").Scan(&rows)
	}
	if err != nil {
		return errors.Join(err, db.Close())
	}
	s.db = db
	return nil
}

// anew throws the file away and starts another one.
func (s *Shelf) anew(ctx context.Context) error {
	if s.db != nil {
		_ = s.db.Close() // what it holds is given up
		s.db = nil
	}
	for _, file := range []string{s.path, s.path + "-journal"} {
		if err := os.Remove(file); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return s.open(ctx)
}

// Each hands out every row, in any order. After an error the shelf is empty.
func (s *Shelf) Each(ctx context.Context, use func(caseID string, sealed []byte)) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	err := s.each(ctx, use)
	if err != nil && ctx.Err() == nil {
		err = errors.Join(err, s.anew(ctx))
	}
	return err
}

func (s *Shelf) each(ctx context.Context, use func(caseID string, sealed []byte)) error {
	if s.db == nil {
		return errClosed
	}
	rows, err := s.db.QueryContext(ctx, "SELECT case_id, bytes FROM row")
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var id string
		var sealed sql.RawBytes
		if err := rows.Scan(&id, &sealed); err != nil {
			return err
		}
		use(id, sealed)
	}
	return rows.Err()
}

var errClosed = errors.New("the shelf is closed")

// Keep replaces the rows of the cases; nil bytes take a row off.
func (s *Shelf) Keep(ctx context.Context, rows map[string][]byte) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	err := s.keep(ctx, rows)
	if err != nil && ctx.Err() == nil {
		if err = s.anew(ctx); err == nil {
			err = s.keep(ctx, rows)
		}
	}
	return err
}

func (s *Shelf) keep(ctx context.Context, rows map[string][]byte) error {
	if s.db == nil {
		return errClosed
	}
	tx, err := s.db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback() // does nothing after Commit
	put, err := tx.PrepareContext(ctx, "INSERT INTO row (case_id, bytes) VALUES (?, ?) ON CONFLICT (case_id) DO UPDATE SET bytes = excluded.bytes")
	if err != nil {
		return err
	}
	defer put.Close()
	for id, sealed := range rows {
		if sealed == nil {
			_, err = tx.ExecContext(ctx, "DELETE FROM row WHERE case_id = ?", id)
		} else {
			_, err = put.ExecContext(ctx, id, sealed)
		}
		if err != nil {
			return err
		}
	}
	return tx.Commit()
}

// Close closes the file.
func (s *Shelf) Close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.db == nil {
		return nil
	}
	err := s.db.Close()
	s.db = nil
	return err
}
