package accesslog

import (
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math/rand/v2"
	"os/exec"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/memory"
)

var tenth = time.Date(2026, 3, 10, 12, 0, 0, 0, time.UTC)

// sides are a store and its access log that can be put back.
type sides struct {
	t          *testing.T
	store, log casebook.Book
	log2       *Log
	n          int
	random     *rand.ChaCha8
	head       string
}

func newSides(t *testing.T) *sides {
	s := &sides{t: t, store: casebook.Book{Store: memory.New()}, log: casebook.Book{Store: memory.New()}, random: rand.NewChaCha8([32]byte{9})}
	s.watch()
	return s
}

func (s *sides) watch() {
	s.log2 = New(s.log, s.random)
	s.log2.Beside(s.store.Store)
}

// write writes to the store, then to the log, as a page does.
func (s *sides) write(n int) {
	s.t.Helper()
	for range n {
		s.n++
		at := tenth.Add(time.Duration(s.n) * time.Minute)
		s.append(at, casebook.NewLedgerEntry(fmt.Sprintf("e%d", s.n), at, "x", "", casebook.BackupMade{File: "b"}))
		if err := s.log2.Note(context.Background(), at, Noted{Account: "a", What: Read}); err != nil {
			s.t.Fatal(err)
		}
	}
}

func (s *sides) append(at time.Time, e casebook.Entry) {
	s.t.Helper()
	reg := casebook.Register{Book: s.store, ID: casebook.Ledger}
	var err error
	if s.head == "" {
		_, s.head, err = reg.Entries(context.Background())
	}
	if err == nil {
		s.head, err = reg.Append(context.Background(), s.head, e)
	}
	if err != nil {
		s.t.Fatal(err)
	}
}

// mark notes in the ledger how far the log has come.
func (s *sides) mark() {
	m, err := s.log2.Mark(context.Background())
	if err != nil {
		s.t.Fatal(err)
	}
	s.n++
	at := tenth.Add(time.Duration(s.n) * time.Minute)
	s.append(at, casebook.NewLedgerEntry(fmt.Sprintf("m%d", s.n), at, "x", "", casebook.AccessMarked{Access: m}))
}

// older is the first n records of a store in a store of their own.
func older(t *testing.T, from casebook.Store, n int) casebook.Book {
	t.Helper()
	to := memory.New()
	links, err := from.Feed(context.Background(), 0, n)
	if err != nil {
		t.Fatal(err)
	}
	heads := map[string]string{}
	for _, l := range links {
		if heads[l.Case], err = to.Append(context.Background(), l.Case, heads[l.Case], l.Record); err != nil {
			t.Fatal(err)
		}
	}
	return casebook.Book{Store: to}
}

// TestCompare: an older store beside the log, an older log beside the store, and either made anew are seen, and it is
// said which side is older. What was settled is not told again.
func TestCompare(t *testing.T) {
	ctx := context.Background()
	s := newSides(t)
	s.write(5)
	s.mark()
	s.write(5)
	end, _ := s.store.Store.Mark(ctx)
	logEnd, _ := s.log.Store.Mark(ctx)
	forged := newSides(t)
	forged.n = 50
	forged.write(20)
	for _, c := range []struct {
		name       string
		store, log casebook.Book
		older      string
		words      string
	}{
		{"as they are", s.store, s.log, "-", ""},
		{"an older store", older(t, s.store.Store, int(end.Count)-1), s.log, "store", "The store is older than its access log: it holds 10 records, and on 10 March 2026 12:11 UTC the access log saw 11."},
		{"a much older store", older(t, s.store.Store, 3), s.log, "store", "it holds 3 records"},
		{"an older log", s.store, older(t, s.log.Store, 4), "access log", "The access log is older than the store: it holds 4 lines, and on 10 March 2026 12:06 UTC the store's ledger noted 5."},
		{"a log that was cut where nothing was noted", s.store, older(t, s.log.Store, int(logEnd.Count)-1), "-", ""},
		{"an empty log", s.store, casebook.Book{Store: memory.New()}, "access log", "holds 0 lines"},
		{"a chain made anew", forged.store, s.log, "", "The store does not hold record 11"},
		{"a log made anew", s.store, forged.log, "", "The access log does not hold line 5"},
	} {
		for _, all := range []bool{false, true} {
			found, err := Compare(ctx, c.store, c.log, all, time.Time{})
			if err != nil {
				t.Fatal(err)
			}
			if c.older == "-" {
				if len(found) != 0 {
					t.Errorf("%s: %+v", c.name, found)
				}
				continue
			}
			if len(found) == 0 || found[0].Older != c.older || !strings.Contains(found[0].Words, c.words) {
				t.Errorf("%s: %+v", c.name, found)
			}
		}
	}

	// An older store goes on: the difference is noted, stays, and is settled.
	back := &sides{t: t, store: older(t, s.store.Store, 8), log: s.log, n: 100, random: s.random}
	back.watch()
	found, _ := Compare(ctx, back.store, back.log, false, time.Time{})
	if len(found) != 1 {
		t.Fatalf("%+v", found)
	}
	back.append(tenth.Add(2*time.Hour), casebook.NewLedgerEntry("d1", tenth.Add(2*time.Hour), "x", "", found[0]))
	back.write(recent + 20)
	if again, err := Compare(ctx, back.store, back.log, false, time.Time{}); err != nil || len(again) != 1 || again[0].Words != found[0].Words {
		t.Errorf("after %d more lines: %+v, %v", recent+20, again, err)
	}
	st, _ := back.store.Store.Mark(ctx)
	ac, _ := back.log.Store.Mark(ctx)
	back.append(tenth.Add(9*time.Hour), casebook.NewLedgerEntry("s1", tenth.Add(9*time.Hour), "x", "looked into", casebook.DifferenceSettled{Store: st, Access: ac}))
	back.write(3)
	for _, all := range []bool{false, true} {
		if again, err := Compare(ctx, back.store, back.log, all, time.Time{}); err != nil || len(again) != 0 {
			t.Errorf("after it was settled: %+v, %v", again, err)
		}
	}
}

// TestDaySeal: the text comes back as it went, a mistyped digit is found, and the seal shows a store that was put back.
func TestDaySeal(t *testing.T) {
	ctx := context.Background()
	s := newSides(t)
	s.write(6)
	seal, err := SealOf(ctx, s.store.Store, s.log.Store, "0123456789abcdef", tenth)
	if err != nil {
		t.Fatal(err)
	}
	text := seal.Text()
	for _, around := range []string{text, "a note:\n" + strings.ReplaceAll(strings.ToLower(text), " ", "\n  ") + "\nend"} {
		if got, err := ParseSeal(around); err != nil || got != seal {
			t.Errorf("%q: %+v, %v", around, got, err)
		}
	}
	for i := range text {
		if text[i] == ' ' {
			continue
		}
		wrong := "8"
		if text[i] == '8' {
			wrong = "3"
		}
		if got, err := ParseSeal(text[:i] + wrong + text[i+1:]); !errors.Is(err, ErrNoSeal) {
			t.Errorf("a mistyped digit at %d: %+v, %v", i, got, err)
		}
	}
	s.write(4)
	if wrong, err := seal.Against(ctx, s.store.Store, s.log.Store); err != nil || len(wrong) != 0 {
		t.Errorf("a store that went on: %v, %v", wrong, err)
	}
	forged := newSides(t)
	forged.n = 50
	forged.write(12)
	for name, c := range map[string]struct {
		store, log casebook.Store
		words      string
	}{
		"put back":       {older(t, s.store.Store, 5).Store, s.log.Store, "The store is older than the seal of 10 March 2026 12:00 UTC: it holds 5 records, and held 6 then."},
		"log put back":   {s.store.Store, older(t, s.log.Store, 2).Store, "The access log is older than the seal"},
		"made anew":      {forged.store.Store, s.log.Store, "Record 6 of the store is not the one of the seal"},
		"log taken away": {s.store.Store, nil, "The access log of the seal is not there"},
	} {
		if wrong, err := seal.Against(ctx, c.store, c.log); err != nil || len(wrong) != 1 || !strings.Contains(wrong[0], c.words) {
			t.Errorf("%s: %v, %v", name, wrong, err)
		}
	}
}

// TestCheckSealCode: an independent reader (zbar, if installed) reads the text out of the code.
func TestCheckSealCode(t *testing.T) {
	if _, err := exec.LookPath("zbarimg"); err != nil {
		t.Skip("zbarimg is not installed; make tools installs it")
	}
	s := newSides(t)
	s.write(3)
	seal, err := SealOf(context.Background(), s.store.Store, s.log.Store, "0123456789abcdef", tenth)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := seal.Code()
	if err != nil {
		t.Fatal(err)
	}
	const quiet, scale = 4, 6
	img := image.NewGray(image.Rect(0, 0, (len(rows)+2*quiet)*scale, (len(rows)+2*quiet)*scale))
	for y := range img.Bounds().Dy() {
		for x := range img.Bounds().Dx() {
			r, c := y/scale-quiet, x/scale-quiet
			if r < 0 || c < 0 || r >= len(rows) || c >= len(rows) || !rows[r][c] {
				img.SetGray(x, y, color.Gray{255})
			}
		}
	}
	cmd := exec.Command("zbarimg", "-q", "--raw", "-")
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	go func() {
		png.Encode(in, img)
		in.Close()
	}()
	out, err := cmd.Output()
	if err != nil || strings.TrimSpace(string(out)) != seal.Text() {
		t.Errorf("zbar reads %q (%v), want %q", out, err, seal.Text())
	}
}

// FuzzParseSeal: whatever is given as a seal of the day, it is one that reads the same again or a refusal.
func FuzzParseSeal(f *testing.F) {
	f.Add(DaySeal{At: tenth, Key: "0123456789abcdef", Store: casebook.Mark{Count: 3, Head: strings.Repeat("ab", 16)}}.Text())
	f.Add("LOWTIDE-SEAL-1 x y z 1:2 3")
	f.Fuzz(func(t *testing.T, text string) {
		s, err := ParseSeal(text)
		if err != nil {
			return
		}
		if again, err := ParseSeal(s.Text()); err != nil || again != s {
			t.Errorf("%q reads as %+v, and that as %+v (%v)", text, s, again, err)
		}
	})
}
