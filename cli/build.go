package cli

import (
	"fmt"
	"os"
	"runtime/debug"
)

// build names this build of the program: what one build has worked out and kept is not taken over by another.
func build() string {
	var revision string
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" {
				revision = s.Value
			}
		}
	}
	// Between two commits the file of the program tells builds apart.
	path, err := os.Executable()
	if err != nil {
		return revision
	}
	file, err := os.Stat(path)
	if err != nil {
		return revision
	}
	return fmt.Sprintf("%s %d %d", revision, file.Size(), file.ModTime().UnixNano())
}
