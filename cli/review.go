package cli

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/intake"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
)

func init() { commands = append(commands, newReview) }

// newReview reviews a case file; it needs no store.
func newReview() *cobra.Command {
	var frame frameFlags
	var asOf string
	var asJSON bool
	c := &cobra.Command{
		Use:   "review FILE",
		Short: "Review a case file: what is urgent, what is due, what cannot be told",
		Long:  "Reads a case file or an archive of one (docs/format/case.md; - reads standard input) and prints its findings, forecasts and figures as of now\nor of the time that --as-of names. Needs no store.",
		Args:  exactly(1, "a FILE or -"),
		RunE: func(c *cobra.Command, args []string) error {
			f, err := frame.readCase(c, args[0], asOf, asJSON)
			if err != nil {
				return err
			}
			defer f.close()
			r := review.Of(state.Of(f.fold(time.Time{}), f.rules, f.eq, nil, f.at), f.rules)
			if asJSON {
				return printJSON(c.OutOrStdout(), reviewJSON{r, r.Hash()})
			}
			return printReview(c.OutOrStdout(), r, f.rules)
		},
	}
	frame.add(c)
	c.Flags().StringVar(&asOf, "as-of", "", "review as of this time, such as 2026-03-04T08:00:00Z; default now")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return c
}

// fileCase is a case file with what it is reviewed by.
type fileCase struct {
	file  intake.CaseFile
	rules *rule.Set
	eq    *equipment.Set
	at    time.Time
	// archive is nil when the case came alone; close ends reading from it.
	archive *intake.Archive
	close   func()
}

// readCase reads a case file and the frame to review it in, as of a time or, when asOf is empty, now.
func (f *frameFlags) readCase(c *cobra.Command, name, asOf string, asJSON bool) (out fileCase, err error) {
	if out.at, err = instant("--as-of", asOf); err != nil {
		return out, err
	}
	if out.rules, err = ruleSet(c, f.local); err != nil {
		return out, err
	}
	if out.eq, err = f.equipmentSet(); err != nil {
		return out, err
	}
	in, err := openCase(c, name, asJSON)
	if err != nil {
		return out, err
	}
	out.archive, out.close = in.archive, in.close
	out.file, err = checkedFile(c, in, asJSON, intake.Options{Now: later(out.at, now())})
	if err != nil {
		in.close()
	}
	return out, err
}

// fold makes the case as it was at an instant, or with all its entries for none, with the way to the photos and logs that came with it in an archive.
func (f *fileCase) fold(until time.Time) *casebook.Case {
	k := casebook.FoldAt(f.file.Case, f.file.Entries, until)
	if f.archive != nil {
		k.Blob = f.archive.Content
	}
	return k
}

// reviewJSON is a review with the hash that a sign-off of it would store.
type reviewJSON struct {
	review *review.Review
	hash   string
}

// MarshalJSON puts the hash before the fields of the review, which print themselves.
func (v reviewJSON) MarshalJSON() ([]byte, error) {
	raw, err := json.Marshal(v.review)
	if err != nil {
		return nil, err
	}
	return append([]byte(`{"hash":"`+v.hash+`",`), raw[1:]...), nil
}

// later returns the later of two times: a file reviewed as of a future time may hold entries up to then.
func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// checkedFile checks what was read.
func checkedFile(c *cobra.Command, in *caseInput, asJSON bool, o intake.Options) (intake.CaseFile, error) {
	file, problems := intake.Read(in.raw, o)
	return file, tellProblems(c, in.name, asJSON, problems)
}

// printReview prints a review for a reader at a terminal.
func printReview(out io.Writer, r *review.Review, rules *rule.Set) error {
	w := bufio.NewWriter(out)
	zone, err := time.LoadLocation(r.Person.Zone)
	if err != nil {
		zone = time.UTC
	}
	p := func(format string, args ...any) { fmt.Fprintf(w, format, args...) }
	p("%s, as of %s (%s)\n", oneLine(r.Person.Name), r.AsOf.In(zone).Format("Mon 2 Jan 2006 15:04"), r.Person.Zone)
	p("Therapy: %s.", r.Therapy.State)
	if r.Therapy.NextVisit != nil {
		p(" Next visit %s.", state.Clock(zone, *r.Therapy.NextVisit))
	}
	p("\n")
	if len(r.Findings) == 0 {
		p("\nNo rule has anything to say about this case.\n")
	}
	printPlan(p, r, zone)
	level := rule.Level("")
	for _, f := range r.Findings {
		if f.Level != level {
			level = f.Level
			p("\n%s\n", strings.ToUpper(string(level)))
		}
		wound := ""
		if f.Wound != "" && !strings.Contains(strings.ToLower(f.Headline), strings.ToLower("wound "+f.Wound)) {
			wound = "Wound " + oneLine(f.Wound) + ": "
		}
		p("  %s%s\n", wound, oneLine(f.Headline))
		if f.Due != nil {
			p("    Due: %s\n", state.Clock(zone, *f.Due))
		}
		p("    Do: %s\n", oneLine(f.Do))
		var why []string
		for _, y := range f.Why {
			why = append(why, y.Words+": "+oneLine(y.Value))
		}
		if len(why) > 0 {
			p("    Why: %s\n", strings.Join(why, "; "))
		}
		p("    Goes away when: %s\n", oneLine(f.Clears))
		p("    Rule %s; %s\n", f.Rule, f.Source)
		if len(f.Local) > 0 {
			p("    Local: %s\n", strings.Join(f.Local, ", "))
		}
	}
	if len(r.Figures()) > 0 {
		p("\nFIGURES\n")
	}
	for _, g := range r.Figures() {
		wound := ""
		if g.Wound != "" {
			wound = "Wound " + oneLine(g.Wound) + ", "
		}
		p("  %s%s: %s (%s)\n", wound, lowerFirst(g.Name), g.Text, g.Method)
	}
	if len(r.Forecasts()) > 0 {
		p("\nFORECASTS\n")
	}
	for _, f := range r.Forecasts() {
		wound := ""
		if f.Wound != "" {
			wound = "Wound " + oneLine(f.Wound) + ", "
		}
		p("  %s%s: %s (%s)\n", wound, lowerFirst(f.Name), f.Text, f.Model)
	}
	if _, ok := r.Forecast("fluid.rate", ""); ok {
		p("  Output in an hour from which to look for bleeding: %s.\n", state.BleedLimitWords(rules.Values(r.AsOf)))
	}
	p("\nRules %s, review %s.\n", r.Rules[:12], r.Hash()[:12])
	p("Lowtide supports and does not replace clinical judgement. The prescriber, the local protocol and the device's\ninstructions decide. In an emergency call the local emergency number.\n")
	return w.Flush()
}

// printPlan prints the steps of the plan; the findings behind them follow.
func printPlan(p func(string, ...any), r *review.Review, zone *time.Location) {
	level := rule.Level("")
	for i, s := range r.Plan {
		if i == 0 {
			p("\nWHAT NEEDS DOING\n")
		}
		if s.Level != level {
			level = s.Level
			p("  %s\n", level)
		}
		p("  %d. %s\n", i+1, oneLine(s.Do))
		if due := s.DueApart(zone); due != nil {
			p("     Due: %s\n", state.Clock(zone, *due))
		}
		for _, w := range s.Waits {
			p("     %s\n", oneLine(w))
		}
		p("     Because: %s\n", oneLine(strings.Join(s.Because, ", ")))
	}
	if len(r.Plan) > 0 {
		p("\nWHY: THE FINDINGS BEHIND IT\n")
	}
}

// oneLine keeps text from outside from moving the cursor or starting lines of its own.
func oneLine(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || (r >= 0x80 && r < 0xa0) || (r >= 0x202a && r <= 0x202e) || (r >= 0x2066 && r <= 0x2069) {
			return ' '
		}
		return r
	}, s)
}

func lowerFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
