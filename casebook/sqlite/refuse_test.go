package sqlite_test

import (
	"context"
	"database/sql"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/casebook/storetest"

	_ "modernc.org/sqlite"
)

// filled makes a closed store of three records in two cases and one photo, and returns its path.
func filled(tb testing.TB) string {
	tb.Helper()
	ctx := context.Background()
	path := filepath.Join(tb.TempDir(), "store.db")
	s, err := sqlite.Open(ctx, path)
	if err != nil {
		tb.Fatal(err)
	}
	photo, err := s.PutBlob(ctx, []byte("a photo of a wound, say"))
	if err != nil {
		tb.Fatal(err)
	}
	if _, err := s.PutBlob(ctx, []byte("another photo")); err != nil {
		tb.Fatal(err)
	}
	head, err := s.Append(ctx, "a", "", storetest.NewRecord("a", "a1", "140 mL in the canister", photo))
	if err == nil {
		_, err = s.Append(ctx, "b", "", storetest.NewRecord("b", "b1", "other"))
	}
	if err == nil {
		_, err = s.Append(ctx, "a", head, storetest.NewRecord("a", "a2", "two pieces out"))
	}
	if err != nil {
		tb.Fatal(err)
	}
	if err := s.Close(); err != nil {
		tb.Fatal(err)
	}
	return path
}

// raw opens a store's file past the program, as anyone with an SQLite tool can.
func raw(tb testing.TB, path string) *sql.DB {
	tb.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		tb.Fatal(err)
	}
	db.SetMaxOpenConns(1)
	tb.Cleanup(func() { db.Close() })
	return db
}

func verify(tb testing.TB, path string) casebook.Report {
	tb.Helper()
	ctx := context.Background()
	s, err := sqlite.OpenReader(ctx, path)
	if err != nil {
		tb.Fatal(err)
	}
	defer s.Close()
	report, err := casebook.Verify(ctx, s)
	if err != nil {
		tb.Fatal(err)
	}
	return report
}

// The statements that the database itself must refuse, whoever asks. X'41' is "A"; h stands for some hash of
// the right length.
var refused = []string{
	"UPDATE record SET bytes = X'41'",
	"UPDATE record SET bytes = X'41' WHERE seq = 2",
	"UPDATE record SET seq = 7 WHERE seq = 3",
	"UPDATE record SET id = 'other' WHERE id = 'a1'",
	"UPDATE record SET case_id = 'b' WHERE id = 'a1'",
	"UPDATE record SET hash = 'h' WHERE id = 'a1'",
	"UPDATE record SET rowid = 9 WHERE rowid = 3",
	"UPDATE OR IGNORE record SET bytes = X'41'",
	"UPDATE OR REPLACE record SET id = 'a1' WHERE id = 'b1'",
	"UPDATE record SET bytes = bytes",
	"DELETE FROM record",
	"DELETE FROM record WHERE seq = 3",
	"REPLACE INTO record (seq, id, case_id, bytes, hash) VALUES (1, 'a1', 'a', X'41', 'h')",
	"REPLACE INTO record (seq, id, case_id, bytes, hash) VALUES (4, 'a1', 'a', X'41', 'h')",
	"REPLACE INTO record (seq, id, case_id, bytes, hash) VALUES (3, 'new', 'a', X'41', 'h')",
	"INSERT OR REPLACE INTO record (seq, id, case_id, bytes, hash) VALUES (4, 'b1', 'a', X'41', 'h')",
	"INSERT INTO record (seq, id, case_id, bytes, hash) VALUES (1, 'a1', 'a', X'41', 'h') ON CONFLICT DO UPDATE SET bytes = excluded.bytes",
	"INSERT INTO record (seq, id, case_id, bytes, hash) VALUES (4, 'a1', 'a', X'41', 'h') ON CONFLICT (id) DO UPDATE SET bytes = excluded.bytes",
	"INSERT INTO record (seq, id, case_id, bytes, hash) VALUES (3, 'new', 'a', X'41', 'h') ON CONFLICT (seq) DO UPDATE SET bytes = excluded.bytes",
	"INSERT INTO record (seq, id, case_id, bytes, hash) VALUES (5, 'gap', 'a', X'41', 'h')",
	"INSERT INTO record (seq, id, case_id, bytes, hash) VALUES (0, 'before', 'a', X'41', 'h')",
	"INSERT INTO record (seq, id, case_id, bytes, hash) VALUES (-1, 'before', 'a', X'41', 'h')",
	"INSERT INTO record (id, case_id, bytes, hash) VALUES ('no place', 'a', X'41', 'h')",
	"INSERT INTO record (seq, id, case_id, bytes, hash) VALUES (4, 'short hash', 'a', X'41', 'abc')",
	"INSERT INTO record (seq, id, case_id, bytes, hash) VALUES (4, 'null', 'a', NULL, 'h')",
	"INSERT INTO record (seq, id, case_id, bytes, hash) VALUES (4, 'text', 'a', 'text', 'h')",
	"UPDATE case_head SET count = 1 WHERE case_id = 'a'",
	"UPDATE case_head SET head = 'h'",
	"UPDATE case_head SET count = count + 1 WHERE case_id = 'a'",
	"UPDATE case_head SET case_id = 'c' WHERE case_id = 'a'",
	"DELETE FROM case_head",
	"REPLACE INTO case_head (case_id, head, count, seq) VALUES ('a', 'h', 1, 3)",
	"INSERT INTO case_head (case_id, head, count, seq) VALUES ('c', 'h', 1, 3)",
	"INSERT INTO case_head (case_id, head, count, seq) SELECT 'c', hash, 1, seq FROM record WHERE seq = 3",
	"INSERT INTO case_head (case_id, head, count, seq) VALUES ('a', 'h', 1, 3) ON CONFLICT DO UPDATE SET count = 1",
	"UPDATE blob SET bytes = X'41'",
	"UPDATE blob SET hash = 'h'",
	"DELETE FROM blob",
	"REPLACE INTO blob (hash, bytes) SELECT hash, X'41' FROM blob",
	"INSERT INTO blob (hash, bytes) SELECT hash, X'41' FROM blob WHERE true ON CONFLICT DO UPDATE SET bytes = excluded.bytes",
	"INSERT INTO blob (hash, bytes) VALUES ('short', X'41')",
}

func TestDatabaseRefuses(t *testing.T) {
	path := filled(t)
	db := raw(t, path)
	before := dump(t, db)
	// A tool may have these settings either way; the guards must not lean on them.
	for _, setting := range []string{"PRAGMA recursive_triggers = 0", "PRAGMA recursive_triggers = 1", "PRAGMA ignore_check_constraints = 1"} {
		if _, err := db.Exec(setting); err != nil {
			t.Fatal(err)
		}
		for _, statement := range refused {
			if strings.HasPrefix(setting, "PRAGMA ignore_check") && strings.Contains(statement, "short") {
				continue // whoever switches checks off may add a bad hash; Verify finds it
			}
			text := strings.ReplaceAll(statement, "'h'", "'"+strings.Repeat("0", 64)+"'")
			if _, err := db.Exec(text); err == nil {
				t.Errorf("with %s, the database took: %s", setting, statement)
				if after := dump(t, db); !reflect.DeepEqual(before, after) {
					t.Fatalf("and changed what is kept")
				}
			}
		}
	}
	if after := dump(t, db); !reflect.DeepEqual(before, after) {
		t.Errorf("what is kept has changed:\n%v\n%v", before, after)
	}
	if report := verify(t, path); !report.Sound() {
		t.Errorf("defects: %v", report.Defects)
	}
}

func dump(tb testing.TB, db *sql.DB) []string {
	tb.Helper()
	rows, err := db.Query(`SELECT concat_ws('|', 'record', seq, id, case_id, hex(bytes), hash) FROM record
		UNION ALL SELECT concat_ws('|', 'case_head', case_id, head, count, seq) FROM case_head
		UNION ALL SELECT concat_ws('|', 'blob', hash, hex(bytes)) FROM blob`)
	if err != nil {
		tb.Fatal(err)
	}
	defer rows.Close()
	var lines []string
	for rows.Next() {
		var line string
		if err := rows.Scan(&line); err != nil {
			tb.Fatal(err)
		}
		lines = append(lines, line)
	}
	if len(lines) == 0 || rows.Err() != nil {
		tb.Fatal("nothing to compare", rows.Err())
	}
	return lines
}

// IGNORE and DO NOTHING change nothing by themselves; they must not get around the guards either.
func TestDatabaseIgnoresNothing(t *testing.T) {
	db := raw(t, filled(t))
	before := dump(t, db)
	h := strings.Repeat("0", 64)
	for _, statement := range []string{
		"INSERT OR IGNORE INTO record (seq, id, case_id, bytes, hash) VALUES (1, 'a1', 'a', X'41', '" + h + "')",
		"INSERT INTO record (seq, id, case_id, bytes, hash) VALUES (4, 'a1', 'a', X'41', '" + h + "') ON CONFLICT DO NOTHING",
		"INSERT OR IGNORE INTO blob (hash, bytes) SELECT hash, X'41' FROM blob",
	} {
		_, err := db.Exec(statement)
		if after := dump(t, db); !reflect.DeepEqual(before, after) {
			t.Errorf("%s (%v) changed what is kept", statement, err)
		}
	}
}
