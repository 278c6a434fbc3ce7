// Lowtide helps a nurse run negative-pressure wound therapy across a caseload.
package main

import (
	"os"

	"lowtide/cli"
)

func main() { os.Exit(cli.Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }
