package cli

import (
	"runtime/debug"
	"strings"
	"testing"

	"lowtide/licence"
)

// TestAbout: the program says what it was built of, and prints each licence whole.
func TestAbout(t *testing.T) {
	says(t, 0, []string{"lowtide", "does not replace clinical judgement", "--licences"}, "about")
	says(t, 0, []string{"Go: BSD-3-Clause", "modernc.org/sqlite v", "SQLite Is Public Domain", "Permission is hereby granted, free of charge", "the words of LICENSE-DejaVu", "Bitstream Vera", "musl as a whole is licensed under"}, "about", "--licences")
	says(t, 0, []string{`"name": "github.com/spf13/cobra"`, `"Apache-2.0"`}, "about", "--licences", "--json")
	says(t, 2, []string{"no argument"}, "about", "now")

	list := licence.Parts()
	a := about(&debug.BuildInfo{Deps: []*debug.Module{{Path: "filippo.io/age", Version: list.Parts[2].Version}}, Settings: []debug.BuildSetting{{Key: "vcs.revision", Value: "abc"}, {Key: "vcs.modified", Value: "true"}}}, list)
	if a.Commit != "abc" || !a.Changed || len(a.Parts) != 1 || strings.Join(a.Parts[0].Licences, " ") != "BSD-3-Clause" {
		t.Errorf("%+v", a)
	}
}
