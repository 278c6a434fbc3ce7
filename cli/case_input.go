package cli

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"lowtide/intake"
)

// mostPiped bounds an archive on standard input, which is held in memory; one in a file is not.
const mostPiped = 512 << 20

// caseInput is a case file, or an archive that holds one with its photos and logs.
type caseInput struct {
	name string
	raw  []byte
	// archive is nil for a case file alone.
	archive *intake.Archive
	file    *os.File
}

func (i *caseInput) close() {
	if i.file != nil {
		i.file.Close()
	}
}

// openCase opens a case file or an archive; "-" is standard input. Problems of an archive are listed, and the command
// ends with code 2.
func openCase(c *cobra.Command, name string, asJSON bool) (*caseInput, error) {
	in := &caseInput{name: name}
	unreadable := func(err error) error { return errUsage{fmt.Errorf("%s cannot be read: %w", name, err)} }
	source := c.InOrStdin()
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			return nil, unreadable(err)
		}
		source, in.file = f, f
	}
	// The first bytes are looked at and stay in the way of what follows.
	peek := bufio.NewReader(source)
	head, _ := peek.Peek(4)
	if !intake.IsArchive(head) {
		raw, err := readAtMost(peek, int64(intake.DefaultLimits.Bytes))
		in.close()
		if err != nil {
			return nil, unreadable(err)
		}
		in.raw, in.file = raw, nil
		return in, nil
	}
	var at io.ReaderAt = in.file
	var size int64
	if in.file != nil {
		info, err := in.file.Stat()
		if err != nil {
			return nil, unreadable(err)
		}
		size = info.Size()
	} else {
		raw, err := readAtMost(peek, mostPiped)
		if err != nil {
			return nil, unreadable(err)
		}
		at, size = bytes.NewReader(raw), int64(len(raw))
	}
	a, problems := intake.OpenArchive(at, size, intake.Limits{})
	if err := tellProblems(c, name, asJSON, problems); err != nil {
		in.close()
		return nil, err
	}
	in.archive, in.raw = a, a.CaseJSON
	return in, nil
}

// tellProblems lists problems on standard error, as JSON when that was asked for, and ends the command with code 2 when
// one of them is more than a notice.
func tellProblems(c *cobra.Command, name string, asJSON bool, problems intake.Problems) error {
	if asJSON && len(problems) > 0 {
		if err := printJSON(c.ErrOrStderr(), map[string]any{"problems": problems}); err != nil {
			return err
		}
	} else {
		for _, p := range problems {
			fmt.Fprintln(c.ErrOrStderr(), p)
		}
	}
	switch {
	case problems.Err() == nil:
		return nil
	case asJSON:
		return errUsage{errQuiet}
	}
	return errUsage{errors.New(name + " cannot be used; what is wrong with it is listed above")}
}
