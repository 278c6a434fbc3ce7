package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"time"

	"github.com/spf13/cobra"

	"lowtide/power"
	"lowtide/rule/value"
	"lowtide/suction"
	"lowtide/unit"
)

func init() { commands = append(commands, newBench) }

// mostBench is a size that no sensible bench file passes.
const mostBench = 4 << 20

// mostSamples keeps a trace within memory: the longest run at one sample a second fits.
const mostSamples = 2_700_000

func newBench() *cobra.Command {
	var asJSON bool
	var local string
	step := time.Second
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
	c.Flags().StringVar(&local, "local", "", "folder of a local protocol; its values are laid over the built-in numbers")
	c.Flags().Var((*stepFlag)(&step), "step", "time between samples of the trace, such as 0.25s")
	c.RunE = func(c *cobra.Command, args []string) error {
		rules, err := ruleSet(c, local)
		if err != nil {
			return err
		}
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
			return errUsage{fmt.Errorf("--step %s must be above 0 and give at most %d samples; for %s h the shortest is %s", step, mostSamples,
				unit.Number(in.Setup.Hours, 2), time.Duration(math.Ceil(in.Setup.Hours*3600/mostSamples*1000))*time.Millisecond)}
		}
		b := benchOf(in, step.Seconds(), rules.Values(now()))
		if asJSON {
			return json.NewEncoder(c.OutOrStdout()).Encode(b)
		}
		return b.print(c.OutOrStdout())
	}
	return c
}

// stepFlag is a time whose refusal says how to write one.
type stepFlag time.Duration

func (f *stepFlag) String() string { return time.Duration(*f).String() }

// Type names the value in the help.
func (f *stepFlag) Type() string { return "time" }

// Set reads a number with its unit.
func (f *stepFlag) Set(text string) error {
	d, err := time.ParseDuration(text)
	if err != nil {
		return errors.New("write a number with its unit, such as 0.25s or 1m")
	}
	*f = stepFlag(d)
	return nil
}

// bench is what the command writes: a run and what follows from it.
type bench struct {
	suction.Result
	LargestLeak suction.Largest  `json:"largest_leak"`
	Effects     []suction.Effect `json:"effects"`
	Band        *band            `json:"band,omitempty"`
	Battery     *power.RunTime   `json:"battery,omitempty"`
}

func benchOf(in suction.Input, stepS float64, v value.Values) bench {
	s := in.Setup
	b := bench{Result: suction.Simulate(s, suction.Options{StepS: stepS})}
	b.LargestLeak = suction.LargestLeak(s)
	b.Effects = suction.Effects(s)
	if b.Status != suction.CannotTell && b.Status != suction.CanisterFull {
		b.Band = bandOf(in, stepS, b.Work.Steps)
	}
	if model, ok := power.Class(s.Class, v.In(value.BatteryWarns, "%")); ok && b.Status != suction.CannotTell && b.Status != suction.CanisterFull {
		run := model.RunTime(b.Duty)
		b.Battery = &run
	}
	return b
}

// bandOf gives the spread over the ranges of the file, or over the usual ones. A band needs no fine trace: it is
// there to be drawn, and its runs would be slow with one.
//
// A pump that switches many times a second is compared over a part of the run: steps is what the whole run took.
func bandOf(in suction.Input, stepS float64, steps int) *band {
	s := in.Setup
	if steps > bandSteps {
		s.Hours *= float64(bandSteps) / float64(steps)
	}
	opt := suction.Options{StepS: max(stepS, s.Hours*3600/bandSamples), Tol: bandTolMmHg, MostSteps: 4 * bandSteps}
	out := band{Hours: s.Hours, From: "of the file"}
	if len(in.Ranges) > 0 {
		out.BandResult = suction.Band(s, in.Ranges, 16, opt)
		return &out
	}
	out.From = "usual: half to twice the leak and the void, a fifth of the pump's flow each way"
	out.BandResult = suction.Band(s, suction.UsualRanges(s), 4, opt)
	return &out
}

const (
	bandSamples = 2000
	bandSteps   = 300_000
	bandTolMmHg = 1e-5 // a band is read to a tenth of a millimetre
)

// band is the spread, with where its ranges came from.
type band struct {
	suction.BandResult
	From string `json:"ranges_from"`
	// Hours is the length of the runs that are compared.
	Hours float64 `json:"hours"`
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
	if len(b.Effects) > 0 && b.Effects[0].Hours < b.Setup.Hours {
		ew.line("Over the first %s:", unit.Duration(b.Effects[0].Hours))
	}
	for _, e := range b.Effects {
		ew.line("%s", e.Sentence)
	}
	if b.Band != nil && b.Band.OK {
		ew.line("Spread over %s (ranges %s): mean at the wound %s to %s mmHg, pump runs %s to %s %% of the time. %s", unit.Duration(b.Band.Hours), b.Band.From,
			n(b.Band.Mean.Low, 1), n(b.Band.Mean.High, 1), n(100*b.Band.Duty.Low, 2), n(100*b.Band.Duty.High, 2), b.Band.Sentence)
		for i, in := range b.Band.ReachedIn {
			if in < b.Band.Runs && (in > 0 || b.Stages[i].Reached) {
				ew.line("Stage %d is reached in %d of these %d runs.", i+1, in, b.Band.Runs)
			}
		}
	} else if b.Band != nil {
		ew.line("%s", b.Band.Sentence)
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
