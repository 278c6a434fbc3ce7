// Command evidence prints every outside check as docs/evidence.md, and fails when one does not hold.
package main

import (
	"fmt"
	"os"

	"lowtide/evidence"
)

func main() {
	tables, err := evidence.Load(os.DirFS("."))
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(2)
	}
	failed, err := evidence.Print(os.Stdout, evidence.Run(tables))
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(2)
	}
	if err := evidence.PrintRulebook(os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(2)
	}
	if err := evidence.PrintTimes(os.Stdout, os.DirFS(".")); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(2)
	}
	if failed > 0 {
		os.Exit(1)
	}
}
