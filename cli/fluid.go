package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"lowtide/fluid"
	"lowtide/unit"
)

func init() { commands = append(commands, newFluid) }

func newFluid() *cobra.Command {
	var asJSON bool
	var before string
	c := &cobra.Command{
		Use:   "fluid FILE",
		Short: "Forecast when a canister fills from its readings",
		Long: "Reads canister readings (JSON; - is standard input) and forecasts when the canister fills and what the wound\n" +
			"gives in the next three days, each with the span that holds the truth four times in five. It supports and does not replace clinical judgement.\n" +
			"The input's keys: canister_mL, usable_share, area_cm2, as_of, before, readings (at, mL, new_canister, spilled,\n" +
			"spilled_mL, size_mL), pauses (from, to). Times are RFC 3339 with an offset. Other keys are refused, and so is a\n" +
			"reading later than as_of or above the canister's size.",
		Args: exactly(1, "one file (or - for standard input)"),
		RunE: func(c *cobra.Command, args []string) error {
			raw, err := readInput(c.InOrStdin(), args[0], mostInput)
			if err != nil {
				return errUsage{fmt.Errorf("cannot read %s: %w", args[0], err)}
			}
			in, problems := parseFluid(raw)
			if before != "" {
				t, err := time.Parse(time.RFC3339, before)
				if err != nil {
					problems = append(problems, problem{"--before", before, "write a time with its offset, such as 2026-03-05T09:00:00Z"})
				}
				in.before = t
			}
			if len(problems) > 0 {
				for _, p := range problems {
					fmt.Fprintln(c.ErrOrStderr(), p)
				}
				return errUsage{fmt.Errorf("%s in %s; nothing was computed", problemCount(len(problems), "problem", "problems"), args[0])}
			}
			f := fluid.Predict(in.course, in.asOf, in.before)
			f.Notes = append(f.Notes, in.notes...)
			changes := append([]fluid.Change{}, fluid.Changes(in.course, in.asOf)...)
			if asJSON {
				enc := json.NewEncoder(c.OutOrStdout())
				enc.SetIndent("", "  ")
				return enc.Encode(struct {
					fluid.Forecast
					Changes []fluid.Change `json:"changes"`
				}{f, changes})
			}
			return writeFluid(c.OutOrStdout(), f, changes)
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	c.Flags().StringVar(&before, "before", "", "also the chance that the canister is full by this `TIME`")
	return c
}

// writeFluid prints a forecast for reading.
func writeFluid(w io.Writer, f fluid.Forecast, changes []fluid.Change) error {
	var err error
	say := func(format string, args ...any) {
		if err == nil {
			_, err = fmt.Fprintf(w, format+"\n", args...)
		}
	}
	span := func(q fluid.Quantiles, decimals int) string {
		return fmt.Sprintf("%s, %s between %s and %s", unit.Number(q.Median, decimals), unit.HowSure, unit.Number(q.P10, decimals), unit.Number(q.P90, decimals))
	}
	say("%s", f.Text)
	say("")
	say("as of             %s", stamp(&f.AsOf))
	say("output            %s mL a day", span(f.Rate, 0))
	if f.Content != nil {
		say("in the canister   %s mL", span(*f.Content, 0))
	}
	if f.UsableML != nil {
		say("counts as full    %s mL", unit.Number(*f.UsableML, 0))
	}
	switch full := f.FullAt; full.Status {
	case fluid.FullRead:
		say("full at           read as full at %s", stamp(&full.Even.At))
	case fluid.FullComes:
		say("full at           %s, %s between %s and %s", stampWhen(full.Even), unit.HowSure, stampWhen(full.Early), stampWhen(full.Late))
	case fluid.FullBeyond:
		say("full at           not within a year")
	default:
		say("full at           cannot tell")
	}
	for _, h := range fluid.CollectedHours {
		say("next %d h         %s mL", h, span(f.CollectedAfterH[fmt.Sprint(h)], 0))
	}
	if f.Before != nil {
		chance := "cannot tell"
		if f.ChanceFullBefore != nil {
			chance = unit.Number(100**f.ChanceFullBefore, 0) + " %"
		}
		say("full before %s  chance %s", stamp(f.Before), chance)
	}
	say("protein lost      %s g a day, by a published 2.9 g/dL; an estimate, no measurement", span(f.Protein, 1))
	for _, ch := range changes {
		kind, look := "drop", "look for a blockage or a leak before calling it healing"
		if ch.Rise() {
			kind, look = "rise", "look for bleeding or a fistula"
		}
		say("sudden %s       about %s: from %s to %s mL a day (probability %s %%); %s", kind, stamp(&ch.From),
			unit.Number(float64(ch.Before), 0), unit.Number(float64(ch.After), 0), unit.Number(100*ch.Probability, 0), look)
	}
	for _, q := range f.Questions {
		say("question          %s", q.Text)
	}
	for _, n := range f.Notes {
		say("note              %s", n)
	}
	say("")
	say("Model %s; %d readings used. Supports and does not replace clinical judgement.", f.Model, f.ReadingsUsed)
	return err
}

func stamp(t *time.Time) string {
	if t == nil {
		return "cannot tell"
	}
	return t.Format("2006-01-02 15:04 MST")
}

func stampWhen(w fluid.When) string {
	if w.Beyond {
		return "not within a year"
	}
	return stamp(&w.At)
}
