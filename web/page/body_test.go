package page

import (
	"flag"
	"os"
	"testing"

	"lowtide/chart"
)

var update = flag.Bool("update", false, "write the files that are drawn")

// TestBodySheet: the file of the figures is what chart draws. go test ./web/page -run BodySheet -update writes it anew.
func TestBodySheet(t *testing.T) {
	const file = "../static/" + bodySheet
	if *update {
		if err := os.WriteFile(file, []byte(chart.BodySheet()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if raw, err := os.ReadFile(file); err != nil || string(raw) != chart.BodySheet() {
		t.Errorf("%s is stale (%v): go test ./web/page -run BodySheet -update", file, err)
	}
}
