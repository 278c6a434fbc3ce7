package cli

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"lowtide/report/fhir"
)

func init() { commands = append(commands, newFHIR) }

// newFHIR writes a case as FHIR and reads what others wrote.
func newFHIR() *cobra.Command {
	c := &cobra.Command{
		Use:   "fhir",
		Short: "Write a case as a FHIR R4 Bundle, or read a Bundle into proposed entries",
		Long:  "docs/format/fhir.md says which resource carries what, and which codes are used.",
	}
	c.AddCommand(newFHIRWrite(), newFHIRRead())
	return c
}

func newFHIRWrite() *cobra.Command {
	var frame frameFlags
	var asOf string
	var asJSON, withReport bool
	c := &cobra.Command{
		Use:   "write FILE",
		Short: "Write the case of a case file, with its review, as a FHIR R4 Bundle",
		Args:  exactly(1, "a FILE or -"),
		RunE: func(c *cobra.Command, args []string) error {
			f, err := frame.readCase(c, args[0], asOf, asJSON)
			if err != nil {
				return err
			}
			defer f.close()
			from := f.input()
			in := fhir.Input{Review: from.Review}
			if withReport {
				if in.Papers, err = progressPaper(from); err != nil {
					return err
				}
			}
			raw, err := fhir.Bundle(in)
			if err != nil {
				return err
			}
			_, err = fmt.Fprintf(c.OutOrStdout(), "%s\n", raw)
			return err
		},
	}
	frame.add(c)
	c.Flags().StringVar(&asOf, "as-of", "", "as of this time, such as 2026-03-04T08:00:00Z; default now")
	c.Flags().BoolVar(&withReport, "with-report", false, "put the progress report in, as PDF")
	c.Flags().BoolVar(&asJSON, "json", false, "list problems of the case file as JSON; the Bundle is JSON in any case")
	return c
}

func newFHIRRead() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "read FILE",
		Short: "Read a FHIR R4 Bundle and say which entries it suggests",
		Long:  "Nothing is kept: what is printed are proposals. A nurse checks each, fills in what is missing and accepts it or not.",
		Args:  exactly(1, "a FILE or -"),
		RunE: func(c *cobra.Command, args []string) error {
			raw, err := readInput(c.InOrStdin(), args[0], mostInput)
			if err != nil {
				return errUsage{fmt.Errorf("%s cannot be read: %w", args[0], err)}
			}
			got, err := fhir.Read(raw)
			if err != nil {
				return errUsage{errors.New(args[0] + ": " + err.Error())}
			}
			if asJSON {
				return printJSON(c.OutOrStdout(), got)
			}
			return printProposals(c, got)
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return c
}

func printProposals(c *cobra.Command, got fhir.Reading) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%d proposed entries. None is kept before a nurse accepts it.\n", len(got.Proposals))
	for _, p := range got.Proposals {
		when := "time not told"
		if !p.At.IsZero() {
			when = p.At.Format(time.RFC3339)
		}
		fmt.Fprintf(&b, "\n%s, %s, from %s\n  %s\n", oneLine(string(p.Kind)), when, oneLine(strings.Join(p.From, ", ")), oneLine(string(p.Body)))
		if len(p.Missing) > 0 {
			fmt.Fprintf(&b, "  missing: %s\n", strings.Join(p.Missing, ", "))
		}
		for _, u := range p.Unsure {
			fmt.Fprintf(&b, "  not sure: %s\n", oneLine(u))
		}
	}
	if len(got.Unread) > 0 {
		fmt.Fprintf(&b, "\nNot read:\n")
	}
	for _, u := range got.Unread {
		fmt.Fprintf(&b, "  %s: %s\n", oneLine(u.From), oneLine(u.Why))
	}
	_, err := fmt.Fprint(c.OutOrStdout(), b.String())
	return err
}
