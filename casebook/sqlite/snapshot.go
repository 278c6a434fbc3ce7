package sqlite

import (
	"context"
	"fmt"
)

// Snapshot writes the store as it is at one moment into a new file, also while a writer appends. The file is packed:
// it holds no page that was let go of. It is for its owner alone.
func (s *Store) Snapshot(ctx context.Context, path string) error {
	if !s.readOnly {
		// The writer's own readers are kept from writing anywhere, into another file too.
		r, err := OpenReader(ctx, s.path)
		if err != nil {
			return err
		}
		defer r.Close()
		return r.Snapshot(ctx, path)
	}
	if err := newFile(path); err != nil {
		return fmt.Errorf("sqlite: snapshot: %w", err)
	}
	// VACUUM INTO takes an empty file, which so has its rights before its content.
	if _, err := s.read.ExecContext(ctx, "VACUUM INTO $1", path); err != nil {
		return fmt.Errorf("sqlite: snapshot of %s into %s: %w", s.path, path, explain(ctx, err))
	}
	return nil
}
