// Package packed holds Lowtide built for browsers, compressed, as servers hand it out: embedded in a released program, and
// made from the source where the program is run from it.
package packed

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

// Program is Lowtide built for browsers.
type Program struct {
	// Wasm is the program, compressed with gzip (RFC 1952).
	Wasm []byte
	// Loader is the script that starts it. It belongs to the compiler that built it, and is under Go's licence.
	Loader []byte
	// Mark names this build: it is a hash of both.
	Mark string
}

// The files in which a program is kept.
const (
	wasmFile   = "lowtide.wasm.gz"
	loaderFile = "loader.js"
)

func programOf(wasm, loader []byte) Program {
	h := sha256.New()
	h.Write(wasm)
	h.Write(loader)
	return Program{wasm, loader, hex.EncodeToString(h.Sum(nil)[:8])}
}

// Write keeps the program in a folder, as it is embedded.
func (p Program) Write(folder string) error {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(folder, loaderFile), p.Loader, 0o644); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(folder, wasmFile), p.Wasm, 0o644)
}

// Source is the folder of the program's source, looked for from dir upwards; empty when there is none.
func Source(dir string) string {
	for {
		raw, err := os.ReadFile(filepath.Join(dir, "go.mod"))
		if err == nil && strings.HasPrefix(string(raw), "module lowtide\n") {
			return dir
		}
		up := filepath.Dir(dir)
		if up == dir {
			return ""
		}
		dir = up
	}
}

// Make builds the program from its source with the Go command that is at hand. What was compiled before is taken from
// Go's own cache.
func Make(ctx context.Context, source string) (Program, error) {
	work, err := os.MkdirTemp("", "lowtide-build-")
	if err != nil {
		return Program{}, err
	}
	defer os.RemoveAll(work)
	file := filepath.Join(work, "lowtide.wasm")
	if _, err := run(ctx, source, "build", "-trimpath", "-ldflags", "-s -w", "-o", file, "./bedside"); err != nil {
		return Program{}, fmt.Errorf("building for browsers: %w", err)
	}
	raw, err := os.ReadFile(file)
	if err != nil {
		return Program{}, err
	}
	root, err := run(ctx, source, "env", "GOROOT")
	if err != nil {
		return Program{}, err
	}
	loader, err := os.ReadFile(filepath.Join(strings.TrimSpace(root), "lib", "wasm", "wasm_exec.js"))
	if err != nil {
		return Program{}, fmt.Errorf("the compiler's loader: %w", err)
	}
	var small bytes.Buffer
	z, err := gzip.NewWriterLevel(&small, gzip.BestCompression)
	if err != nil {
		return Program{}, err
	}
	if _, err := z.Write(raw); err != nil {
		return Program{}, err
	}
	if err := z.Close(); err != nil {
		return Program{}, err
	}
	return programOf(small.Bytes(), loader), nil
}

// run runs the Go command for browsers and returns what it printed.
func run(ctx context.Context, dir string, args ...string) (string, error) {
	cmd := exec.CommandContext(ctx, "go", args...)
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm", "CGO_ENABLED=0")
	var wrong bytes.Buffer
	cmd.Stderr = &wrong
	out, err := cmd.Output()
	if err != nil {
		return "", fmt.Errorf("go %s: %w\n%s", args[0], err, wrong.String())
	}
	return string(out), nil
}
