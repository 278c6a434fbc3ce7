package evidence

import (
	"fmt"
	"io"
	"strings"
	"sync"

	"lowtide/casebook"
	"lowtide/rule"
)

var builtin = sync.OnceValues(rule.Builtin)

func init() {
	register("screening.HardStop", func(in In) (float64, error) {
		return screens(in.Text("question"), true, rule.ActNow)
	})
	register("screening.RiskFactor", func(in In) (float64, error) {
		return screens(in.Text("question"), false, rule.Today)
	})
	register("screening.HardStops", func(In) (float64, error) {
		n := 0.0
		for _, q := range casebook.Questions {
			if q.Hard {
				n++
			}
		}
		return n, nil
	})
}

// screens returns 1 when the question exists, is a hard stop or not as told, and a rule of at least the level asks
// for it on the strength of the regulator's notice.
func screens(question string, hard bool, least rule.Level) (float64, error) {
	q, ok := casebook.FindQuestion(question)
	if !ok {
		return 0, fmt.Errorf("there is no question %q", question)
	}
	if q.Hard != hard {
		return 0, fmt.Errorf("question %q: hard stop is %v", question, q.Hard)
	}
	set, err := builtin()
	if err != nil {
		return 0, err
	}
	for _, r := range set.Rules() {
		words := strings.FieldsFunc(r.When, func(c rune) bool { return c == ' ' || c == '(' || c == ')' })
		for _, w := range words {
			if w == "screen."+question && r.Level.Rank() <= least.Rank() && r.SourceID == "fda-2009-notice" {
				return 1, nil
			}
		}
	}
	return 0, fmt.Errorf("no rule asks for screen.%s", question)
}

// PrintRulebook lists every source of the built-in rules with the rules that rest on it.
func PrintRulebook(w io.Writer) error {
	set, err := builtin()
	if err != nil {
		return err
	}
	by, sure := map[string][]string{}, map[rule.Sure]int{}
	for _, r := range set.Rules() {
		by[r.SourceID] = append(by[r.SourceID], r.ID)
		sure[r.Sure]++
	}
	fmt.Fprintf(w, "\n## The rulebook\n\n%d rules, %d example cases. How surely they rest on their sources: %d read in the source, %d in a second source, %d computed, %d from memory.\n\n| source | kind | rules |\n|---|---|---|\n",
		len(set.Rules()), len(set.Test()), sure[rule.Read], sure[rule.ReadSecond], sure[rule.Computed], sure[rule.Memory])
	for _, s := range set.Sources() {
		_, err = fmt.Fprintf(w, "| %s | %s | %d: %s |\n", cell(s.Title), s.Kind, len(by[s.ID]), strings.Join(by[s.ID], " "))
	}
	return err
}
