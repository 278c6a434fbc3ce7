package storetest

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
)

// OpenAt opens the store at a path, making it when there is none.
type OpenAt func(ctx context.Context, path string) (casebook.Store, error)

// crashPath tells a test binary that it is to be the child of [Crash].
const crashPath = "LOWTIDE_STORETEST_CRASH"

// crashEntries is how many entries a child appends, one by one, over crashCases cases.
const (
	crashEntries = 1000
	crashCases   = 7
)

// CrashChild belongs first into TestMain of a package that calls [Crash]. In a child it appends until it is
// killed, and does not return.
func CrashChild(open OpenAt) {
	path := os.Getenv(crashPath)
	if path == "" {
		return
	}
	if err := appendUntilKilled(open, path); err != nil {
		fmt.Println("error", err)
		os.Exit(1)
	}
	os.Exit(0)
}

// appendUntilKilled says on its output, one line each and unbuffered, that the store is open, and of each
// entry that it is kept: "kept ID" follows only on an Append that gave no error.
func appendUntilKilled(open OpenAt, path string) error {
	ctx := context.Background()
	fmt.Println("start")
	s, err := open(ctx, path)
	if err != nil {
		return err
	}
	// As a sealed store is served: with the keyed chain.
	if k, ok := s.(Keyed); ok {
		if _, err := k.KeyChain(ctx, TestMAC); err != nil {
			return err
		}
	}
	fmt.Println("open")
	heads, done := map[string]string{}, 0
	cases, err := s.Cases(ctx)
	if err != nil {
		return err
	}
	for _, c := range cases {
		heads[c.Case] = c.Head
		done += c.Count
	}
	for i := done; i < done+crashEntries; i++ {
		r := crashRecord(i)
		if i%5 == 0 {
			// A blob larger than a page, so that some kills fall into its writing.
			if _, err := s.PutBlob(ctx, []byte(strings.Repeat(r.ID, 3000))); err != nil {
				return err
			}
		}
		if heads[r.Case], err = s.Append(ctx, r.Case, heads[r.Case], r); err != nil {
			return err
		}
		fmt.Println("kept", r.ID)
	}
	return s.Close()
}

// crashRecord is the i-th record that any child appends; every fifth names a blob, put before it.
func crashRecord(i int) casebook.Record {
	id := fmt.Sprintf("entry-%06d", i)
	var blobs []string
	if i%5 == 0 {
		blobs = []string{casebook.BlobHash([]byte(strings.Repeat(id, 3000)))}
	}
	return NewRecord(fmt.Sprintf("case-%d", i%crashCases), id, strings.Repeat("text ", i%40), blobs...)
}

// Crash kills children of this test binary (SIGKILL) at moments that the seed chooses, while they open a store
// and append to it. After each kill every entry that the child acknowledged is there, at most one other, and
// the store verifies. Most rounds go on with the store that the round before left behind, so that recovery is
// itself recovered from.
//
// A killed process loses nothing that the operating system took in: this shows that transactions are whole
// and acknowledged only when done, not that the medium keeps them when the power fails.
func Crash(t *testing.T, open OpenAt, seed uint64, rounds int) {
	rng := rand.New(rand.NewPCG(seed, 1))
	path, kept, killed, total := "", map[string]bool{}, 0, 0
	for round := range rounds {
		if round%4 == 0 {
			path, kept = t.TempDir()+"/store.db", map[string]bool{}
		}
		var acknowledged []string
		// A third of the kills fall near the start: opening, migrating, recovering. The others wait for
		// some acknowledgements first.
		wait := time.Duration(rng.IntN(4000)) * time.Microsecond
		if rng.IntN(3) == 0 {
			acknowledged = runChild(t, path, 0, wait*3)
		} else {
			acknowledged = runChild(t, path, 1+rng.IntN(crashEntries-1), wait)
		}
		if len(acknowledged) < crashEntries {
			killed++
		}
		for _, id := range acknowledged {
			kept[id] = true
		}
		total += len(acknowledged)
		checkCrashed(t, open, path, kept)
		if t.Failed() {
			t.Fatalf("round %d of seed %d", round, seed)
		}
	}
	t.Logf("seed %d: %d rounds, %d killed, %d entries acknowledged, none lost", seed, rounds, killed, total)
	if killed*2 < rounds {
		t.Errorf("only %d of %d children were killed before their end", killed, rounds)
	}
}

// runChild kills a child wait after the given number of acknowledgements (0: after its start) and returns
// all the IDs it acknowledged, those still in the pipe included.
func runChild(t *testing.T, path string, after int, wait time.Duration) []string {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	child := exec.Command(self)
	child.Env = append(os.Environ(), crashPath+"="+path)
	child.Stderr = os.Stderr
	out, err := child.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewReader(out)
	if first, err := lines.ReadString('\n'); err != nil || first != "start\n" {
		t.Fatalf("the child said %q, %v", first, err)
	}
	acknowledged := readKept(t, lines, after)
	time.Sleep(wait)
	if err := child.Process.Kill(); err != nil && err != os.ErrProcessDone {
		t.Fatal(err)
	}
	acknowledged = append(acknowledged, readKept(t, lines, crashEntries)...)
	// The error says that the child was killed, which is what was asked for.
	_ = child.Wait()
	return acknowledged
}

// readKept reads up to n acknowledgements, or to the end.
func readKept(t *testing.T, lines *bufio.Reader, n int) []string {
	t.Helper()
	var ids []string
	for len(ids) < n {
		line, err := lines.ReadString('\n')
		if err == io.EOF {
			return ids // a line without its end was never said in full
		}
		if err != nil {
			t.Fatal(err)
		}
		switch word, id, _ := strings.Cut(strings.TrimSpace(line), " "); word {
		case "open":
		case "kept":
			ids = append(ids, id)
		default:
			t.Fatalf("the child said %q", line)
		}
	}
	return ids
}

// checkCrashed opens what a kill left behind; kept is every ID acknowledged so far, and gains the one that
// may have been kept without its acknowledgement.
func checkCrashed(t *testing.T, open OpenAt, path string, kept map[string]bool) {
	t.Helper()
	ctx := context.Background()
	s, err := open(ctx, path)
	if err != nil {
		t.Errorf("opening what the kill left: %v", err)
		return
	}
	defer func() {
		if err := s.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	}()
	feed, err := s.Feed(ctx, 0, 1<<20)
	if err != nil {
		t.Error(err)
		return
	}
	there := map[string]bool{}
	for i, l := range feed {
		there[l.ID] = true
		if want := crashRecord(i); l.ID != want.ID || l.Case != want.Case || string(l.Bytes) != string(want.Bytes) {
			t.Errorf("record %d is %q of %q with %q", l.Seq, l.ID, l.Case, l.Bytes)
		}
	}
	for id := range kept {
		if !there[id] {
			t.Errorf("%s was acknowledged and is lost", id)
		}
	}
	extra := 0
	for id := range there {
		if !kept[id] {
			extra++
			kept[id] = true
		}
	}
	if extra > 1 {
		t.Errorf("%d entries are kept that were not acknowledged; one may be", extra)
	}
	CheckWhole(t, s)
	if k, ok := s.(Keyed); ok {
		// A child that was killed before it begun the chain left no record without its place either.
		if _, err := k.KeyChain(ctx, TestMAC); err != nil {
			t.Error(err)
		}
		checkChain(t, s)
	}
}
