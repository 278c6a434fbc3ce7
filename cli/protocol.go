package cli

import (
	"fmt"
	"io/fs"
	"os"
	"path"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"lowtide/equipment"
)

// frameFlags are the flags that choose rules and equipment, on every command that reviews.
type frameFlags struct {
	local     string
	equipment string
}

func (f *frameFlags) add(c *cobra.Command) {
	c.Flags().StringVar(&f.local, "local", "", "folder of a local protocol to lay over the built-in rules")
	c.Flags().StringVar(&f.equipment, "equipment", "", "file with the agency's own equipment list")
}

// equipmentSet reads the agency's list, or the built-in one.
func (f *frameFlags) equipmentSet() (*equipment.Set, error) {
	if f.equipment == "" {
		return equipment.BuiltIn(), nil
	}
	raw, err := os.ReadFile(f.equipment)
	if err != nil {
		return nil, errUsage{fmt.Errorf("the equipment list cannot be read: %w", err)}
	}
	set, err := equipment.Parse(raw)
	if err != nil {
		return nil, errUsage{fmt.Errorf("%s cannot be used:\n%w", f.equipment, err)}
	}
	return set, nil
}

// files are the agency's own files as a device gets them: see [web.Server.Files].
func (f *frameFlags) files() (map[string][]byte, error) {
	out := map[string][]byte{}
	if f.equipment != "" {
		raw, err := os.ReadFile(f.equipment)
		if err != nil {
			return nil, err
		}
		out["equipment.toml"] = raw
	}
	if f.local == "" {
		return out, nil
	}
	folder := os.DirFS(f.local)
	return out, fs.WalkDir(folder, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || path.Ext(name) != ".toml" {
			return err
		}
		out["local/"+name], err = fs.ReadFile(folder, name)
		return err
	})
}

// instant reads the time that a flag gives: RFC 3339, or a date and time in the computer's zone. Empty is now.
func instant(flag, text string) (time.Time, error) {
	if text == "" {
		return now(), nil
	}
	for _, layout := range []string{time.RFC3339Nano, "2006-01-02T15:04", "2006-01-02 15:04", time.DateOnly} {
		if t, err := time.ParseInLocation(layout, strings.TrimSpace(text), time.Local); err == nil {
			return t, nil
		}
	}
	return time.Time{}, errUsage{fmt.Errorf("%s %q is not a time; type for example %s 2026-03-04T08:00:00Z", flag, text, flag)}
}
