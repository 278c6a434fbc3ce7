package sqlite_test

import (
	"bytes"
	"context"
	"os"
	"strings"
	"testing"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/casebook/storetest"
)

// Each is what somebody with the file and an SQLite tool could do; every one must be found.
func TestVerifyFindsTampering(t *testing.T) {
	zeros := strings.Repeat("0", 64)
	for _, c := range []struct {
		name       string
		statements []string
		want       []string
	}{
		{"guard dropped", []string{"DROP TRIGGER record_no_update"}, []string{"trigger record_no_update is missing"}},
		{"guard softened", []string{"DROP TRIGGER blob_no_delete", "CREATE TRIGGER blob_no_delete BEFORE DELETE ON blob BEGIN SELECT 1; END"},
			[]string{"trigger blob_no_delete was changed"}},
		{"trigger added", []string{"CREATE TRIGGER quiet AFTER INSERT ON record BEGIN DELETE FROM blob; END"}, []string{"trigger quiet is not one of ours"}},
		{"index dropped", []string{"DROP INDEX record_case"}, []string{"index record_case is missing"}},
		{"bytes changed", edit("record_no_update", "UPDATE record SET bytes = CAST(replace(CAST(bytes AS TEXT), '140 mL', '410 mL') AS BLOB) WHERE id = 'a1'"),
			[]string{`record 1 (entry "a1" of case "a"): its hash is`}},
		{"last record's bytes changed", edit("record_no_update", "UPDATE record SET bytes = CAST(replace(CAST(bytes AS TEXT), 'two', 'six') AS BLOB) WHERE id = 'a2'"),
			[]string{`record 3 (entry "a2" of case "a"): its hash is`}},
		{"case changed", edit("record_no_update", "UPDATE record SET case_id = 'b' WHERE id = 'a2'"),
			[]string{"record 3", `case "a" is listed with 2 entries; the feed has 1`, `case "b" is listed with 1 entries; the feed has 2`, `its bytes say entry "a2" of case "a"`}},
		{"ID changed", edit("record_no_update", "UPDATE record SET id = 'zz' WHERE id = 'b1'"), []string{`record 2 (entry "zz"`, `its bytes say entry "b1"`}},
		{"hash changed", edit("record_no_update", "UPDATE record SET hash = '"+zeros+"' WHERE seq = 2"),
			[]string{`record 2 (entry "b1"`, `record 3 (entry "a2"`, `case "b": its head`}},
		{"record cut from the middle", edit("record_no_delete", "DELETE FROM record WHERE seq = 2"),
			[]string{"record 3 stands where 2 belongs", `record 3 (entry "a2"`, `case "b" is listed with 1 entries; the feed has 0`}},
		{"record cut from the end", edit("record_no_delete", "DELETE FROM record WHERE seq = 3"), []string{`case "a" is listed with 2 entries; the feed has 1`}},
		{"all records cut", edit("record_no_delete", "DELETE FROM record"), []string{`case "a" is listed`, `case "b" is listed`}},
		{"head changed", edit("case_head_only_forward", "UPDATE case_head SET head = '"+zeros+"' WHERE case_id = 'a'"), []string{`case "a": its head is listed as 000000000000… after 2 entries`}},
		{"count raised", edit("case_head_only_forward", "UPDATE case_head SET count = 3 WHERE case_id = 'a'"), []string{`case "a" is listed with 3 entries; the feed has 2`}},
		{"count lowered", edit("case_head_only_forward", "UPDATE case_head SET count = 1 WHERE case_id = 'a'"), []string{`case "a": its head`, `case "a" is listed with 1 entries; the feed has 2`}},
		{"head cut", edit("case_head_no_delete", "DELETE FROM case_head WHERE case_id = 'b'"), []string{`case "b" has 1 entries but is not in the list`}},
		{"photo changed", edit("blob_no_update", "UPDATE blob SET bytes = X'41' WHERE bytes = CAST('another photo' AS BLOB)"), []string{"its bytes were changed"}},
		{"photo cut", edit("blob_no_delete", "DELETE FROM blob WHERE bytes <> CAST('another photo' AS BLOB)"), []string{`entry "a1" names blob`}},
		{"record forged at the end", []string{"INSERT INTO record (seq, id, case_id, bytes, hash) VALUES (4, 'forged', 'a', X'7b7d', '" + zeros + "')"},
			[]string{`record 4 (entry "forged"`, "has no kind"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filled(t)
			if report := verify(t, path); !report.Sound() {
				t.Fatalf("before: %v", report.Defects)
			}
			db := raw(t, path)
			for _, statement := range c.statements {
				if _, err := db.Exec(statement); err != nil {
					t.Fatalf("%s: %v", statement, err)
				}
			}
			report := verify(t, path)
			for _, want := range c.want {
				if !strings.Contains(strings.Join(report.Defects, "\n"), want) {
					t.Errorf("no defect says %q among\n%s", want, strings.Join(report.Defects, "\n"))
				}
			}
		})
	}
}

// edit drops a guard, changes something, and puts the guard back as it was, so that only the content tells.
func edit(trigger, statement string) []string {
	return []string{
		"CREATE TEMP TABLE guard AS SELECT sql FROM sqlite_schema WHERE name = '" + trigger + "'",
		"DROP TRIGGER " + trigger, statement,
		"PRAGMA writable_schema = 1",
		"INSERT INTO sqlite_schema (type, name, tbl_name, rootpage, sql) SELECT 'trigger', '" + trigger + "', " +
			"substr('" + trigger + "', 1, CASE WHEN '" + trigger + "' LIKE 'case_head%' THEN 9 WHEN '" + trigger + "' LIKE 'blob%' THEN 4 ELSE 6 END), 0, sql FROM guard",
		"PRAGMA writable_schema = RESET",
	}
}

// Whoever rewrites the whole end of the chain and its heads leaves nothing inside to find; the head that was
// noted elsewhere shows it. The test states this limit, so that nobody takes a sound report for more.
func TestRewrittenChainShowsOnlyInTheHead(t *testing.T) {
	path := filled(t)
	before := verify(t, path)
	db := raw(t, path)
	var prev string
	if err := db.QueryRow("SELECT hash FROM record WHERE seq = 2").Scan(&prev); err != nil {
		t.Fatal(err)
	}
	forged := storetest.NewRecord("a", "a2", "six pieces out")
	hash := casebook.ChainHash(prev, forged)
	for _, statements := range [][]string{
		edit("record_no_update", "UPDATE record SET hash = '"+hash+"', bytes = CAST('"+string(forged.Bytes)+"' AS BLOB) WHERE seq = 3"),
		{"DROP TABLE temp.guard"},
		edit("case_head_only_forward", "UPDATE case_head SET head = '"+hash+"' WHERE case_id = 'a'"),
	} {
		for _, statement := range statements {
			if _, err := db.Exec(statement); err != nil {
				t.Fatalf("%s: %v", statement, err)
			}
		}
	}
	after := verify(t, path)
	if !after.Sound() {
		t.Errorf("found after all: %v", after.Defects)
	}
	if after.Head == before.Head {
		t.Errorf("the head is the same before and after")
	}
}

// Bytes changed on the disk, past SQLite.
func TestVerifyFindsChangedBytesOnDisk(t *testing.T) {
	for _, c := range []struct{ old, new, want string }{
		{"140 mL in the canister", "410 mL in the canister", `record 1 (entry "a1" of case "a"): its hash is`},
		{"a photo of a wound, say", "a photo of a heart, say", "its bytes were changed"},
	} {
		path := filled(t)
		content, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if n := bytes.Count(content, []byte(c.old)); n != 1 {
			t.Fatalf("%q is in the file %d times", c.old, n)
		}
		if err := os.WriteFile(path, bytes.Replace(content, []byte(c.old), []byte(c.new), 1), 0o600); err != nil {
			t.Fatal(err)
		}
		report := verify(t, path)
		if !strings.Contains(strings.Join(report.Defects, "\n"), c.want) {
			t.Errorf("%q for %q: %v", c.new, c.old, report.Defects)
		}
	}
}

// Every page of the file overwritten in turn: opening or verifying says so, and nothing panics. Pages that
// hold nothing are let off.
func TestVerifyFindsBrokenPages(t *testing.T) {
	ctx := context.Background()
	path := filled(t)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	const page = 4096
	found, pages := 0, len(whole)/page
	for i := range pages {
		broken := bytes.Clone(whole)
		for k := range page {
			broken[i*page+k] ^= 0x5a
		}
		if err := os.WriteFile(path, broken, 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := sqlite.OpenReader(ctx, path)
		if err != nil {
			found++
			continue
		}
		report, err := casebook.Verify(ctx, s)
		s.Close()
		if err != nil || !report.Sound() {
			found++
			continue
		}
		t.Errorf("page %d of %d overwritten: nothing found", i+1, pages)
	}
	t.Logf("%d of %d overwritten pages found", found, pages)
}
