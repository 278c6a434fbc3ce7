package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/spf13/cobra"

	"lowtide/caseload"
	"lowtide/road"
	"lowtide/route"
)

func init() { commands = append(commands, newWeek) }

type weekOptions struct {
	solomon string
	seconds float64
	seed    uint64
	days    int
	legs    string
	roads   string
	ics     string
	names   bool
	anew    bool
	asJSON  bool
}

func newWeek() *cobra.Command {
	var o weekOptions
	var frame frameFlags
	var asOf string
	var flags *storeFlags
	c := &cobra.Command{
		Use:   "week",
		Short: "Plan who sees whom on which day, and in which order",
		Long: "Plans the visits of the days ahead from a store: people, places and roads are entered on the page People, places and roads.\n" +
			"Where a plan was taken, as little as possible of it is changed, and who must be told is listed. It names patients: mind who\nreads along. It supports and does not replace clinical judgement.\n\ndocs/format/week.md explains the JSON and the file of travel times.",
		Args: exactly(0, "no argument"),
		RunE: func(c *cobra.Command, args []string) error {
			if !(o.seconds > 0 && o.seconds <= 86400) {
				return errUsage{fmt.Errorf("--seconds %v: say how many seconds to look, above 0 and up to a day", o.seconds)}
			}
			if o.solomon != "" {
				return runSolomon(c, o)
			}
			load, at, done, err := stockLoad(c, flags, frame, asOf)
			if err != nil {
				return err
			}
			defer done()
			return planWeek(&weekStore{c.Context(), load, at}, o, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	flags = storeFlag(c)
	frame.add(c)
	c.Flags().StringVar(&asOf, "as-of", "", "as of this time, such as 2026-03-04T08:00:00Z; default now")
	c.Flags().IntVar(&o.days, "days", 7, "how many days ahead")
	c.Flags().StringVar(&o.legs, "travel-times", "", "a CSV file of travel times: from, to, minutes")
	roadFlag(c, &o.roads)
	c.Flags().StringVar(&o.ics, "calendar", "", "write the visits of this account as a calendar (RFC 5545)")
	c.Flags().BoolVar(&o.names, "names", false, "with names and places of patients in the calendar")
	c.Flags().BoolVar(&o.anew, "anew", false, "plan anew, whatever was told")
	c.Flags().StringVar(&o.solomon, "solomon", "", "plan an instance of Solomon (1987) instead: fewest vehicles, then least distance")
	c.Flags().Float64Var(&o.seconds, "seconds", 2, "how long to look for a better plan")
	c.Flags().Uint64Var(&o.seed, "seed", 1, "the same seed gives the same choices")
	c.Flags().BoolVar(&o.asJSON, "json", false, "write the plan as JSON")
	return c
}

// roadFlag takes the address of a road server.
func roadFlag(c *cobra.Command, into *string) {
	c.Flags().StringVar(into, "road-server", "", "ask a road server of your own for travel times: osrm=ADDRESS or valhalla=ADDRESS; it learns coordinates, nothing else")
}

// roadKeeper asks the road server at an address; nil without one.
func roadKeeper(address string) (*road.Keeper, error) {
	if address == "" {
		return nil, nil
	}
	s, err := road.Parse(address)
	if err != nil {
		return nil, errUsage{err}
	}
	return &road.Keeper{Server: s, Now: now}, nil
}

// weekStore is a caseload over an open store, as of an instant.
type weekStore struct {
	ctx  context.Context
	load *caseload.Caseload
	at   time.Time
}

// solomonAnswer is the plan of a published instance; routes name customers as the file does, from 1.
type solomonAnswer struct {
	Vehicles int     `json:"vehicles"`
	Distance float64 `json:"distance"`
	Routes   [][]int `json:"routes"`
}

// runSolomon plans an instance of Solomon (1987).
func runSolomon(c *cobra.Command, o weekOptions) error {
	in := c.InOrStdin()
	if o.solomon != "-" {
		file, err := os.Open(o.solomon)
		if err != nil {
			return errUsage{fmt.Errorf("cannot read the instance: %w", err)}
		}
		defer file.Close()
		in = file
	}
	p, err := route.ReadSolomon(in)
	if err != nil {
		return errUsage{fmt.Errorf("%s: %w", o.solomon, err)}
	}
	begun := time.Now()
	plan := route.Solve(p, route.Options{Seed: o.seed, Spent: func() float64 { return time.Since(begun).Seconds() / o.seconds }})
	if len(plan.Absent) > 0 {
		return fmt.Errorf("%d of %d customers could not be served", len(plan.Absent), len(p.Stops))
	}
	a := solomonAnswer{Vehicles: plan.Used, Distance: plan.Travel, Routes: [][]int{}}
	for _, t := range plan.Tours {
		if len(t) > 0 {
			one := make([]int, len(t))
			for i, v := range t {
				one[i] = v + 1
			}
			a.Routes = append(a.Routes, one)
		}
	}
	return printSolomon(c.OutOrStdout(), a, o.asJSON)
}

func printSolomon(w io.Writer, a solomonAnswer, asJSON bool) error {
	if asJSON {
		return json.NewEncoder(w).Encode(a)
	}
	fmt.Fprintf(w, "%d vehicles, distance %.2f\n", a.Vehicles, a.Distance)
	for i, r := range a.Routes {
		fmt.Fprintf(w, "%2d:", i+1)
		for _, v := range r {
			fmt.Fprintf(w, " %d", v)
		}
		fmt.Fprintln(w)
	}
	return nil
}
