package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"lowtide/power"
	"lowtide/suction"
	"lowtide/unit"
)

func init() { commands = append(commands, newBench) }

// mostBench is a size that no sensible bench file passes.
const mostBench = 4 << 20

// mostSamples keeps a trace within memory.
const mostSamples = 2_000_000

func newBench() *cobra.Command {
	var asJSON bool
	var step time.Duration
	c := &cobra.Command{
		Use:   "bench FILE",
		Short: "Try a program on the pressure path before it is set",
		Long: "Reads a program and the path's parts from a JSON file (- reads standard input) and computes what the\n" +
			"wound really gets. Everything but stages may be missing; the equipment class fills it in.\n\n" +
			`  {"stages":[{"suction_mmHg":110,"hold_min":4},{"suction_mmHg":60,"hold_min":3}],"hours":2,"class":"portable"}` +
			"\n\nThe figures come from a model of a class of equipment, not from the pump in front of you.",
		Args: exactly(1, "a FILE or -"),
	}
	c.Flags().BoolVar(&asJSON, "json", false, "write everything as JSON")
	c.Flags().DurationVar(&step, "step", time.Second, "time between samples of the trace, such as 0.25s")
	c.RunE = func(c *cobra.Command, args []string) error {
		raw, err := readInput(c.InOrStdin(), args[0], mostBench)
		if err != nil {
			return errUsage{fmt.Errorf("cannot read %s: %w; give the path of a JSON file, or - for standard input", args[0], err)}
		}
		in, problems := suction.Parse(raw)
		if len(problems) > 0 {
			for _, p := range problems {
				fmt.Fprintln(c.ErrOrStderr(), p)
			}
			return errUsage{fmt.Errorf("%s cannot be used; %s", args[0], problemCount(len(problems), "problem is", "problems are")+" listed above")}
		}
		if step <= 0 || in.Setup.Hours*3600/step.Seconds() > mostSamples {
			return errUsage{fmt.Errorf("--step %s must be above 0 and give at most %d samples; type: lowtide bench FILE --step 1s", step, mostSamples)}
		}
		b := benchOf(in, step.Seconds())
		if asJSON {
			return json.NewEncoder(c.OutOrStdout()).Encode(b)
		}
		return b.print(c.OutOrStdout())
	}
	return c
}

// bench is what the command writes: a run and what follows from it.
type bench struct {
	suction.Result
	LargestLeak suction.Largest     `json:"largest_leak"`
	Effects     []suction.Effect    `json:"effects"`
	Band        *suction.BandResult `json:"band,omitempty"`
	Battery     *power.RunTime      `json:"battery,omitempty"`
}

func benchOf(in suction.Input, stepS float64) bench {
	s := in.Setup
	b := bench{Result: suction.Simulate(s, suction.Options{StepS: stepS})}
	b.LargestLeak = suction.LargestLeak(s)
	b.Effects = suction.Effects(s)
	if len(in.Ranges) > 0 {
		// A band needs no fine trace: its page draws it, and sixteen runs of a fine one would be slow.
		band := suction.Band(s, in.Ranges, 16, suction.Options{StepS: max(stepS, s.Hours*3600/2000)})
		b.Band = &band
	}
	if model, ok := power.Class(s.Class); ok && b.Status != suction.CannotTell && b.Status != suction.CanisterFull {
		run := model.RunTime(b.Duty)
		b.Battery = &run
	}
	return b
}

func (b bench) print(w io.Writer) error {
	ew := &errWriter{w: w}
	n := unit.Number
	ew.line("%s", b.Sentence)
	for _, note := range b.Notes {
		ew.line("Note: %s", note)
	}
	ew.line("")
	for _, s := range b.Stages {
		ew.line("%s", s.Sentence)
	}
	ew.line("")
	ew.line("Mean over %s:  ordered %s mmHg, at the wound %s mmHg", unit.Duration(b.Setup.Hours), n(b.MeanOrderedMmHg, 1), n(b.MeanWoundMmHg, 1))
	ew.line("Pump runs %s %% of the time and starts %s times an hour; it moves %s mL of air a minute.", n(100*b.Duty, 2), n(b.StartsPerHour, 0), n(b.FlowMLMin, 1))
	ew.line("%s", b.LargestLeak.Sentence)
	for _, e := range b.Effects {
		ew.line("%s", e.Sentence)
	}
	if b.Band != nil {
		ew.line("Mean at the wound over the stated ranges: %s to %s mmHg. %s", n(b.Band.Mean.Low, 1), n(b.Band.Mean.High, 1), b.Band.Sentence)
	}
	if b.Battery != nil {
		ew.line("%s", b.Battery.Sentence)
	}
	ew.line("")
	ew.line("Suction is a depth below the pressure of the room. These are figures of a model of a %s pump, not readings.", b.Setup.Class)
	ew.line("The prescriber, the local protocol and the device's instructions decide.")
	return ew.err
}

// errWriter writes lines until one fails.
type errWriter struct {
	w   io.Writer
	err error
}

func (e *errWriter) line(format string, args ...any) {
	if e.err == nil {
		_, e.err = fmt.Fprintf(e.w, format+"\n", args...)
	}
}

func problemCount(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
