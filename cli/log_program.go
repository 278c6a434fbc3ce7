package cli

import (
	"bytes"
	"encoding/json"
	"fmt"

	"github.com/spf13/cobra"

	"lowtide/pumplog"
	"lowtide/rule/value"
	"lowtide/suction"
)

// logSettings are fields of a program file that only lowtide log reads.
var logSettings = map[string]struct {
	low, high float64
	set       func(*pumplog.Settings, float64)
}{
	"band_mmHg":      {1, 50, func(s *pumplog.Settings, v float64) { s.BandMmHg = v }},
	"off_below_mmHg": {1, 40, func(s *pumplog.Settings, v float64) { s.OffBelowMmHg = v }},
	"daily_target_h": {1, 24, func(s *pumplog.Settings, v float64) { s.DailyTargetH = v }},
}

// logProgram reads the ordered program: a bench file, or its list of stages alone. A single stage needs no hold.
func logProgram(c *cobra.Command, name string) ([]pumplog.Order, pumplog.Settings, error) {
	rules, err := ruleSet(c, "")
	if err != nil {
		return nil, pumplog.Settings{}, err
	}
	set := pumplog.Usual
	set.DailyTargetH = rules.Values(now()).In(value.PumpHours, "h")
	if name == "" {
		return nil, set, nil
	}
	raw, err := readInput(c.InOrStdin(), name, mostBench)
	if err != nil {
		return nil, set, errUsage{fmt.Errorf("cannot read the program %s: %w", name, err)}
	}
	raw, problems := logFields(raw, &set)
	in, more := suction.Parse(raw)
	for _, p := range more {
		problems = append(problems, p.String())
	}
	if len(problems) > 0 {
		for _, p := range problems {
			fmt.Fprintln(c.ErrOrStderr(), p)
		}
		return nil, set, errUsage{fmt.Errorf("the program %s cannot be used; %s", name, problemCount(len(problems), "problem is", "problems are")+" listed above")}
	}
	var o pumplog.Order
	for _, s := range in.Setup.Stages {
		o.Stages = append(o.Stages, pumplog.Stage{SuctionMmHg: s.SuctionMmHg, HoldMin: s.HoldMin, RampMin: s.RampMin})
	}
	return []pumplog.Order{o}, set, nil
}

// logFields takes out what only this command reads, and gives the rest in the form of a bench file.
func logFields(raw []byte, set *pumplog.Settings) ([]byte, []string) {
	trimmed := bytes.TrimSpace(raw)
	if len(trimmed) > 0 && trimmed[0] == '[' {
		raw = append(append([]byte(`{"stages":`), trimmed...), '}')
	}
	var top map[string]json.RawMessage
	if json.Unmarshal(raw, &top) != nil {
		return raw, nil // the bench's own reader says what is wrong
	}
	var problems []string
	for name, f := range logSettings {
		v, given := top[name]
		if !given {
			continue
		}
		delete(top, name)
		var x float64
		if json.Unmarshal(v, &x) != nil || x < f.low || x > f.high {
			problems = append(problems, fmt.Sprintf("/%s: %.40s: write a number from %g to %g, without quotes", name, v, f.low, f.high))
			continue
		}
		f.set(set, x)
	}
	var stages []map[string]json.RawMessage
	if json.Unmarshal(top["stages"], &stages) == nil && len(stages) == 1 && stages[0] != nil && stages[0]["hold_min"] == nil {
		stages[0]["hold_min"] = json.RawMessage("60")
		if b, err := json.Marshal(stages); err == nil {
			top["stages"] = b
		}
	}
	out, err := json.Marshal(top)
	if err != nil {
		return raw, problems
	}
	return out, problems
}
