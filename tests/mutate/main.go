// Command mutate shows which numbers and comparisons the tests of a package hold. It makes one small change at a time (a
// number a quarter larger or a fifth smaller, < for <=, a comparison or a condition turned round, + for -), runs the
// package's own tests and tells which changes no test noticed.
//
//	go run ./tests/mutate [-seed 1] [-n 60] [-named] [-within 8m] [-log file] [package...]
//
// All mutants of a package are compiled once into one test binary, each behind a switch that an environment variable
// sets. Each test runs once without a mutant first, which tells what it reaches; a mutant meets only the tests that
// reach it. Sources are changed in an overlay, never in the tree. Survivors that no output can tell stand in
// accepted.tsv, with the reason; an entry whose mutant is no longer there, or is killed, is an error. What a limit of time
// leaves out is drawn by chance and counted apart.
package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"
)

// packages are those whose numbers decide what a nurse reads.
var packages = []string{"healing", "pumplog", "fluid", "suction", "trouble", "supply", "payer", "power", "rule", "state", "review"}

func main() {
	seed := flag.Uint64("seed", 1, "seed of the sample")
	n := flag.Int("n", 60, "mutants of a package; 0 for all")
	named := flag.Bool("named", false, "also every mutant of a constant that has a name")
	workers := flag.Int("workers", runtime.NumCPU(), "how many run at a time")
	least := flag.Float64("least", 0, "fail when a smaller share (percent) of a package's mutants is killed")
	keep := flag.String("build", "", "only build, into this folder")
	from := flag.String("run", "", "only run what was built into this folder")
	within := flag.Duration("within", 0, "end after this time; what was not run by then is counted apart")
	log := flag.String("log", "", "a file that gets each mutant's fate as soon as it is known")
	flag.Parse()
	list := flag.Args()
	if len(list) == 0 {
		list = packages
	}
	ctx := context.Background()
	if *within > 0 {
		var cancel func()
		ctx, cancel = context.WithTimeout(ctx, *within)
		defer cancel()
	}
	o := options{n: *n, workers: *workers, seed: *seed, named: *named}
	if *log != "" {
		f, err := os.Create(*log)
		if err != nil {
			fmt.Fprintln(os.Stderr, "mutate:", err)
			os.Exit(1)
		}
		defer f.Close()
		o.log = f
	}
	if err := mutate(ctx, list, o, *least, *keep, *from); err != nil {
		fmt.Fprintln(os.Stderr, "mutate:", err)
		os.Exit(1)
	}
}

func mutate(ctx context.Context, list []string, o options, least float64, keep, from string) error {
	root, err := os.Getwd()
	if err != nil {
		return err
	}
	accepted, err := readAccepted(filepath.Join(root, "tests/mutate/accepted.tsv"))
	if err != nil {
		return err
	}
	out := keep + from
	if out == "" {
		if out, err = os.MkdirTemp("", "mutate-"); err != nil {
			return err
		}
		defer os.RemoveAll(out)
	} else if out, err = filepath.Abs(out); err != nil {
		return err
	}
	began := time.Now()
	bad := false
	var all []*built
	for _, name := range list {
		if _, err := os.Stat(name); err != nil {
			return fmt.Errorf("%s is no package here: %w", name, err)
		}
		b, err := binary(root, name, out, from != "")
		if err != nil {
			return err
		}
		if keep != "" {
			fmt.Printf("%s: %d mutants built, %d do not compile\n", name, len(b.Mutants), b.Broken)
			continue
		}
		for _, k := range missing(b, accepted) {
			fmt.Printf("accepted.tsv: there is no such mutant any more: %s\n", k)
			bad = true
		}
		all = append(all, b)
	}
	scores, err := judge(ctx, root, all, accepted, o)
	if err != nil {
		return err
	}
	for _, s := range scores {
		for _, l := range append(s.failing, s.left...) {
			fmt.Println(l)
		}
		fmt.Printf("%-8s seed %d: %d mutants, %d drawn, %d killed, %d survived, %d accepted, %d not run: %.0f %% killed\n\n", s.name, o.seed, s.all, s.drawn, s.dead, len(s.left), s.excused, s.late, s.share())
		bad = bad || len(s.failing) > 0 || s.stale > 0 || s.share() < least
	}
	fmt.Printf("%s\n", time.Since(began).Round(time.Second))
	if bad {
		return fmt.Errorf("a test fails without a mutant, an accepted mutant is gone or killed, or less than %.0f %% were killed", least)
	}
	return nil
}

// binary builds a package's mutants, or reads what was built before.
func binary(root, name, out string, read bool) (*built, error) {
	file := filepath.Join(out, filepath.Base(name)+".json")
	if read {
		raw, err := os.ReadFile(file)
		if err != nil {
			return nil, err
		}
		b := &built{}
		if err := json.Unmarshal(raw, b); err != nil {
			return nil, err
		}
		for i := range b.Suites { // the folder may have moved
			b.Suites[i].Binary = filepath.Join(out, filepath.Base(b.Suites[i].Binary))
		}
		return b, nil
	}
	if err := os.MkdirAll(out, 0o755); err != nil {
		return nil, err
	}
	b, err := build(root, name, out)
	if err != nil {
		return nil, err
	}
	raw, err := json.Marshal(b)
	if err != nil {
		return nil, err
	}
	return b, os.WriteFile(file, raw, 0o644)
}

// readAccepted reads the list of mutants that no output can tell: key, tab, reason.
func readAccepted(file string) (map[string]string, error) {
	raw, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	out := map[string]string{}
	for i, line := range strings.Split(string(raw), "\n") {
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		key, why, ok := strings.Cut(line, "\t")
		if !ok || len(strings.Fields(why)) < 3 {
			return nil, fmt.Errorf("%s:%d: write the mutant, a tab and the reason why no output can tell", file, i+1)
		}
		out[key] = why
	}
	return out, nil
}

// missing lists the accepted mutants of the package that are not there.
func missing(b *built, accepted map[string]string) []string {
	there := map[string]bool{}
	for _, m := range b.Mutants {
		there[m.key()] = true
	}
	var out []string
	for k := range accepted {
		if strings.HasPrefix(k, b.Package+"/") && !there[k] {
			out = append(out, k)
		}
	}
	return out
}
