// Command pumplog prints what package pumplog finds in logs whose truth is known.
//
//	go run ./evidence/cmd/pumplog
package main

import (
	"fmt"
	"os"

	"lowtide/evidence/logsim"
)

func main() {
	rows, err := logsim.Table(3, 30)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	logsim.Print(os.Stdout, rows)
}
