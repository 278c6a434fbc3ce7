package seal

import (
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"

	"golang.org/x/crypto/chacha20poly1305"

	"lowtide/casebook"
)

// Errors of key files; each is wrapped in a sentence that says what to do.
var (
	// ErrOpenToOthers: others than its owner may read the key file, or replace it.
	ErrOpenToOthers = errors.New("the key file is open to others")
	// ErrNotAKey: the file is no key file.
	ErrNotAKey = errors.New("not a key file")
)

const (
	keyFormat  = "lowtide store key 1"
	maxKeyFile = 4096
)

// Text is the content of a key file. It can be printed and typed in again: the ID shows a mistyped key.
func (k Key) Text() string {
	return fmt.Sprintf("%s\n# Whoever has this and the store can read every patient. Keep a copy apart from the store.\nid  %s\nkey %s\n",
		keyFormat, k.ID(), hex.EncodeToString(k.secret))
}

// ParseKey reads the content of a key file. Error: [ErrNotAKey].
func ParseKey(text []byte) (Key, error) {
	lines := strings.Split(strings.ReplaceAll(string(text), "\r\n", "\n"), "\n")
	fields := map[string]string{}
	for i, line := range lines {
		name, value, _ := strings.Cut(strings.TrimSpace(line), " ")
		switch {
		case i == 0 && strings.TrimSpace(line) != keyFormat:
			return Key{}, fmt.Errorf("%w: its first line is not %q", ErrNotAKey, keyFormat)
		case i == 0 || name == "" || strings.HasPrefix(name, "#"):
		case (name != "id" && name != "key") || fields[name] != "":
			return Key{}, fmt.Errorf("%w: line %d is not understood", ErrNotAKey, i+1)
		default:
			fields[name] = strings.ReplaceAll(value, " ", "")
		}
	}
	secret, err := hex.DecodeString(fields["key"])
	if err != nil || len(secret) != chacha20poly1305.KeySize {
		return Key{}, fmt.Errorf("%w: the key does not have %d hex digits", ErrNotAKey, 2*chacha20poly1305.KeySize)
	}
	k := keyOf(secret, casebook.KeyMeta{Kind: FromFile})
	if !strings.EqualFold(k.ID(), fields["id"]) {
		return Key{}, fmt.Errorf("%w: its id does not belong to its key: one of them was mistyped or cut", ErrNotAKey)
	}
	return k, nil
}

// ReadKeyFile reads a key file that nobody else may read or replace. Errors: [ErrOpenToOthers], [ErrNotAKey],
// [fs.ErrNotExist].
func ReadKeyFile(path string) (Key, error) {
	f, err := os.Open(path)
	if err != nil {
		return Key{}, fmt.Errorf("seal: key file: %w", err)
	}
	defer f.Close()
	if err := guarded(f, path); err != nil {
		return Key{}, fmt.Errorf("seal: %s: %w", path, err)
	}
	text, err := io.ReadAll(io.LimitReader(f, maxKeyFile+1))
	if err == nil && len(text) > maxKeyFile {
		err = ErrNotAKey
	}
	if err != nil {
		return Key{}, fmt.Errorf("seal: key file %s: %w", path, err)
	}
	k, err := ParseKey(text)
	if err != nil {
		return Key{}, fmt.Errorf("seal: key file %s: %w", path, err)
	}
	return k, nil
}

// WriteKeyFile writes a new key file, for its owner alone, onto the medium. It never overwrites one.
func WriteKeyFile(path string, k Key) error {
	if k.meta.Kind == FromPassphrase {
		return fmt.Errorf("seal: a key made of a passphrase is not written to a file")
	}
	err := writeFile(path, []byte(k.Text()))
	switch {
	case err == nil:
		return nil
	case errors.Is(err, syscall.ENOSPC):
		return fmt.Errorf("seal: key file: the disk is full and nothing was changed: make room and try again (%w)", err)
	case errors.Is(err, syscall.EROFS), errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("seal: key file: its folder cannot be written to and nothing was changed: check the rights on it, or name another place with --key (%w)", err)
	}
	return fmt.Errorf("seal: write key file: %w", err)
}

// writeFile makes the file whole or not at all: it is written under another name first. Link refuses a name that
// is taken, which rename would not.
func writeFile(path string, content []byte) error {
	if _, err := os.Lstat(path); err == nil {
		return fmt.Errorf("%s: %w", path, fs.ErrExist)
	}
	f, err := NewFile(path + ".part" + rand.Text())
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(content)
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return err
	}
	if err := os.Link(f.Name(), path); err != nil {
		if errors.Is(err, fs.ErrExist) {
			return err
		}
		// A file system without links: the check above has to do.
		if err := os.Rename(f.Name(), path); err != nil {
			return err
		}
	}
	return syncFolder(filepath.Dir(path))
}

// syncFolder puts a new or changed name onto the medium.
func syncFolder(dir string) error {
	if runtime.GOOS == "windows" {
		return nil // a folder cannot be opened there; the system keeps names by itself
	}
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}
