package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"lowtide/pumplog"
	"lowtide/unit"
)

func init() { commands = append(commands, newLog) }

// logFlags are the flags of the command.
type logFlags struct {
	program, mapping, zone, pump, start string
	asJSON, hours                       bool
	ahead, before                       time.Duration
	beforeAt                            string
}

func newLog() *cobra.Command {
	var f logFlags
	c := &cobra.Command{
		Use:   "log FILE",
		Short: "Tell from a pump's log what therapy was delivered",
		Long: "Reads a table of a pump's readings, of any dialect, from FILE, or from standard input when FILE is -, and\n" +
			"compares it with the program that was ordered (a file as for lowtide bench; only its stages count).\n\n" +
			"  lowtide log log.csv --program program.json\n" +
			"  lowtide log log.csv --program program.json --map \"time=1, suction=Druck:kPa:negative, dates=day first\"\n\n" +
			"What a column means is guessed from its name and its values and printed; --map corrects it. A gap is unknown,\n" +
			"never on and never off. The log tells the suction at the pump, not at the wound.",
		Args: exactly(1, "a file with a pump's log, or - for standard input"),
		RunE: func(c *cobra.Command, args []string) error { return runLog(c, args[0], f) },
	}
	c.Flags().StringVar(&f.program, "program", "", "file with the ordered program; without one nothing is compared with an order")
	c.Flags().StringVar(&f.mapping, "map", "", "what columns mean, such as \"time=1, suction=3:kPa, dates=day first\"")
	c.Flags().StringVar(&f.zone, "zone", "UTC", "time zone of the place, for days and for times without an offset")
	c.Flags().StringVar(&f.pump, "pump", "", "which pump, when the file holds several")
	c.Flags().StringVar(&f.start, "start", "", "instant of 0 when the file counts from its beginning, such as 2026-03-01T08:00:00Z")
	c.Flags().DurationVar(&f.ahead, "clock-ahead", 0, "by how much the pump's clock was ahead of the true time, such as 7m or -2m")
	c.Flags().DurationVar(&f.before, "clock-before", 0, "by how much it was ahead at an earlier time: it drifted in between; --clock-ahead is then that of the last row")
	c.Flags().StringVar(&f.beforeAt, "clock-before-at", "", "true time of --clock-before, such as 2026-03-01T08:00:00Z; without it the log's first row")
	c.Flags().BoolVar(&f.asJSON, "json", false, "write everything as JSON")
	c.Flags().BoolVar(&f.hours, "hours", false, "with --json, also the course by the hour")
	return c
}

// logAnswer is what the command writes.
type logAnswer struct {
	*pumplog.Result
	pumplog.Report
	Mapping pumplog.Mapping `json:"mapping"`
	MapText string          `json:"map"`
	Doubts  []string        `json:"doubts,omitempty"`
}

func runLog(c *cobra.Command, name string, f logFlags) error {
	zone, err := time.LoadLocation(f.zone)
	if err != nil {
		return errUsage{fmt.Errorf("--zone %s is no time zone; give a name such as Europe/London", f.zone)}
	}
	opt := pumplog.Options{Zone: zone, NotAfter: now(), AheadMin: f.ahead.Minutes(), AheadAtStartMin: f.ahead.Minutes()}
	if f.start != "" {
		if opt.Start, err = time.Parse(time.RFC3339, f.start); err != nil {
			return errUsage{fmt.Errorf("--start %s is no instant; write it as 2026-03-01T08:00:00Z", f.start)}
		}
	}
	if c.Flags().Changed("clock-before") {
		opt.AheadAtStartMin = f.before.Minutes()
		if f.beforeAt != "" {
			if opt.AheadAtStart, err = time.Parse(time.RFC3339, f.beforeAt); err != nil {
				return errUsage{fmt.Errorf("--clock-before-at %s is no instant; write it as 2026-03-01T08:00:00Z", f.beforeAt)}
			}
		}
	} else if f.beforeAt != "" {
		return errUsage{errors.New("--clock-before-at says when, but not by how much: add --clock-before, such as 4m")}
	}
	orders, set, err := logProgram(c, f.program)
	if err != nil {
		return err
	}
	var in io.Reader = c.InOrStdin()
	if name != "-" {
		file, err := os.Open(name)
		if err != nil {
			return errUsage{fmt.Errorf("cannot read the log: %w", err)}
		}
		defer file.Close()
		in = file
	}
	a, err := judgeLog(c, in, name, f, opt, orders, set)
	if err != nil {
		return err
	}
	if !f.hours {
		a.Hours = nil
	}
	if f.asJSON {
		return json.NewEncoder(c.OutOrStdout()).Encode(a)
	}
	return a.print(c.OutOrStdout())
}

// logHead is how much of a file is looked at for its mapping; in UTF-16 it is half as many letters.
const logHead = 512 << 10

func judgeLog(c *cobra.Command, in io.Reader, name string, f logFlags, opt pumplog.Options, orders []pumplog.Order, set pumplog.Settings) (*logAnswer, error) {
	head, err := io.ReadAll(io.LimitReader(in, logHead))
	if err != nil {
		return nil, fmt.Errorf("cannot read the log: %w", err)
	}
	k := pumplog.Known{ByOrder: true}
	for _, o := range orders {
		for _, s := range o.Stages {
			k.OrderedMmHg = max(k.OrderedMmHg, s.SuctionMmHg)
		}
	}
	g, err := pumplog.Look(bytes.NewReader(head), k)
	if err != nil {
		return nil, fmt.Errorf("cannot read the log: %w", err)
	}
	m, bad := pumplog.ParseMapping(f.mapping, g.Mapping)
	bad = append(bad, g.Open(f.mapping, m)...)
	if m.Find(pumplog.Elapsed) != nil && m.Find(pumplog.Time) == nil && opt.Start.IsZero() {
		bad = append(bad, "The file counts its times from its beginning. Say with --start when that was.")
	}
	if len(bad) > 0 {
		for _, p := range bad {
			fmt.Fprintln(c.ErrOrStderr(), "--map: "+p)
		}
		return nil, errUsage{fmt.Errorf("%s cannot be read as it is; guessed so far: --map %q", name, m.Print())}
	}
	t, err := pumplog.Read(io.MultiReader(bytes.NewReader(head), in), m, opt)
	if errors.Is(err, pumplog.ErrDrift) {
		return nil, errUsage{err}
	}
	if err != nil {
		return nil, fmt.Errorf("cannot read the log: %w", err)
	}
	l, err := choosePump(t, f.pump)
	if err != nil {
		return nil, err
	}
	a := &logAnswer{Result: pumplog.Judge(l, orders, opt.Zone, set, pumplog.Period{}), Report: t.Report, Mapping: m, MapText: m.Print(), Doubts: g.Doubts}
	return a, nil
}

func choosePump(t *pumplog.Table, name string) (*pumplog.Log, error) {
	var names []string
	for i := range t.Logs {
		names = append(names, t.Logs[i].Pump)
		if name != "" && strings.EqualFold(t.Logs[i].Pump, name) {
			return &t.Logs[i], nil
		}
	}
	switch {
	case len(t.Logs) == 0:
		return &pumplog.Log{Words: []string{""}}, nil
	case len(t.Logs) == 1 && name == "":
		return &t.Logs[0], nil
	}
	return nil, errUsage{fmt.Errorf("the file holds the pumps %s; say which with --pump", strings.Join(names, ", "))}
}

func (a *logAnswer) print(w io.Writer) error {
	ew := &errWriter{w: w}
	clock := func(t time.Time) string { return t.Format("Mon 2 Jan 2006 15:04") }
	h := func(min float64) string { return unit.Duration(min / 60).String() }
	ew.line("Log of %s to %s: %d rows, %d not used.", clock(a.From), clock(a.To), a.Rows, a.NotUsed)
	ew.line("Read with: %s", a.MapText)
	for _, d := range append(append([]string(nil), a.Doubts...), a.Notes...) {
		ew.line("Note: %s", d)
	}
	for _, r := range a.Counts {
		ew.line("Not used, %d rows: %s", r.Rows, r.Why)
	}
	ew.line("")
	ew.line("The log tells of %s (%s %%); %s are unknown.", h(a.CoveredMin), unit.Number(a.CoveredPct, 1), h(a.UnknownMin))
	if a.OrderedMin > 0 {
		ew.line("At the ordered suction %s, below %s, above %s, between %s, off %s.", h(a.AtTargetMin), h(a.BelowMin), h(a.AboveMin), h(a.OtherMin), h(a.OffMin))
	} else {
		ew.line("No program was given: off %s; nothing is compared with an order.", h(a.OffMin))
	}
	if a.Dose.SharePct != nil {
		ew.line("Share of the ordered dose: %s %% of what the log covers; with the unknown time between %s and %s %%.", unit.Number(*a.Dose.SharePct, 1), unit.Number(*a.Dose.LeastPct, 1), unit.Number(*a.Dose.MostPct, 1))
	}
	if s, ok := a.LongestOff(); ok {
		ew.line("Longest off: %s from %s; with unknown time beside it at most %s.", h(s.Minutes), clock(s.From), h(s.MostMin))
	}
	ew.line("%s", a.Pattern.Words)
	for _, e := range a.Episodes {
		ew.line("%s: %s for %s, %s %s from its usual %s.", clock(e.From), e.Kind, h(e.Minutes), unit.Number(e.Size, 1), e.Unit, unit.Number(e.Usual, 1))
	}
	for _, b := range a.Breaks {
		ew.line("%s: %s went from %s to %s %s.", clock(b.At), b.Of, unit.Number(b.Before, 1), unit.Number(b.After, 1), b.Unit)
	}
	for _, x := range a.Alarms {
		ew.line("%s: alarm %q, %d rows.", clock(x.From), x.Words, x.Rows)
	}
	for _, s := range a.Cannot {
		ew.line("Cannot tell: %s", s)
	}
	ew.line("")
	ew.line("The log tells the suction at the pump, not at the wound. The prescriber, the local protocol and the device's instructions decide.")
	return ew.err
}
