package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"lowtide/rule/value"
	"lowtide/trouble"
	"lowtide/unit"
)

func init() { commands = append(commands, newCall) }

// mostFacts bounds a file of facts: a call has a few dozen answers.
const mostFacts = 1 << 20

func newCall() *cobra.Command {
	var asJSON bool
	var local string
	c := &cobra.Command{
		Use:   "call FACTS",
		Short: "Say what is likely wrong in a call about a pump, and what to ask or check first",
		Long: "Reads the facts of a call (JSON; - is standard input) and says what to do for the patient, what may be wrong, and\n" +
			"the next sentence to read out. docs/format/call.md lists the facts. It supports and does not replace clinical\n" +
			"judgement; in an emergency call the local emergency number.",
		Args: exactly(1, "one file (or - for standard input)"),
		RunE: func(c *cobra.Command, args []string) error {
			rules, err := ruleSet(c, local)
			if err != nil {
				return err
			}
			m, err := callModel(local)
			if err != nil {
				return err
			}
			raw, err := readInput(c.InOrStdin(), args[0], mostFacts)
			if err != nil {
				return errUsage{fmt.Errorf("cannot read %s: %w", args[0], err)}
			}
			in, problems := parseCall(raw, m, rules)
			if len(problems) > 0 {
				for _, p := range problems {
					fmt.Fprintln(c.ErrOrStderr(), p)
				}
				return errUsage{fmt.Errorf("%d in %s; nothing was computed", len(problems), args[0])}
			}
			if in.state.AsOf.IsZero() {
				in.state.AsOf = now()
				in.notes = append(in.notes, "as_of is not given: the time of this computer is taken.")
			}
			in.state.OffLimitH = rules.Values(in.state.AsOf).In(value.OffLimit, "h")
			a := m.Counted(in.tally).Advise(in.state)
			if asJSON {
				return printJSON(c.OutOrStdout(), struct {
					trouble.Advice
					Notes []string `json:"notes"`
				}{a, append([]string{}, in.notes...)})
			}
			return writeCall(c.OutOrStdout(), a, in.notes)
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	c.Flags().StringVar(&local, "local", "", "folder of a local protocol; its values and its call.toml are laid over the built-in numbers")
	return c
}

// callModel is the built-in model, with the call.toml of a local protocol folder over it if there is one.
func callModel(folder string) (*trouble.Model, error) {
	m := trouble.BuiltIn()
	if folder == "" {
		return m, nil
	}
	raw, err := os.ReadFile(filepath.Join(folder, trouble.LocalFile))
	if errors.Is(err, os.ErrNotExist) {
		return m, nil
	}
	if err == nil {
		m, err = m.WithLocal(raw)
	}
	if err != nil {
		return nil, errUsage{fmt.Errorf("%s cannot be used:\n%w", filepath.Join(folder, trouble.LocalFile), err)}
	}
	return m, nil
}

// writeCall prints the advice for reading.
func writeCall(w io.Writer, a trouble.Advice, notes []string) error {
	var err error
	say := func(format string, args ...any) {
		if err == nil {
			_, err = fmt.Fprintf(w, format+"\n", args...)
		}
	}
	for _, d := range a.Danger {
		say("%-32s %s", d.Words, d.Answer)
		if d.Do != "" {
			say("  DO: %s", d.Do)
		}
	}
	say("")
	say("Next (%s): %s", a.Next.Kind, a.Next.Say)
	for _, x := range a.Next.Answers {
		say("  %-12s %s", x.ID, x.Words)
	}
	if a.Next.Needs != "" {
		say("  Needed: %s.", a.Next.Needs)
	}
	say("  Why: %s. About %s min.", a.Next.Why, unit.Number(a.Next.Minutes, 1))
	say("")
	say("%s", a.Clock.Words)
	if a.OffLimitAt != nil {
		say("Filler out by %s; set out by %s.", stamp(a.OffLimitAt), stamp(a.Clock.LeaveBy))
	}
	say("")
	for _, c := range a.Causes {
		first := ""
		if c.First != "" {
			first = "  (first: " + c.First + ")"
		}
		say("%s: %s%s", unit.Chance(c.Chance), c.Words, first)
	}
	say("")
	for _, n := range notes {
		say("note: %s", n)
	}
	say("Model %s; %d calls counted. Supports and does not replace clinical judgement.", a.Model, a.Calls)
	return err
}
