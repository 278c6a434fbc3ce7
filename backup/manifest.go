package backup

import (
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"lowtide/casebook"
)

// Errors, wrapped in a sentence that says what to do.
var (
	// ErrNotABackup: the file is no backup of ours.
	ErrNotABackup = errors.New("not a Lowtide backup")
	// ErrDamaged: the backup is cut off or was changed.
	ErrDamaged = errors.New("the backup is damaged")
	// ErrOtherRecipient: the identity does not open the backup.
	ErrOtherRecipient = errors.New("the backup was made for another recipient")
	// ErrNewer: the backup was written by a newer version.
	ErrNewer = errors.New("the backup is of a newer version")
	// ErrOccupied: there is something where a backup would be restored.
	ErrOccupied = errors.New("the place is not empty")
)

const (
	manifestFormat  = "lowtide backup"
	manifestVersion = 1
)

// Names inside a backup.
const (
	manifestName = "manifest.json"
	storeName    = "store.db"
	accessName   = "access.db"
	keyName      = "store.key"
)

// Manifest is the first file of a backup: what the others must hold.
type Manifest struct {
	Format  string    `json:"format"`
	Version int       `json:"version"`
	Made    time.Time `json:"made"`
	// Key is the ID of the store key that a restore needs, and Holder where it comes from.
	Key     string `json:"key"`
	Holder  string `json:"holder"`
	WithKey bool   `json:"with_key"`
	// Store and Access are what the two stores held; Access is nil without an access log.
	Store  casebook.Counts  `json:"store"`
	Access *casebook.Counts `json:"access,omitempty"`
	// Defects are those that the store had when the backup was made.
	Defects []string `json:"defects,omitempty"`
	Files   []File   `json:"files"`
}

// File is a file inside a backup.
type File struct {
	Name   string `json:"name"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}

func readManifest(text []byte) (Manifest, error) {
	var m Manifest
	if err := json.Unmarshal(text, &m); err != nil || m.Format != manifestFormat {
		return m, fmt.Errorf("%w: its manifest cannot be read", ErrNotABackup)
	}
	if m.Version > manifestVersion {
		return m, fmt.Errorf("%w (%d; this program knows %d): restore it with the version of Lowtide that wrote it, or a later one", ErrNewer, m.Version, manifestVersion)
	}
	seen := map[string]bool{}
	for _, f := range m.Files {
		if (f.Name != storeName && f.Name != accessName && f.Name != keyName) || seen[f.Name] || f.Bytes < 0 {
			return m, fmt.Errorf("%w: its manifest names %q", ErrNotABackup, f.Name)
		}
		seen[f.Name] = true
	}
	if !seen[storeName] || seen[accessName] != (m.Access != nil) || seen[keyName] != m.WithKey {
		return m, fmt.Errorf("%w: its manifest does not agree with itself", ErrNotABackup)
	}
	return m, nil
}
