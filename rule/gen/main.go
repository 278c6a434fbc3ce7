// Command gen writes rule/table.bin: the rules as the program carries them. go generate ./rule runs it.
package main

import (
	"fmt"
	"os"

	"lowtide/rule"
)

func main() {
	raw, err := rule.Table(os.DirFS("."))
	if err == nil {
		err = os.WriteFile("table.bin", raw, 0o644)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
