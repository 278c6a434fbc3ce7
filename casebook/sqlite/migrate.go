package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"
	"strconv"
	"strings"

	"github.com/pressly/goose/v3"
)

//go:embed migrations/*.sql
var migrationFiles embed.FS

// applicationID is what migration 1 writes into the file's header.
const applicationID = 0x4C744362

// SchemaVersion is the newest schema that this program knows: the number of the last migration.
var SchemaVersion = newestMigration()

func newestMigration() int64 {
	names, err := fs.Glob(migrationFiles, "migrations/*.sql")
	if err != nil || len(names) == 0 {
		panic("sqlite: no migrations are built in")
	}
	// Glob sorts, and names start with a number of five digits.
	last := strings.TrimPrefix(names[len(names)-1], "migrations/")
	number, _, _ := strings.Cut(last, "_")
	version, err := strconv.ParseInt(number, 10, 64)
	if err != nil {
		panic("sqlite: migration " + last + " has no number")
	}
	return version
}

// migrate brings a store up to SchemaVersion, each step in a transaction of its own, and refuses what it
// must not touch.
func migrate(ctx context.Context, db *sql.DB) error {
	version, err := schemaVersion(ctx, db)
	if err != nil {
		return err
	}
	if version == SchemaVersion {
		return nil
	}
	if err := refuseNewer(version); err != nil {
		return err
	}
	folder, err := fs.Sub(migrationFiles, "migrations")
	if err != nil {
		return err
	}
	provider, err := goose.NewProvider(goose.DialectSQLite3, db, folder)
	if err != nil {
		return fmt.Errorf("read the migrations: %w", err)
	}
	if _, err := provider.Up(ctx); err != nil {
		return fmt.Errorf("upgrade the store to version %d (it stays at the last version that went through): %w", SchemaVersion, err)
	}
	return nil
}

// checkSchema refuses a store that can only be read unless it is of exactly this version.
func checkSchema(ctx context.Context, db *sql.DB) error {
	version, err := schemaVersion(ctx, db)
	if err != nil {
		return err
	}
	if err := refuseNewer(version); err != nil {
		return err
	}
	if version < SchemaVersion {
		return fmt.Errorf("%w (%d; this program reads %d): open it once with a program that writes to it, `lowtide serve` say, which upgrades it", ErrOlder, version, SchemaVersion)
	}
	return nil
}

func refuseNewer(version int64) error {
	if version > SchemaVersion {
		return fmt.Errorf("%w (%d; this program knows %d) and was left as it is: use the version of Lowtide that wrote it, or a later one", ErrNewer, version, SchemaVersion)
	}
	return nil
}

// schemaVersion is 0 for a file without content, and ErrForeign for a database of something else.
func schemaVersion(ctx context.Context, db *sql.DB) (int64, error) {
	var app int64
	if err := db.QueryRowContext(ctx, "PRAGMA application_id").Scan(&app); err != nil {
		return 0, err
	}
	var versions, others int
	err := db.QueryRowContext(ctx, `SELECT count(*) FILTER (WHERE name = 'goose_db_version'), count(*) FILTER (WHERE name <> 'goose_db_version')
		FROM sqlite_schema WHERE name NOT LIKE 'sqlite_%'`).Scan(&versions, &others)
	switch {
	case err != nil:
		return 0, err
	case app == 0 && others == 0:
		// A new file; or its first migration was cut short and has left no more than the table of versions.
		return 0, nil
	case app != applicationID:
		return 0, fmt.Errorf("%w but another program's SQLite file: name another file", ErrForeign)
	case versions == 0:
		return 0, fmt.Errorf("%w that says of which version it is: restore a backup", ErrForeign)
	}
	var version sql.NullInt64
	err = db.QueryRowContext(ctx, "SELECT max(version_id) FROM goose_db_version WHERE is_applied").Scan(&version)
	return version.Int64, err
}
