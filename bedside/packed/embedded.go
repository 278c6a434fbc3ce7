//go:build bedside

package packed

import _ "embed"

var (
	//go:embed out/lowtide.wasm.gz
	wasm []byte
	//go:embed out/loader.js
	loader []byte
)

// Embedded is the program that was built before this one; false when there is none.
func Embedded() (Program, bool) { return programOf(wasm, loader), true }
