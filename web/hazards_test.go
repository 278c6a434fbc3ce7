package web_test

import (
	"net/http"
	"strings"
	"testing"
)

// TestHazardsAreLinked: About leads to the hazards, the hazards to their rules, and a rule to the hazards that it stands against.
func TestHazardsAreLinked(t *testing.T) {
	c := newClient(t)
	for path, want := range map[string]string{"/about": `href="/hazards"`, "/hazards": `href="/rules/SGN-BLOOD-01"`, "/rules/SGN-BLOOD-01": `href="/hazards#HAZ-001"`} {
		w := c.get(path)
		if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), want) {
			t.Errorf("%s: %d, and not %s", path, w.Code, want)
		}
		if n := w.Body.Len(); n > 100_000 {
			t.Errorf("%s has %d bytes", path, n)
		}
	}
}
