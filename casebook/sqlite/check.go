package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"slices"

	"github.com/pressly/goose/v3"
)

// CheckMedium implements [casebook.MediumChecker]: SQLite's own check of every page and index, and a
// comparison of the file's tables, indexes and guards with those that the migrations make. So a trigger
// that was dropped or softened is found even if nothing else was touched yet.
func (s *Store) CheckMedium(ctx context.Context) ([]string, error) {
	defects, err := texts(ctx, s.read, "PRAGMA integrity_check")
	if err != nil {
		return nil, fmt.Errorf("sqlite: check the pages of %s: %w", s.path, explain(ctx, err))
	}
	if slices.Equal(defects, []string{"ok"}) {
		defects = nil
	}
	for i := range defects {
		defects[i] = "the file: " + defects[i]
	}
	schema, err := s.checkObjects(ctx)
	if err != nil {
		return defects, fmt.Errorf("sqlite: check the tables of %s: %w", s.path, explain(ctx, err))
	}
	return append(defects, schema...), nil
}

func texts(ctx context.Context, db *sql.DB, query string) ([]string, error) {
	rows, err := db.QueryContext(ctx, query)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var list []string
	for rows.Next() {
		var text string
		if err := rows.Scan(&text); err != nil {
			return nil, err
		}
		list = append(list, text)
	}
	return list, rows.Err()
}

// checkObjects makes an empty store in memory and compares what the two are made of.
func (s *Store) checkObjects(ctx context.Context) (defects []string, err error) {
	fresh, err := sql.Open("sqlite", "file::memory:")
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, fresh.Close()) }()
	// Each connection to :memory: is a database of its own.
	fresh.SetMaxOpenConns(1)
	folder, err := fs.Sub(migrationFiles, "migrations")
	if err != nil {
		return nil, err
	}
	provider, err := goose.NewProvider(goose.DialectSQLite3, fresh, folder)
	if err != nil {
		return nil, err
	}
	if _, err := provider.Up(ctx); err != nil {
		return nil, err
	}
	want, err := objects(ctx, fresh)
	if err != nil {
		return nil, err
	}
	got, err := objects(ctx, s.read)
	if err != nil {
		return nil, err
	}
	for _, name := range sortedKeys(want) {
		switch text, ok := got[name]; {
		case !ok:
			defects = append(defects, fmt.Sprintf("the file: the %s is missing", name))
		case text != want[name]:
			defects = append(defects, fmt.Sprintf("the file: the %s was changed", name))
		}
	}
	for _, name := range sortedKeys(got) {
		if _, ok := want[name]; !ok {
			defects = append(defects, fmt.Sprintf("the file: the %s is not one of ours", name))
		}
	}
	return defects, nil
}

func sortedKeys(m map[string]string) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// objects maps "trigger record_no_update" and the like to its SQL. Statistics tables, which ANALYZE makes,
// hold no content and are left out.
func objects(ctx context.Context, db *sql.DB) (map[string]string, error) {
	rows, err := db.QueryContext(ctx, "SELECT type || ' ' || name, coalesce(sql, '') FROM sqlite_schema WHERE name NOT LIKE 'sqlite_stat%'")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	found := map[string]string{}
	for rows.Next() {
		var name, text string
		if err := rows.Scan(&name, &text); err != nil {
			return nil, err
		}
		found[name] = text
	}
	return found, rows.Err()
}
