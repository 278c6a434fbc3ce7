package cli

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/week"
)

// mostWeekDays is the longest plan.
const mostWeekDays = 28

// planWeek plans the days ahead from a store.
func planWeek(s *weekStore, o weekOptions, out, notes io.Writer) error {
	if o.days < 1 || o.days > mostWeekDays {
		return errUsage{fmt.Errorf("--days %d: from 1 to %d", o.days, mostWeekDays)}
	}
	entries, _, err := casebook.Register{Book: s.load.Book, ID: week.Register}.Entries(s.ctx)
	if err != nil {
		return err
	}
	r := week.Fold(entries)
	if o.legs != "" {
		file, err := os.Open(o.legs)
		if err != nil {
			return errUsage{fmt.Errorf("cannot read the travel times: %w", err)}
		}
		defer file.Close()
		legs, problems := week.ReadLegs(file)
		for _, p := range problems {
			fmt.Fprintln(notes, p)
		}
		if len(problems) > 0 {
			return errUsage{fmt.Errorf("%d problems in %s; nothing was planned", len(problems), o.legs)}
		}
		r.Roads.Legs = legs
	}
	at := s.at.In(time.Local)
	cases, seen, pending, err := s.load.WeekCases(s.ctx, at)
	if err != nil {
		return err
	}
	if pending > 0 {
		fmt.Fprintf(notes, "lowtide: %d cases cannot be read; their visits are not in the plan. lowtide check says why\n", pending)
	}
	roads, err := roadKeeper(o.roads)
	if err != nil {
		return err
	}
	if roads != nil {
		r.Measured, r.RoadNote = roads.Legs(s.ctx, r.InDegrees(cases))
	}
	begun := time.Now()
	ask := week.Ask{Cases: cases, Now: at, Start: at, Days: o.days, Lessons: r.LearnFrom(seen, time.Local), Seed: o.seed, Bound: true,
		Spent: func() float64 { return time.Since(begun).Seconds() / o.seconds }}
	var p *week.Plan
	var again *week.Replan
	if len(r.Promises) > 0 && !o.anew {
		ask.Spent = nil // several plans are compared: each by its rounds
		again = r.Again(ask)
		p = again.Whole()
	} else {
		p = r.Make(ask)
	}
	switch {
	case o.ics != "":
		_, err = out.Write(week.ICal(p, o.ics, o.names, s.at.Truncate(time.Minute)))
		return err
	case o.asJSON && again != nil:
		return printJSON(out, again)
	case o.asJSON:
		return printJSON(out, p)
	}
	w := bufio.NewWriter(out)
	printWeek(w, r, p, again)
	return w.Flush()
}

func printWeek(w io.Writer, r *week.Roster, p *week.Plan, again *week.Replan) {
	for d := range p.Days {
		fmt.Fprintln(w, p.Start.AddDate(0, 0, d).Format("Monday 2 January"))
		for _, n := range r.Nurses {
			first := true
			for _, v := range p.Visits {
				if v.Day != d || v.Account != n.Account {
					continue
				}
				if first {
					fmt.Fprintf(w, "  %s\n", oneLine(n.Name))
					first = false
				}
				fmt.Fprintf(w, "    %s to %s  %s, %s: %s\n", week.Clock(v.Start), week.Clock(v.End), oneLine(v.Name), oneLine(v.Place), oneLine(strings.Join(v.For, "; ")))
			}
		}
	}
	for _, l := range p.Left {
		fmt.Fprintf(w, "Not in the plan: %s. %s\n", oneLine(l.Name), oneLine(l.Why))
	}
	for _, b := range p.Broken {
		fmt.Fprintf(w, "Broken: %s\n", oneLine(b))
	}
	if again != nil {
		for _, c := range again.Calls {
			fmt.Fprintf(w, "Tell %s: %s\n", oneLine(c.Name), oneLine(c.Words))
		}
	}
	for _, n := range p.Notes {
		fmt.Fprintf(w, "%s\n", oneLine(n))
	}
	fmt.Fprintf(w, "%d visits, %.0f min on the road; cost %.0f, and no plan can cost less than %.0f.\n", len(p.Visits), p.RoadMin, p.Cost, p.Bound)
}
