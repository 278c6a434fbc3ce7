package cli

import (
	"fmt"
	"io"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"

	"lowtide/licence"
	"lowtide/review"
)

func init() { commands = append(commands, newAbout) }

// aboutInfo is what the program says of itself.
type aboutInfo struct {
	Program string `json:"program"`
	// Commit is the source that it was built of, when the build knew; Changed tells that the source was not as committed.
	Commit  string `json:"commit,omitempty"`
	Changed bool   `json:"changed,omitempty"`
	Go      string `json:"go"`
	System  string `json:"system"`
	// Parts are the modules of others that are linked in, by what the program itself holds about its build.
	Parts []partInfo `json:"parts"`
}

type partInfo struct {
	Name     string   `json:"name"`
	Version  string   `json:"version"`
	Licences []string `json:"licences"`
}

func newAbout() *cobra.Command {
	var licences, asJSON bool
	c := &cobra.Command{
		Use:   "about",
		Short: "Say what this program is, what it was built of, and under which licences its parts are",
		Args:  exactly(0, "no argument"),
	}
	c.Flags().BoolVar(&licences, "licences", false, "print the licences of all parts of others, whole")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.RunE = func(c *cobra.Command, _ []string) error {
		list := licence.Parts()
		build, _ := debug.ReadBuildInfo() // nil without module support, which this module cannot be built without
		switch {
		case asJSON && licences:
			return printJSON(c.OutOrStdout(), list)
		case asJSON:
			return printJSON(c.OutOrStdout(), about(build, list))
		case licences:
			return list.Write(c.OutOrStdout())
		}
		return printAbout(c.OutOrStdout(), about(build, list))
	}
	return c
}

func about(build *debug.BuildInfo, list licence.List) aboutInfo {
	info := aboutInfo{Program: review.Version, Go: runtime.Version(), System: runtime.GOOS + "/" + runtime.GOARCH}
	if build == nil {
		return info
	}
	for _, s := range build.Settings {
		switch s.Key {
		case "vcs.revision":
			info.Commit = s.Value
		case "vcs.modified":
			info.Changed = s.Value == "true"
		}
	}
	for _, d := range build.Deps {
		info.Parts = append(info.Parts, partInfo{d.Path, d.Version, list.Of(d.Path, d.Version).SPDX()})
	}
	return info
}

func printAbout(w io.Writer, a aboutInfo) error {
	source := "built of a source that is not known by name"
	if a.Commit != "" {
		source = "built of commit " + a.Commit
		if a.Changed {
			source += ", with changes that are in no commit"
		}
	}
	_, err := fmt.Fprintf(w, "%s, %s, with %s for %s.\n"+
		"It supports and does not replace clinical judgement. The prescriber, the local protocol and the device's instructions decide. It controls no pump and is no alarm system.\n"+
		"Lowtide itself is under the Apache License, version 2.0. It holds %s of others; their licences, whole: lowtide about --licences\n",
		a.Program, source, a.Go, a.System, problemCount(len(a.Parts), "part", "parts"))
	return err
}
