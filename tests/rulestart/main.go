// Command rulestart loads the rules once and says how long that took: the first time counts in a browser, where the code is
// still cold.
//
//	GOOS=js GOARCH=wasm go run -exec="$(go env GOROOT)/lib/wasm/go_js_wasm_exec" ./tests/rulestart
package main

import (
	"fmt"
	"os"
	"time"

	"lowtide/rule"
)

func main() {
	began := time.Now()
	s, err := rule.Builtin()
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	fmt.Printf("%d rules in %d ms\n", len(s.Rules()), time.Since(began).Milliseconds())
}
