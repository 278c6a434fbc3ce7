// Command fuzz builds, runs and lists the fuzz targets: it finds them in the source, so that none can be forgotten.
//
//	go run ./tests/fuzz -build bin/fuzz            an executable and a seed corpus for each target
//	go run ./tests/fuzz -time 10m                  run each
//	go run ./tests/fuzz -time 3s -table FILE -keep run each, write how fast it is, keep a small corpus in testdata/fuzz
//
// What a target says after "Slow:" in its comment is why it runs fewer than 1,000 times a second.
package main

import (
	"archive/zip"
	"bytes"
	"errors"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

func main() {
	build := flag.String("build", "", "folder for executables and seed corpora; nothing is run")
	span := flag.Duration("time", 10*time.Minute, "how long each target runs")
	table := flag.String("table", "", "file for the table of targets and how fast they are")
	keep := flag.Bool("keep", false, "keep a small corpus of what was found in testdata/fuzz")
	only := flag.String("only", "", "only targets whose folder and name, as in ./intake FuzzReadForm, match this expression")
	flag.Parse()
	if err := run(*build, *span, *table, *keep, *only); err != nil {
		fmt.Fprintln(os.Stderr, "fuzz:", err)
		os.Exit(1)
	}
}

// target is one fuzz function.
type target struct {
	dir, name string
	what      string // the first sentence of its comment
	slow      string // why it is slow
}

func (t target) binary() string {
	return strings.ReplaceAll(strings.TrimPrefix(t.dir, "./"), "/", "_") + ".test"
}

func (t target) corpus() string { return filepath.Join(t.dir, "testdata", "fuzz", t.name) }

// targets finds all of them below the folder.
func targets(root string) ([]target, error) {
	var all []target
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (d.Name() == "node_modules" || d.Name() == ".git"):
			return filepath.SkipDir
		case !strings.HasSuffix(path, "_test.go"):
			return nil
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments|parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		for _, decl := range file.Decls {
			f, ok := decl.(*ast.FuncDecl)
			if !ok || f.Recv != nil || !strings.HasPrefix(f.Name.Name, "Fuzz") {
				continue
			}
			dir, err := filepath.Rel(root, filepath.Dir(path))
			if err != nil {
				return err
			}
			what, slow, _ := strings.Cut(strings.Join(strings.Fields(f.Doc.Text()), " "), "Slow:")
			what, _, _ = strings.Cut(strings.TrimPrefix(what, f.Name.Name+": "), ". ")
			all = append(all, target{"./" + filepath.ToSlash(dir), f.Name.Name, strings.TrimSuffix(strings.TrimSpace(what), "."), strings.TrimSpace(slow)})
		}
		return nil
	})
	slices.SortFunc(all, func(a, b target) int { return strings.Compare(a.dir+a.name, b.dir+b.name) })
	return all, err
}

func run(build string, span time.Duration, table string, keep bool, only string) error {
	match, err := regexp.Compile(only)
	if err != nil {
		return err
	}
	all, err := targets(".")
	if err != nil {
		return err
	}
	all = slices.DeleteFunc(all, func(t target) bool { return !match.MatchString(t.dir + " " + t.name) })
	out := build
	if out == "" {
		if out, err = os.MkdirTemp("", "fuzz"); err != nil {
			return err
		}
		defer os.RemoveAll(out)
	}
	if out, err = filepath.Abs(out); err != nil {
		return err
	}
	if err := compile(all, out); err != nil {
		return err
	}
	if build != "" {
		return pack(all, out)
	}
	cache, err := exec.Command("go", "env", "GOCACHE").Output()
	if err != nil {
		return err
	}
	var rates []rate
	var failed error
	for _, t := range all {
		found := filepath.Join(strings.TrimSpace(string(cache)), "fuzz", "lowtide", t.dir)
		r, err := measure(t, out, found, span)
		if err != nil {
			failed = errors.Join(failed, fmt.Errorf("%s %s: %w", t.dir, t.name, err))
			continue
		}
		fmt.Printf("%s %s: %d runs, %.0f a second of one core\n", t.dir, t.name, r.runs, r.perSecond())
		rates = append(rates, r)
		if keep {
			if err := keepSome(filepath.Join(found, t.name), t.corpus()); err != nil {
				return err
			}
		}
	}
	if failed == nil && table != "" {
		return os.WriteFile(table, document(rates, span), 0o644)
	}
	return failed
}

// compile builds the tests of each package once, with the counters that fuzzing needs.
func compile(all []target, out string) error {
	if err := os.MkdirAll(out, 0o755); err != nil {
		return err
	}
	done := map[string]bool{}
	for _, t := range all {
		if done[t.dir] {
			continue
		}
		done[t.dir] = true
		cmd := exec.Command("go", "test", "-c", "-fuzz=Fuzz", "-o", filepath.Join(out, t.binary()), t.dir)
		cmd.Stdout, cmd.Stderr = os.Stderr, os.Stderr
		if err := cmd.Run(); err != nil {
			return fmt.Errorf("%s does not build: %w", t.dir, err)
		}
	}
	return nil
}

// rate is how fast a target ran.
type rate struct {
	target
	runs int
	cpu  time.Duration // of all its processes
}

// perSecond is runs per second of processor time: it does not depend on how busy the machine is otherwise.
func (r rate) perSecond() float64 { return float64(r.runs) / r.cpu.Seconds() }

// minimise is how many runs are spent on making an input smaller. The usual minute of it for each input that is found is
// most of the time when inputs are large, and hardly anything else is tried.
const minimise = "200x"

var progress = regexp.MustCompile(`execs: (\d+)`)

// measure runs a target, and takes off what starting it and trying its seeds costs: that is the same for each start, and most
// of a short run.
func measure(t target, out, found string, span time.Duration) (rate, error) {
	start, err := fuzz(t, out, found, "1x")
	if err != nil {
		return start, err
	}
	r, err := fuzz(t, out, found, span.String())
	return rate{t, r.runs - start.runs, r.cpu - start.cpu}, err
}

// fuzz runs a target for a time, or a number of runs, in its package's folder, where its files are. What it finds is kept in
// the folder found.
func fuzz(t target, out, found, long string) (rate, error) {
	r := rate{target: t}
	cmd := exec.Command(filepath.Join(out, t.binary()), "-test.run", "^$", "-test.fuzz", "^"+t.name+"$", "-test.fuzztime", long, "-test.fuzzminimizetime", minimise, "-test.fuzzcachedir", found)
	cmd.Dir = t.dir
	said, err := cmd.CombinedOutput()
	if err != nil {
		return r, fmt.Errorf("%w\n%s", err, said)
	}
	if lines := progress.FindAllSubmatch(said, -1); len(lines) > 0 {
		r.runs, err = strconv.Atoi(string(lines[len(lines)-1][1]))
	}
	r.cpu = cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
	return r, err
}

const (
	keptFiles = 12
	keptBytes = 8 << 10
)

// keepSome puts the smallest of what was found into the repository's corpus, up to a few files and few bytes in all.
func keepSome(from, to string) error {
	entries, err := os.ReadDir(from)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	type file struct {
		name string
		text []byte
	}
	var files []file
	for _, e := range entries {
		text, err := os.ReadFile(filepath.Join(from, e.Name()))
		if err != nil {
			return err
		}
		files = append(files, file{e.Name(), text})
	}
	slices.SortFunc(files, func(a, b file) int {
		if d := len(a.text) - len(b.text); d != 0 {
			return d
		}
		return bytes.Compare(a.text, b.text)
	})
	have, err := filepath.Glob(filepath.Join(to, "*"))
	if err != nil {
		return err
	}
	if err := os.MkdirAll(to, 0o755); err != nil {
		return err
	}
	n, sum := len(have), 0
	for _, f := range files {
		if n, sum = n+1, sum+len(f.text); n > 1 && (n > keptFiles || sum > keptBytes) {
			break
		}
		if err := os.WriteFile(filepath.Join(to, f.name), f.text, 0o644); err != nil {
			return err
		}
	}
	return nil
}

// pack writes for each target a script that runs it and nothing else, with its package's files beside it, and an archive
// of its seeds: what a service that fuzzes day and night wants of a build.
func pack(all []target, out string) error {
	for _, t := range all {
		name := strings.TrimSuffix(t.binary(), ".test") + "_" + t.name
		files := filepath.Join(out, strings.TrimSuffix(t.binary(), ".test")+"_files")
		script := fmt.Sprintf("#!/bin/sh\n# Runs one fuzz target until it is stopped; what it finds is kept in $CORPUS. Further flags are those of go test, as -test.fuzztime=1m.\n"+
			"here=$(cd \"$(dirname \"$0\")\" && pwd)\nmkdir -p \"$here/%[1]s\" && cd \"$here/%[1]s\" && exec \"$here/%[2]s\" -test.run '^$' -test.fuzz '^%[3]s$' -test.fuzzcachedir \"${CORPUS:-$here/corpus}\" \"$@\"\n",
			filepath.Base(files), t.binary(), t.name)
		if err := os.WriteFile(filepath.Join(out, name), []byte(script), 0o755); err != nil {
			return err
		}
		if err := zipped(t.corpus(), filepath.Join(out, name+"_seed_corpus.zip")); err != nil {
			return err
		}
		if err := os.RemoveAll(files); err != nil {
			return err
		}
		if data := filepath.Join(t.dir, "testdata"); isDir(data) {
			if err := os.CopyFS(filepath.Join(files, "testdata"), os.DirFS(data)); err != nil {
				return err
			}
		}
	}
	fmt.Printf("%d targets in %s\n", len(all), out)
	return nil
}

func isDir(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.IsDir()
}

func zipped(dir, to string) error {
	f, err := os.Create(to)
	if err != nil {
		return err
	}
	z := zip.NewWriter(f)
	if isDir(dir) {
		err = z.AddFS(os.DirFS(dir))
	}
	return errors.Join(err, z.Close(), f.Close())
}

const enough = 1000

// document is docs/fuzzing.md.
func document(rates []rate, span time.Duration) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, `# Fuzz targets

Every place where bytes from outside are read has a fuzz target. %d of them are run by %[2]smake deep%[2]s, each for ten minutes; %[2]smake fuzz-build%[2]s makes an executable and a seed corpus of each in bin/fuzz, for a service that runs them day and night. Seeds that were found are kept under testdata/fuzz of each package, and run as tests each time.

Runs a second are per second of processor time on one core, over %[3]s each, without what the start takes. A target below %[4]d says why.

| package | target | what must hold | runs a second | why fewer than 1,000 |
|---|---|---|---|---|
`, len(rates), "`", span, enough)
	for _, r := range rates {
		why := ""
		if r.perSecond() < enough {
			if why = r.slow; why == "" {
				why = "**no reason yet**"
			}
		}
		fmt.Fprintf(&b, "| %s | %s | %s | %s | %s |\n", strings.TrimPrefix(r.dir, "./"), r.name, r.what, thousands(r.perSecond()), why)
	}
	b.WriteString("\nThis page is written by `go run ./tests/fuzz -time 3s -table docs/fuzzing.md`; a test fails when a target is not on it, has no corpus, or is slow without a reason.\n")
	return b.Bytes()
}

// thousands writes a rate with two digits that count: more would not be the same tomorrow.
func thousands(x float64) string {
	n := int(x)
	for unit := 10; n/unit >= 10; unit *= 10 {
		if n/unit < 100 {
			n = n / unit * unit
			break
		}
	}
	text := strconv.Itoa(n)
	if len(text) > 3 {
		text = text[:len(text)-3] + "," + text[len(text)-3:]
	}
	return text
}
