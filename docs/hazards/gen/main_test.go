package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"lowtide/rule/hazard"
)

// TestFresh: the committed page is what the data say.
func TestFresh(t *testing.T) {
	got, err := os.ReadFile(filepath.Join("..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, document(hazard.All())) {
		t.Error("docs/hazards/README.md is old: go run ./docs/hazards/gen")
	}
}
