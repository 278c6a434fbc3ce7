// Package cli shows reviews on the command line and starts the server: one file a command.
// It is the only package that reads the clock, the environment and flags.
package cli

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"
)

// Exit codes: 0 done, 1 the answer is "no" or something failed, 2 the call was wrong.
const (
	exitOK     = 0
	exitFailed = 1
	exitUsage  = 2
)

// errUsage marks an error in the call itself.
type errUsage struct{ error }

// errQuiet ends a command with code 1 after it has already said everything.
var errQuiet = errors.New("")

// now is the program's clock. Everything below cli gets its time from here.
var now = time.Now

// commands holds one constructor for each command, filled by the files of this package.
var commands []func() *cobra.Command

// Main runs one command line and returns the exit code.
func Main(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	root := newRoot()
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	err := root.Execute()
	var usage errUsage
	switch {
	case err == nil:
		return exitOK
	case errors.Is(err, errQuiet):
		return exitFailed
	case errors.As(err, &usage):
		if text := err.Error(); text != "" { // with --json everything was said already
			fmt.Fprintln(stderr, "lowtide:", text)
		}
		return exitUsage
	case strings.HasPrefix(err.Error(), "unknown command"):
		// The library names near commands but gives the error no type of its own.
		fmt.Fprintf(stderr, "lowtide: %v\nThe commands are listed by: lowtide --help\n", err)
		return exitUsage
	}
	fmt.Fprintln(stderr, "lowtide:", err)
	return exitFailed
}

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:           "lowtide",
		Short:         "Run negative-pressure wound therapy across a caseload",
		Long:          "Lowtide supports and does not replace clinical judgement. The prescriber, the local protocol and the\ndevice's instructions decide. It controls no pump and is no alarm system.",
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return errUsage{fmt.Errorf("%w; type: %s --help", err, c.CommandPath())}
	})
	for _, c := range commands {
		root.AddCommand(c())
	}
	return root
}

// exactly asks for n arguments and says what to type when they are missing.
func exactly(n int, usage string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) != n {
			return errUsage{fmt.Errorf("%s needs %s; type: %s", c.Name(), usage, c.UseLine())}
		}
		return nil
	}
}
