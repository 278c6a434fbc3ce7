package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
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
	slow       fate = "killed by time" // the tests took more than four times as long, and ten seconds
	survived   fate = "survived"
	notReached fate = "not reached" // no test runs the line
	notRun     fate = "not run"     // the time was over before
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

// list notes the names of the package's tests.
func (r *runner) list() error {
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
	return nil
}

// learn runs a test alone with no mutant on, and notes what it takes and what it reaches.
func (r *runner) learn(ctx context.Context, t *test) error {
	f, err := os.CreateTemp("", "reached-")
	if err != nil {
		return err
	}
	f.Close()
	defer os.Remove(f.Name())
	began := time.Now()
	said, err := r.command(ctx, t.suite, only([]string{t.name}), "LOWTIDE_REACHED="+f.Name()).CombinedOutput()
	if err != nil {
		return fmt.Errorf("%s: %s fails without any mutant, and is left out: %w\n%s", r.b.Package, t.name, err, said)
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
func (r *runner) try(ctx context.Context, m *mutant) (fate, error) {
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
			within, cancel := context.WithTimeout(ctx, 4*took+10*time.Second)
			said, err := r.command(within, suite, only(names), "LOWTIDE_MUTANT="+strconv.Itoa(m.ID)).CombinedOutput()
			late := within.Err() != nil
			cancel()
			switch {
			case ctx.Err() != nil:
				return notRun, nil
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
	// late were not run, or not to the end, before the time was over; drawn counts them too.
	late int
	left []string
	// stale are accepted mutants that a test kills.
	stale int
	// failing are tests that fail without any mutant, with what they say: they kill nothing.
	failing []string
}

// share is the part killed of the mutants that were run and that an output can tell, in percent.
func (s score) share() float64 {
	return 100 * float64(s.dead) / float64(max(1, s.drawn-s.excused-s.late))
}

// options say which mutants are drawn and how they are run.
type options struct {
	n, workers int
	seed       uint64
	named      bool
	// log takes a line for each mutant as soon as its fate is known; it may be nil.
	log io.Writer
}

// judge runs the samples of the packages, all tests of all packages first and then all mutants, by chance one from here and
// one from there: what a time that is over leaves out is drawn by chance too.
func judge(ctx context.Context, root string, list []*built, accepted map[string]string, o options) ([]score, error) {
	type learned struct {
		r *runner
		t *test
	}
	type run struct {
		r    *runner
		m    *mutant
		fate fate
		err  error
	}
	var tests []learned
	var runs []*run
	for _, b := range list {
		r := &runner{b: b, root: root}
		if err := r.list(); err != nil {
			return nil, err
		}
		for i := range r.tests {
			tests = append(tests, learned{r, &r.tests[i]})
		}
		for _, m := range sample(b.Mutants, o.n, o.seed, o.named) {
			runs = append(runs, &run{r: r, m: m, fate: notRun})
		}
	}
	var lock sync.Mutex
	var failing []string
	parallel(o.workers, len(tests), func(i int) {
		if err := tests[i].r.learn(ctx, tests[i].t); err != nil {
			lock.Lock()
			failing = append(failing, err.Error())
			lock.Unlock()
		}
	})
	if ctx.Err() != nil {
		return nil, fmt.Errorf("the time was over before every test had run once: %w", ctx.Err())
	}
	sort.Strings(failing)
	rand.New(rand.NewPCG(o.seed, 1)).Shuffle(len(runs), func(i, j int) { runs[i], runs[j] = runs[j], runs[i] })
	parallel(o.workers, len(runs), func(i int) {
		x := runs[i]
		if ctx.Err() == nil {
			x.fate, x.err = x.r.try(ctx, x.m)
		}
		if o.log != nil {
			lock.Lock()
			fmt.Fprintf(o.log, "%s\t%d\t%s\t%s\n", x.fate, x.m.Line, x.m.key(), x.r.b.Package)
			lock.Unlock()
		}
	})
	sort.Slice(runs, func(i, j int) bool { return runs[i].m.ID < runs[j].m.ID })
	var out []score
	for _, b := range list {
		s := score{name: b.Package, all: len(b.Mutants)}
		for _, f := range failing {
			if strings.HasPrefix(f, b.Package+": ") {
				s.failing = append(s.failing, f)
			}
		}
		for _, x := range runs {
			if x.r.b != b {
				continue
			}
			if x.err != nil {
				return nil, x.err
			}
			s.count(x.m, x.fate, accepted)
		}
		out = append(out, s)
	}
	return out, nil
}

// count adds a mutant and what became of it.
func (s *score) count(m *mutant, f fate, accepted map[string]string) {
	s.drawn++
	_, listed := accepted[m.key()]
	switch dead := f == killed || f == slow; {
	case dead && listed:
		s.stale++
		s.left = append(s.left, fmt.Sprintf("%s:%d: is in the list of accepted ones, and a test kills it: take it out: %s", m.File, m.Line, m.key()))
	case dead:
		s.dead++
	case f == notRun:
		s.late++
	case listed:
		s.excused++
	default:
		s.left = append(s.left, fmt.Sprintf("%s:%d: %s: %s", m.File, m.Line, f, m.key()))
	}
}
