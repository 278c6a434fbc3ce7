// Lowtide helps a nurse run negative-pressure wound therapy across a caseload.
package main

import (
	"os"
	_ "time/tzdata" // time zones on machines that have none

	"lowtide/cli"
)

func main() { os.Exit(cli.Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }
