//go:build !js

// Lowtide for the browser: the same pages, made by a browser's service worker on the phone of a nurse, where there is no
// network. Built for anything else it only says so.
package main

import (
	"fmt"
	"os"
)

func main() {
	fmt.Fprintln(os.Stderr, "This program runs in browsers: make wasm builds it for them.")
	os.Exit(1)
}
