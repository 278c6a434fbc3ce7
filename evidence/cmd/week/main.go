// Command week measures the planner: published and drawn instances against the clock, and services that live some weeks
// by hand and by plan. It prints tables, one line a run, as the runs end.
package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"time"

	"lowtide/evidence/weekgen"
	"lowtide/route"
	"lowtide/week"
)

func main() {
	dir := flag.String("instances", "", "a folder of instances of Solomon (1987); empty: none")
	drawn := flag.Int("drawn", 0, "how many instances of each class to draw")
	seconds := flag.Float64("seconds", 60, "how long to look at one instance, on one core")
	seeds := flag.Int("seeds", 1, "how many seeds for each")
	days := flag.Int("days", 0, "how many days a service lives; zero: none does")
	sizes := flag.String("nurses", "40,20,10,5", "how many nurses the services have")
	perDay := flag.Float64("visits", 3.5, "visits a nurse and working day")
	workers := flag.Int("workers", 1, "how many runs at a time: one a core")
	flag.Parse()
	var jobs []func() string
	for seed := range uint64(*seeds) {
		if *days > 0 {
			for word := range strings.SplitSeq(*sizes, ",") {
				nurses, err := strconv.Atoi(word)
				if err != nil || nurses < 1 {
					fmt.Fprintf(os.Stderr, "%q: write numbers of nurses with commas between\n", word)
					os.Exit(2)
				}
				jobs = append(jobs, live(nurses, seed+1, *days, *perDay)...)
			}
		}
		if *dir != "" {
			files, err := filepath.Glob(filepath.Join(*dir, "*.txt"))
			if err != nil {
				fmt.Fprintln(os.Stderr, err)
				os.Exit(2)
			}
			for _, f := range files {
				raw, err := os.ReadFile(f)
				if err != nil {
					fmt.Fprintln(os.Stderr, err)
					os.Exit(2)
				}
				jobs = append(jobs, instance(strings.TrimSuffix(filepath.Base(f), ".txt"), string(raw), seed+1, *seconds))
			}
		}
		for i := range *drawn {
			for _, class := range []string{"r1", "rc1", "r2", "rc2", "c1", "c2"} {
				share, width := []float64{1, 0.5, 0.75, 0.25}[i%4], []float64{0.04, 0.1, 0.2}[i%3]
				name := fmt.Sprintf("%s-%d", class, i+1)
				jobs = append(jobs, instance(name, weekgen.Instance(class, uint64(i+1), share, width), seed+1, *seconds))
			}
		}
	}
	queue := make(chan func() string)
	var wait sync.WaitGroup
	var line sync.Mutex
	for range *workers {
		wait.Go(func() {
			for job := range queue {
				out := job()
				line.Lock()
				fmt.Println(out)
				line.Unlock()
			}
		})
	}
	for _, job := range jobs {
		queue <- job
	}
	close(queue)
	wait.Wait()
}

// instance plans one instance; the line says when the number of vehicles was found.
func instance(name, text string, seed uint64, seconds float64) func() string {
	return func() string {
		p, err := route.ReadSolomon(strings.NewReader(text))
		if err != nil {
			return name + ": " + err.Error()
		}
		begun := time.Now()
		used, since := 0, 0.0
		plan := route.Solve(p, route.Options{Seed: seed, Spent: func() float64 { return time.Since(begun).Seconds() / seconds }, Better: func(b route.Plan) {
			if len(b.Absent) == 0 && b.Used != used {
				used, since = b.Used, time.Since(begun).Seconds()
			}
		}})
		return fmt.Sprintf("instance\t%s\t%d\t%.0f\t%d\t%.2f\t%d left\tsince %.1f s", name, seed, seconds, plan.Used, plan.Travel, len(plan.Absent), since)
	}
}

// live lets one service live by hand, and by plans that weigh continuity differently.
func live(nurses int, seed uint64, days int, perDay float64) (jobs []func() string) {
	one := func(how string, same float64, plan func(r *week.Roster, ask week.Ask) *week.Plan) {
		jobs = append(jobs, func() string {
			s := weekgen.Make(seed, nurses, perDay)
			s.Roster.Settings.SameMin = same
			l := weekgen.Live(s, days, plan)
			return fmt.Sprintf("live\t%d\t%d\t%s\t%d\t%.1f\t%.1f\t%.1f\t%.1f\t%.1f\t%d\t%d ms", nurses, seed, how, l.Visits, l.RoadMin/float64(l.Visits), 100*float64(l.Same)/float64(l.Known), 100*float64(l.Late)/float64(l.Known),
				100*l.Full/float64(l.FullKnown), l.UnevenMin/60/(float64(days)/7), l.Open, l.Slowest.Milliseconds())
		})
	}
	one("by hand", week.Usual.SameMin, (*week.Roster).ByHand)
	for _, same := range []float64{1, 30, week.Usual.SameMin, 200} {
		one(fmt.Sprintf("plan, same %.0f", same), same, func(r *week.Roster, ask week.Ask) *week.Plan {
			ask.Rounds = 1500
			return r.Make(ask)
		})
	}
	return jobs
}
