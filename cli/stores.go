package cli

import (
	"bufio"
	"fmt"
	"time"

	"lowtide/caseload"
	"lowtide/state"
	"lowtide/unit"

	"github.com/spf13/cobra"
)

func init() { commands = append(commands, newStores, newBag) }

// newStores prints the agency's stock.
func newStores() *cobra.Command {
	var frame frameFlags
	var asOf, lot string
	var asJSON bool
	c := &cobra.Command{
		Use:   "stores",
		Short: "Print the stock, what will be used, when to order, what expires or is recalled",
		Long:  "Prints the agency's stock from a store: items and lots, no patients. With --lot it prints which cases got that lot.",
		Args:  exactly(0, "no argument"),
	}
	flags := storeFlag(c)
	frame.add(c)
	c.Flags().StringVar(&asOf, "as-of", "", "as of this time, such as 2026-03-04T08:00:00Z; default now")
	c.Flags().StringVar(&lot, "lot", "", "which cases got this lot")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.RunE = func(c *cobra.Command, _ []string) error {
		load, at, done, err := stockLoad(c, flags, frame, asOf)
		if err != nil {
			return err
		}
		defer done()
		w := bufio.NewWriter(c.OutOrStdout())
		if lot != "" {
			given, unread, err := load.Who(c.Context(), "", lot, at)
			if err != nil {
				return err
			}
			if unread > 0 {
				fmt.Fprintf(c.ErrOrStderr(), "lowtide: cannot tell for %d more: they cannot be read; lowtide check says why\n", unread)
			}
			if asJSON {
				return printJSON(c.OutOrStdout(), given)
			}
			for _, g := range given {
				fmt.Fprintf(w, "%s  %s, lot %s: %d with the patient by the record, last entry %s\n", g.Case, oneLine(g.Item), oneLine(g.Lot), g.Count, g.Last.Format(time.RFC3339))
			}
			if len(given) == 0 {
				fmt.Fprintln(w, "By the record that could be read nobody got this lot.")
			}
			return w.Flush()
		}
		s, err := load.Stores(c.Context(), at, time.Local)
		if err != nil {
			return err
		}
		if asJSON {
			return printJSON(c.OutOrStdout(), s)
		}
		for _, f := range s.Findings {
			fmt.Fprintf(w, "%s: %s\n  Do: %s\n  Rule %s; %s\n", f.Level, oneLine(f.Headline), oneLine(f.Do), f.Rule, f.Source)
		}
		fmt.Fprintf(w, "\n%-42s %6s %6s %9s  %-34s %s\n", "item", "shelf", "cars", "not to use", "next 14 days", "order at")
		for _, i := range s.Items {
			at := "cannot tell"
			if i.ReorderAt != nil {
				at = unit.Number(*i.ReorderAt, 1)
			}
			fmt.Fprintf(w, "%-42s %6d %6d %9d  %-34s %s\n", oneLine(i.Words), i.Shelf, i.Cars, i.Unusable, i.Fortnight.Words(), at)
		}
		fmt.Fprintf(w, "\n%d patients counted; of %d a part cannot be told.\n", s.Patients, s.CannotTell)
		return w.Flush()
	}
	return c
}

// newBag prints what to bring to the visits of a day.
func newBag() *cobra.Command {
	var frame frameFlags
	var asOf, nurse string
	var tomorrow, asJSON bool
	c := &cobra.Command{
		Use:   "bag",
		Short: "Print what to bring to the day's visits",
		Long:  "Prints what to bring to the visits of today (with --tomorrow: of tomorrow) of one nurse's patients, or of all. It names\npatients: mind who reads along.",
		Args:  exactly(0, "no argument"),
	}
	flags := storeFlag(c)
	frame.add(c)
	c.Flags().StringVar(&asOf, "as-of", "", "as of this time, such as 2026-03-04T08:00:00Z; default now")
	c.Flags().StringVar(&nurse, "nurse", "", "only patients whose nurse in charge this is")
	c.Flags().BoolVar(&tomorrow, "tomorrow", false, "the visits of tomorrow")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.RunE = func(c *cobra.Command, _ []string) error {
		load, at, done, err := stockLoad(c, flags, frame, asOf)
		if err != nil {
			return err
		}
		defer done()
		ahead := 0
		if tomorrow {
			ahead = 1
		}
		b, err := load.Bag(c.Context(), at, ahead, func(p state.Person) bool { return nurse == "" || p.Nurse == nurse })
		if err != nil {
			return err
		}
		if asJSON {
			return printJSON(c.OutOrStdout(), b)
		}
		w := bufio.NewWriter(c.OutOrStdout())
		for _, x := range b.Lines {
			fmt.Fprintf(w, "%d × %s\n", x.Count, oneLine(x.Words))
			for _, f := range x.For {
				fmt.Fprintf(w, "    %d for %s: %s\n", f.Count, oneLine(f.Name), oneLine(f.Why))
			}
		}
		for _, v := range b.Visits {
			for _, x := range v.Cannot {
				fmt.Fprintf(w, "%s: cannot tell %s\n", oneLine(v.Person.Name), oneLine(x))
			}
		}
		if len(b.Visits) == 0 {
			fmt.Fprintln(w, "No visit is planned for this day, and none is overdue.")
		}
		return w.Flush()
	}
	return c
}

// stockLoad opens the store and makes its caseload.
func stockLoad(c *cobra.Command, flags *storeFlags, frame frameFlags, asOf string) (*caseload.Caseload, time.Time, func(), error) {
	at, err := instant("--as-of", asOf)
	if err != nil {
		return nil, at, nil, err
	}
	rules, err := ruleSet(c, frame.local)
	if err != nil {
		return nil, at, nil, err
	}
	eq, err := frame.equipmentSet()
	if err != nil {
		return nil, at, nil, err
	}
	o, err := flags.read(c)
	if err != nil {
		return nil, at, nil, err
	}
	return caseload.New(o.book(), rules, eq), at, func() { o.close() }, nil
}
