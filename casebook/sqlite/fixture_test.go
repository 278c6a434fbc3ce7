package sqlite_test

import (
	"os"
	"testing"
)

// LOWTIDE_FIXTURE=path writes the store that testdata/store-vN.db holds, once for each schema version, with
// the program that makes that version.
func TestWriteFixture(t *testing.T) {
	to := os.Getenv("LOWTIDE_FIXTURE")
	if to == "" {
		t.Skip("only on request")
	}
	content, err := os.ReadFile(filled(t))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(to, content, 0o644); err != nil {
		t.Fatal(err)
	}
	t.Logf("head %s", verify(t, filled(t)).Head)
}
