package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"sort"
	"strconv"
	"strings"
	"sync"
	"time"
)

// test is a test of a package, what it takes and which mutants it reaches.
type test struct {
	suite   int // in built.Suites
	name    string
	took    time.Duration
	reaches map[int]bool
}

// fate is what became of a mutant.
type fate string

const (
	killed     fate = "killed"
	slow       fate = "killed by time" // the tests took more than ten times as long
	survived   fate = "survived"
	notReached fate = "not reached" // no test runs the line
)

// runner runs the test binary of one package.
type runner struct {
	b     *built
	root  string
	tests []test
}

func (r *runner) command(ctx context.Context, suite int, run string, env ...string) *exec.Cmd {
	t := r.b.Suites[suite]
	cmd := exec.CommandContext(ctx, t.Binary, "-test.short", "-test.failfast", "-test.run", run, "-test.timeout", "0")
	cmd.Dir = filepath.Join(r.root, t.Package)
	// Laws are drawn from one seed, nothing is shrunk, and no failure is written into the tree.
	cmd.Env = append(os.Environ(), "RAPID_SEED=1", "RAPID_NOFAILFILE=true", "RAPID_SHRINKTIME=1ms", "GOMAXPROCS=1")
	cmd.Env = append(cmd.Env, env...)
	cmd.WaitDelay = time.Second
	return cmd
}

func only(tests []string) string {
	for i, t := range tests {
		tests[i] = regexp.QuoteMeta(t)
	}
	return "^(" + strings.Join(tests, "|") + ")$"
}

// learn runs each test alone with no mutant on, and notes what it takes and what it reaches.
func (r *runner) learn(workers int) error {
	for i, t := range r.b.Suites {
		list := exec.Command(t.Binary, "-test.list", ".")
		list.Dir = filepath.Join(r.root, t.Package)
		out, err := list.Output()
		if err != nil {
			return fmt.Errorf("list the tests of %s: %w", t.Package, err)
		}
		for _, line := range strings.Split(string(out), "\n") {
			if strings.HasPrefix(line, "Test") || strings.HasPrefix(line, "Example") || strings.HasPrefix(line, "Fuzz") {
				r.tests = append(r.tests, test{suite: i, name: line})
			}
		}
	}
	errs := make([]error, len(r.tests))
	parallel(workers, len(r.tests), func(i int) { errs[i] = r.learnOne(&r.tests[i]) })
	return errors.Join(errs...)
}

func (r *runner) learnOne(t *test) error {
	f, err := os.CreateTemp("", "reached-")
	if err != nil {
		return err
	}
	f.Close()
	defer os.Remove(f.Name())
	began := time.Now()
	said, err := r.command(context.Background(), t.suite, only([]string{t.name}), "LOWTIDE_REACHED="+f.Name()).CombinedOutput()
	if err != nil {
		return fmt.Errorf("%s of %s fails without any mutant: %w\n%s", t.name, r.b.Package, err, said)
	}
	t.took, t.reaches = time.Since(began), map[int]bool{}
	raw, err := os.ReadFile(f.Name())
	if err != nil {
		return err
	}
	for _, id := range bytes.Fields(raw) {
		n, err := strconv.Atoi(string(id))
		if err != nil {
			return err
		}
		t.reaches[n] = true
	}
	return nil
}

// try switches a mutant on and runs the tests that reach it, the quick ones first.
func (r *runner) try(m *mutant) (fate, error) {
	var reach []test
	for _, t := range r.tests {
		if t.reaches[m.ID] {
			reach = append(reach, t)
		}
	}
	if len(reach) == 0 {
		return notReached, nil
	}
	sort.SliceStable(reach, func(i, j int) bool { return reach[i].took < reach[j].took })
	// The quicker half first, and so on: most mutants fall to a quick test.
	for len(reach) > 0 {
		n := (len(reach) + 1) / 2
		for suite := range r.b.Suites {
			var names []string
			var took time.Duration
			for _, t := range reach[:n] {
				if t.suite == suite {
					names = append(names, t.name)
					took += t.took
				}
			}
			if len(names) == 0 {
				continue
			}
			ctx, cancel := context.WithTimeout(context.Background(), 10*took+10*time.Second)
			said, err := r.command(ctx, suite, only(names), "LOWTIDE_MUTANT="+strconv.Itoa(m.ID)).CombinedOutput()
			late := ctx.Err() != nil
			cancel()
			switch {
			case late:
				return slow, nil
			case err == nil:
				continue
			}
			if _, ok := err.(*exec.ExitError); !ok {
				return "", fmt.Errorf("%s: %w\n%s", r.b.Package, err, said)
			}
			return killed, nil
		}
		reach = reach[n:]
	}
	return survived, nil
}

// parallel calls each of n with so many at a time.
func parallel(workers, n int, each func(int)) {
	var wait sync.WaitGroup
	next := make(chan int)
	for range workers {
		wait.Go(func() {
			for i := range next {
				each(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wait.Wait()
}

// sample draws n mutants by seed, and all that change a named constant if asked.
func sample(all []*mutant, n int, seed uint64, named bool) []*mutant {
	rnd := rand.New(rand.NewPCG(seed, 0))
	order := rnd.Perm(len(all))
	var out []*mutant
	for i, at := range order {
		if n == 0 || i < n || named && all[at].Named {
			out = append(out, all[at])
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].ID < out[j].ID })
	return out
}

// score is what became of the mutants of one package.
type score struct {
	name                      string
	all, drawn, dead, excused int
	left                      []string
	// stale are accepted mutants that a test kills.
	stale int
	took  time.Duration
}

// judge runs the sample of one package.
func judge(root string, b *built, accepted map[string]string, n, workers int, seed uint64, named bool) (score, error) {
	began := time.Now()
	r := &runner{b: b, root: root}
	s := score{name: b.Package, all: len(b.Mutants)}
	if err := r.learn(workers); err != nil {
		return s, err
	}
	drawn := sample(b.Mutants, n, seed, named)
	fates := make([]fate, len(drawn))
	errs := make([]error, len(drawn))
	parallel(workers, len(drawn), func(i int) { fates[i], errs[i] = r.try(drawn[i]) })
	s.drawn = len(drawn)
	for i, m := range drawn {
		if errs[i] != nil {
			return s, errs[i]
		}
		_, listed := accepted[m.key()]
		switch dead := fates[i] == killed || fates[i] == slow; {
		case dead && listed:
			s.stale++
			s.left = append(s.left, fmt.Sprintf("%s:%d: is in the list of accepted ones, and a test kills it: take it out: %s", m.File, m.Line, m.key()))
		case dead:
			s.dead++
		case listed:
			s.excused++
		default:
			s.left = append(s.left, fmt.Sprintf("%s:%d: %s: %s", m.File, m.Line, fates[i], m.key()))
		}
	}
	s.took = time.Since(began)
	return s, nil
}
