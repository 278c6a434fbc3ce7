// Command differ compares two versions of the program over many cases: every review, and for a part of the cases the
// papers, FHIR Bundles and tables, at fixed times. It prints each difference, grouped by its place, with how many
// answers have it and examples. What must differ (hashes of the rules, of the program and of the review) is left out.
//
//	go run ./tests/differ -cases DIR -write -n 2000 -seed 1      write the demonstration's cases and 2,000 invented ones
//	go run ./tests/differ -cases DIR[,DIR...] -base CHECKOUT     compare the program of a checkout with this one
//
// With -saved FILE the answers of the base are kept in a file, and read from it the next time.
// Nothing is written into the other checkout.
package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sort"
	"strings"
	"sync"
	"time"
)

func main() {
	cases := flag.String("cases", "", "folders of case files, separated by commas")
	write := flag.Bool("write", false, "write cases into the folder instead of comparing")
	n := flag.Int("n", 2000, "how many invented cases to write")
	seed := flag.Uint64("seed", 1, "seed of the first invented case")
	base := flag.String("base", "", "the checkout to compare with")
	next := flag.String("next", ".", "the checkout that is compared")
	saved := flag.String("saved", "", "file for the answers of the base")
	examples := flag.Int("examples", 2, "examples of each group")
	only := flag.String("only", "", "only answers about this: review, paper handover, Bundle, table days, ...")
	flag.Parse()
	err := errors.New("name a folder: -cases DIR")
	switch {
	case *cases == "":
	case *write:
		err = writeCases(*cases, *n, *seed)
	default:
		err = differ(os.Stdout, strings.Split(*cases, ","), *base, *next, *saved, *only, *examples)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "differ:", err)
		os.Exit(1)
	}
}

func differ(w io.Writer, dirs []string, base, next, saved, only string, examples int) error {
	list, err := subjects(dirs)
	if err != nil {
		return err
	}
	var todo []job
	for _, j := range jobs(list) {
		if only == "" || j.about == only || j.about == "review" { // a review tells the hashes
			todo = append(todo, j)
		}
	}
	tmp, err := os.MkdirTemp("", "differ-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(tmp)
	began := time.Now()
	var answers [2][]answer
	var errs [2]error
	var wait sync.WaitGroup
	for i, checkout := range []string{base, next} {
		file := saved
		if i > 0 {
			file = ""
		}
		wait.Go(func() {
			answers[i], errs[i] = remember(file, todo, func() ([]answer, error) { return ask(tmp, checkout, i, todo) })
		})
	}
	wait.Wait()
	if err := errors.Join(errs[:]...); err != nil {
		return err
	}
	r := newTally()
	for i, j := range todo {
		r.add(j, answers[0][i], answers[1][i], only == "" || j.about == only)
	}
	fmt.Fprintf(w, "%d cases, %d answers of each program, %s.\n\n", len(list), len(todo), time.Since(began).Round(time.Second))
	r.print(w, examples)
	return nil
}

// remember reads the answers from a file, or asks and writes it. A file of other command lines is an error.
func remember(file string, todo []job, ask func() ([]answer, error)) ([]answer, error) {
	type kept struct {
		Args    [][]string
		Answers []answer
	}
	var args [][]string
	for _, j := range todo {
		args = append(args, j.args)
	}
	raw, err := os.ReadFile(file)
	if file == "" || errors.Is(err, os.ErrNotExist) {
		got, err := ask()
		if err != nil || file == "" {
			return got, err
		}
		raw, err := json.Marshal(kept{args, got})
		if err != nil {
			return nil, err
		}
		return got, os.WriteFile(file, raw, 0o644)
	}
	if err != nil {
		return nil, err
	}
	var k kept
	if err := json.Unmarshal(raw, &k); err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	if !slices.EqualFunc(k.Args, args, slices.Equal) || len(k.Answers) != len(args) {
		return nil, fmt.Errorf("%s holds the answers to other command lines: remove it", file)
	}
	return k.Answers, nil
}

// answer is what a command line gave.
type answer struct {
	Code int    `json:"code"`
	Out  string `json:"out"`
	Err  string `json:"err"`
}

// ask builds the program of a checkout, with command dump laid into it, and runs all jobs in one process.
func ask(tmp, checkout string, i int, todo []job) ([]answer, error) {
	root, err := filepath.Abs(checkout)
	if err != nil {
		return nil, err
	}
	dump, err := filepath.Abs("tests/differ/dump/main.go")
	if err != nil {
		return nil, err
	}
	over := map[string]string{filepath.Join(root, "tests/differ/dump/main.go"): dump}
	// A program that loads its rules anew for each command line would take hours.
	load := filepath.Join(root, "rule/load.go")
	raw, err := os.ReadFile(load)
	if err != nil {
		return nil, err
	}
	once := bytes.Replace(raw, []byte("func Builtin() (*Set, error) { return Load(pack) }"), []byte("var loadOnce = sync.OnceValues(func() (*Set, error) { return Load(pack) })\n\nfunc Builtin() (*Set, error) { return loadOnce() }"), 1)
	if !bytes.Equal(once, raw) {
		if !bytes.Contains(once, []byte("\t\"sync\"\n")) {
			once = bytes.Replace(once, []byte("import ("), []byte("import (\n\t\"sync\""), 1)
		}
		patched := filepath.Join(tmp, fmt.Sprintf("load-%d.go", i))
		if err := os.WriteFile(patched, once, 0o644); err != nil {
			return nil, err
		}
		over[load] = patched
	}
	overlay, err := json.Marshal(map[string]any{"Replace": over})
	if err != nil {
		return nil, err
	}
	file, bin := filepath.Join(tmp, fmt.Sprintf("overlay-%d.json", i)), filepath.Join(tmp, fmt.Sprintf("dump-%d", i))
	if err := os.WriteFile(file, overlay, 0o644); err != nil {
		return nil, err
	}
	build := exec.Command("go", "build", "-overlay", file, "-o", bin, "./tests/differ/dump")
	build.Dir = root
	if out, err := build.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("build in %s: %w\n%s", checkout, err, out)
	}
	run := exec.Command(bin)
	run.Stderr = os.Stderr
	in, err := run.StdinPipe()
	if err != nil {
		return nil, err
	}
	out, err := run.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := run.Start(); err != nil {
		return nil, err
	}
	go func() {
		defer in.Close()
		enc := json.NewEncoder(in)
		for _, j := range todo {
			if enc.Encode(map[string]any{"args": j.args}) != nil {
				return // the program ended: what it did not answer is told below
			}
		}
	}()
	dec := json.NewDecoder(bufio.NewReader(out))
	got := make([]answer, len(todo))
	for k := range got {
		if err := dec.Decode(&got[k]); err != nil {
			return nil, fmt.Errorf("%s ended at %s of %s: %w", checkout, todo[k].about, todo[k].name, err)
		}
	}
	return got, run.Wait()
}

// place is where answers differ: what they are about, and the path.
type place struct{ about, path string }

// found are the differences of one place.
type found struct {
	place
	answers  int
	examples []string
}

type tally struct {
	groups map[place]*found
	// hash are those of the last review of each program: those of a case's papers follow it.
	hash        [2]map[string]string
	same, other map[string]int
}

func newTally() *tally {
	return &tally{groups: map[place]*found{}, same: map[string]int{}, other: map[string]int{}}
}

func (t *tally) add(j job, base, next answer, counts bool) {
	if j.about == "review" {
		t.hash[0], t.hash[1] = hashes(base.Out), hashes(next.Out)
	}
	if !counts {
		return
	}
	var list []difference
	if base.Code != next.Code {
		list = append(list, difference{"exit code", fmt.Sprint(base.Code, " ", base.Err), fmt.Sprint(next.Code, " ", next.Err)})
	} else {
		list = compare(normal(base.Out, t.hash[0]), normal(next.Out, t.hash[1]))
		for _, d := range compare(base.Err, next.Err) {
			d.path = "standard error: " + d.path
			list = append(list, d)
		}
	}
	if j.about == "Bundle" { // its ID is made of the review's hash
		list = slices.DeleteFunc(list, func(d difference) bool { return d.path == ".id" })
	}
	if len(list) == 0 {
		t.same[j.about]++
		return
	}
	t.other[j.about]++
	seen := map[place]bool{}
	for _, d := range list {
		p := place{j.about, group(d.path)}
		f := t.groups[p]
		if f == nil {
			f = &found{place: p}
			t.groups[p] = f
		}
		if !seen[p] {
			seen[p] = true
			f.answers++
			f.examples = append(f.examples, fmt.Sprintf("%s%s\n      base: %s\n      next: %s", j.name, strings.TrimPrefix(", "+d.path, ", "+p.path), clip(d.base), clip(d.next)))
		}
	}
}

func clip(s string) string {
	if s == "" {
		return "(none)"
	}
	if r := []rune(s); len(r) > 600 {
		return string(r[:600]) + "…"
	}
	return s
}

func (t *tally) print(w io.Writer, examples int) {
	about := map[string]bool{}
	for k := range t.same {
		about[k] = true
	}
	for k := range t.other {
		about[k] = true
	}
	var names []string
	for k := range about {
		names = append(names, k)
	}
	sort.Strings(names)
	for _, k := range names {
		fmt.Fprintf(w, "%-28s %6d same, %5d differ\n", k, t.same[k], t.other[k])
	}
	var list []*found
	for _, f := range t.groups {
		list = append(list, f)
	}
	sort.Slice(list, func(i, j int) bool {
		if list[i].answers != list[j].answers {
			return list[i].answers > list[j].answers
		}
		return list[i].about+list[i].path < list[j].about+list[j].path
	})
	fmt.Fprintf(w, "\n%d groups of differences\n", len(list))
	for _, f := range list {
		fmt.Fprintf(w, "\n%5d  %s  %s\n", f.answers, f.about, f.path)
		for _, e := range f.examples[:min(examples, len(f.examples))] {
			fmt.Fprintf(w, "    %s\n", e)
		}
	}
}
