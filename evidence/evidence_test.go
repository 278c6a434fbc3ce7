package evidence

import (
	"os"
	"testing"
)

// TestEvidence compares every row of every table with what Lowtide computes.
func TestEvidence(t *testing.T) {
	tables, err := Load(os.DirFS(".."))
	if err != nil {
		t.Fatal(err)
	}
	if len(tables) == 0 {
		t.Fatal("no tables found")
	}
	for _, r := range Run(tables) {
		t.Run(r.Table.Path+"/"+r.Row.Name, func(t *testing.T) {
			if !r.OK() {
				t.Errorf("%s: got %v (%v), want %v within %v\nsource: %s, %s", r.Row.Figure, r.Got, r.Err, r.Row.Want, r.Row.Tol, r.Table.Source, r.Table.Locator)
			}
		})
	}
}
