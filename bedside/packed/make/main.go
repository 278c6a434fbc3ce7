// Command make builds Lowtide for browsers and keeps it where a build with the tag "bedside" embeds it.
package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"lowtide/bedside/packed"
)

func main() {
	if err := build(); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func build() error {
	here, err := os.Getwd()
	if err != nil {
		return err
	}
	source := packed.Source(here)
	if source == "" {
		return fmt.Errorf("%s is not in the source of Lowtide", here)
	}
	p, err := packed.Make(context.Background(), source)
	if err != nil {
		return err
	}
	if err := p.Write(filepath.Join(source, "bedside", "packed", "out")); err != nil {
		return err
	}
	fmt.Printf("for browsers: %.1f MB compressed, %s\n", float64(len(p.Wasm))/1e6, p.Mark)
	return nil
}
