package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"

	moderncsqlite "modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"lowtide/casebook"
)

// Errors of opening; each is wrapped in a sentence that says what to do.
var (
	// ErrLocked: another program has the store open for writing.
	ErrLocked = errors.New("the store is in use by another program")
	// ErrNewer: the store was written by a newer version of this program.
	ErrNewer = errors.New("the store is of a newer version")
	// ErrOlder: the store must be upgraded before it can be only read.
	ErrOlder = errors.New("the store is of an older version")
	// ErrForeign: the file is not a store.
	ErrForeign = errors.New("the file is not a Lowtide store")
)

// Open opens the store at path for reading and writing, making it when there is none; its folder must exist.
// An older store is upgraded. Errors: [ErrLocked], [ErrNewer], [ErrForeign], or what the system says.
func Open(ctx context.Context, path string) (*Store, error) {
	if dir := filepath.Dir(path); !isDir(dir) {
		return nil, fmt.Errorf("sqlite: there is no folder %s for the store: make it first, or name another place", dir)
	}
	path, err := oneName(path)
	if err != nil {
		return nil, err
	}
	lock, err := takeLock(path + ".lock")
	if errors.Is(err, ErrLocked) {
		return nil, fmt.Errorf("sqlite: %s: %w: stop the other one (a running `lowtide serve`, say), or name another store", path, ErrLocked)
	}
	if errors.Is(err, syscall.EROFS) || errors.Is(err, fs.ErrPermission) {
		return nil, fmt.Errorf("sqlite: %s: the store's folder can only be read, nothing was changed: check its rights, or copy the store to a disk that can be written (%w)", path, err)
	}
	if err != nil {
		return nil, fmt.Errorf("sqlite: %s: cannot take the write lock: %w", path, err)
	}
	s, err := openWriter(ctx, path)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("sqlite: open %s: %w", path, err), lock.release())
	}
	s.lock = lock
	return s, nil
}

// OpenReader opens an existing store that is only read, also while another program writes to it: Append and
// PutBlob fail. Errors: [ErrNewer], [ErrOlder], [ErrForeign], [fs.ErrNotExist], or what the system says.
func OpenReader(ctx context.Context, path string) (*Store, error) {
	switch info, err := os.Stat(path); {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("sqlite: there is no store %s to read: check the name (%w)", path, err)
	case err != nil:
		return nil, fmt.Errorf("sqlite: no store to read: %w", err)
	case info.IsDir():
		return nil, fmt.Errorf("sqlite: open %s to read: %w: it is a folder; name the store's file in it", path, ErrForeign)
	}
	s := &Store{path: path, readOnly: true}
	s.read = openPool(path, "ro", readers)
	s.write = s.read
	err := s.begin(ctx, func(ctx context.Context, db *sql.DB) error { return checkSchema(ctx, db) })
	if err != nil {
		return nil, fmt.Errorf("sqlite: open %s to read: %w", path, err)
	}
	return s, nil
}

// ErrManyNames: the store's file has a second name, under which another program could write to it.
var ErrManyNames = errors.New("the store's file has more than one name")

// oneName is the one name under which a store is locked and its WAL found: where a link leads. A file with a second
// hard link is refused: whoever opens it by that name has another lock and another WAL, and the two destroy each other's
// entries.
func oneName(path string) (string, error) {
	real, err := filepath.EvalSymlinks(path)
	if errors.Is(err, fs.ErrNotExist) {
		return path, nil // a new store; a link to nothing fails when it is made
	}
	if err != nil {
		return "", fmt.Errorf("sqlite: %s: %w", path, err)
	}
	info, err := os.Stat(real)
	if err != nil {
		return "", fmt.Errorf("sqlite: %s: %w", path, err)
	}
	if n := hardLinks(info); n > 1 {
		return "", fmt.Errorf("sqlite: %s: %w (%d hard links): two programs that open it by two names destroy each other's entries. Find the other with: find / -samefile %s; keep one, and remove the other name", path, ErrManyNames, n, real)
	}
	return real, nil
}

// readers is how many reads run at the same time; each keeps its own page cache.
const readers = 4

func openWriter(ctx context.Context, path string) (*Store, error) {
	if err := ownerOnly(path); err != nil {
		return nil, err
	}
	s := &Store{path: path, write: openPool(path, "rw", 1), read: openPool(path, "rw&_pragma=query_only(1)", readers)}
	if err := s.begin(ctx, migrate); err != nil {
		return nil, err
	}
	// What an erasure or a rotation that was cut short left in the WAL goes now; a reader in the way only puts
	// it off.
	_ = s.emptyWAL(ctx, nil)
	return s, nil
}

// begin readies an opened store, or closes it again.
func (s *Store) begin(ctx context.Context, ready func(context.Context, *sql.DB) error) error {
	err := ready(ctx, s.write)
	if err == nil {
		err = s.prepare(ctx)
	}
	if err != nil {
		return errors.Join(explain(ctx, err), s.Close())
	}
	return nil
}

// ownerOnly makes the file, or takes from others what rights they have on it, before any content is in it.
// SQLite gives its WAL files the rights of the file.
func ownerOnly(path string) error {
	err := newFile(path)
	if err == nil {
		return nil
	}
	if !errors.Is(err, fs.ErrExist) {
		return err
	}
	for _, name := range []string{path, path + "-wal", path + "-shm"} {
		info, err := os.Stat(name)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return err
		}
		if runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
			if err := os.Chmod(name, 0o600); err != nil {
				return fmt.Errorf("others may read the store, and that cannot be changed: %w", err)
			}
		}
	}
	return nil
}

// newFile makes an empty file for its owner alone.
func newFile(path string) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	return f.Close()
}

func isDir(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.IsDir()
}

// openPool names the settings that every connection gets. fullfsync only matters on macOS, where a plain
// fsync does not reach the medium. cell_size_check finds broken pages early.
func openPool(path, mode string, size int) *sql.DB {
	pragmas := []string{"busy_timeout(5000)", "synchronous(FULL)", "fullfsync(1)", "checkpoint_fullfsync(1)", "secure_delete(1)",
		"trusted_schema(0)", "cell_size_check(1)"}
	if !strings.HasPrefix(mode, "ro") {
		pragmas = append(pragmas, "journal_mode(WAL)")
	}
	dsn := fileURL(path) + "?mode=" + mode + "&_txlock=immediate&_defensive=1&_dqs=0"
	for _, p := range pragmas {
		dsn += "&_pragma=" + p
	}
	// sql.Open only looks up the driver's name, which the import registers: it cannot fail.
	db, err := sql.Open("sqlite", dsn)
	if err != nil {
		panic("sqlite: " + err.Error())
	}
	db.SetMaxOpenConns(size)
	db.SetMaxIdleConns(size)
	return db
}

// fileURL writes a path as a file URL, so that no character in it reads as a setting.
func fileURL(path string) string {
	if abs, err := filepath.Abs(path); err == nil {
		path = abs
	}
	path = filepath.ToSlash(path)
	if !strings.HasPrefix(path, "/") {
		path = "/" + path
	}
	return "file://" + (&url.URL{Path: path}).EscapedPath()
}

// explain turns the driver's codes into sentences that say what to do; other errors pass as they are. When
// the context has ended, that is the reason, whatever it made database/sql stumble over first.
func explain(ctx context.Context, err error) error {
	if ended := ctx.Err(); err != nil && ended != nil && !errors.Is(err, ended) {
		return fmt.Errorf("%w (%w)", ended, err)
	}
	var e *moderncsqlite.Error
	if err == nil || !errors.As(err, &e) {
		return err
	}
	if e.Code() == sqlite3.SQLITE_IOERR_SHMSIZE {
		// The file that readers and a writer share cannot grow to its size: there is no room for it.
		return fmt.Errorf("%w: make room and try again (%w)", casebook.ErrFull, err)
	}
	switch e.Code() & 0xff {
	case sqlite3.SQLITE_NOTADB:
		return fmt.Errorf("%w, or it is damaged from its first bytes on: name another file, or restore a backup (%w)", ErrForeign, err)
	case sqlite3.SQLITE_CORRUPT:
		return fmt.Errorf("the store's file is damaged: keep a copy of it, run `lowtide check` to see what still reads, and restore a backup (%w)", err)
	case sqlite3.SQLITE_FULL:
		return fmt.Errorf("%w: make room and try again (%w)", casebook.ErrFull, err)
	case sqlite3.SQLITE_READONLY:
		return fmt.Errorf("%w: check the rights on its file and folder (%w)", casebook.ErrReadOnly, err)
	case sqlite3.SQLITE_CANTOPEN:
		return fmt.Errorf("the store cannot be opened here: its folder must be writable even to read it, and the disk not full; copy the store with its -wal file to one that is (%w)", err)
	case sqlite3.SQLITE_BUSY:
		return fmt.Errorf("%w: stop it or try again (%w)", casebook.ErrBusy, err)
	}
	return err
}
