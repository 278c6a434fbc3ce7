package pdf

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/report"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
)

// textOf is what an independent reader (poppler's pdftotext) finds, with one blank between words.
func textOf(t testing.TB, raw []byte, args ...string) string {
	t.Helper()
	tool, err := exec.LookPath("pdftotext")
	if err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("pdftotext is missing; make tools installs it")
		}
		t.Skip("SKIPPED: pdftotext is not installed (make tools)")
	}
	name := filepath.Join(t.TempDir(), "x.pdf")
	if err := os.WriteFile(name, raw, 0o600); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithTimeout(context.Background(), time.Minute)
	defer stop()
	out, err := exec.CommandContext(ctx, tool, append(args, name, "-")...).Output()
	if err != nil {
		t.Fatal(err)
	}
	return strings.Join(strings.Fields(string(out)), " ")
}

func write(t testing.TB, p *report.Paper, size Size) ([]byte, int) {
	t.Helper()
	raw, pages, err := Write(p, size)
	if err != nil {
		t.Fatal(err)
	}
	return raw, pages
}

func papers(in report.Input) []*report.Paper {
	out := []*report.Paper{report.Progress(in), report.Handover(in), report.PrescriberMessage(in)}
	if p, ok := report.VisitNote(in, ""); ok {
		out = append(out, p)
	}
	if p, ok := report.PayerMonth(in); ok {
		out = append(out, p)
	}
	return out
}

// said lists the words of every block but charts, each short enough to stand on one line of a page or a cell.
func said(p *report.Paper) []string {
	var out []string
	for _, b := range p.Blocks {
		switch b := b.(type) {
		case report.Heading:
			out = append(out, b.Text)
		case report.Para:
			out = append(out, b.Text)
		case report.List:
			out = append(out, b.Items...)
		case report.Points:
			for _, q := range b.Items {
				out = append(out, q.Group, q.Lead, q.Text)
			}
		case report.Pairs:
			for _, q := range b.Items {
				out = append(out, q.Label, q.Text)
			}
		case report.Grid:
			for _, r := range b.Rows {
				out = append(out, r...)
			}
		case report.Picture:
			for _, q := range b.Beside {
				out = append(out, q.Label, q.Text)
			}
			out = append(out, b.Caption)
		}
	}
	return out
}

// Every word of the paper is in the file, read back by an independent reader, and so is every number.
func TestCheckWordsAreInTheFile(t *testing.T) {
	words := regexp.MustCompile(`\S+`)
	for i, in := range inputs(t) {
		if i%6 != 0 {
			continue
		}
		for _, p := range papers(in) {
			raw, pages := write(t, p, A4)
			got := textOf(t, raw)
			have := map[string]int{}
			for _, w := range words.FindAllString(got, -1) {
				have[w]++
			}
			for _, line := range said(p) {
				for _, w := range words.FindAllString(line, -1) {
					if len(w) < 20 && have[w] == 0 {
						t.Errorf("%s of %s: the word %q of %q is not in the file", p.Kind, in.Review.Case, w, line)
					}
				}
			}
			if n := strings.Count(got, in.Review.Person.Name); in.Review.Person.Name != "" && n < pages {
				t.Errorf("%s: the patient's name stands %d times on %d pages", p.Kind, n, pages)
			}
			for _, want := range []string{"of " + string(rune('0'+pages)), "Demonstration: invented", "call the local emergency number", p.Time} {
				if !strings.Contains(got, want) {
					t.Errorf("%s: %q is missing", p.Kind, want)
				}
			}
		}
	}
}

// Headings come back in the order of the blocks.
func TestCheckReadingOrder(t *testing.T) {
	p := report.Handover(inputs(t)[0])
	raw, _ := write(t, p, Letter)
	got, at := textOf(t, raw), 0
	for _, b := range p.Blocks {
		if h, ok := b.(report.Heading); ok {
			i := strings.Index(got[at:], h.Text)
			if i < 0 {
				t.Fatalf("heading %q does not come after the ones before it", h.Text)
			}
			at += i
		}
	}
}

// An independent reader (poppler's pdftohtml) finds every heading in the list of headings, in order, and the language.
func TestCheckHeadingsToGoBy(t *testing.T) {
	tool, err := exec.LookPath("pdftohtml")
	if err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("pdftohtml is missing; make tools installs it")
		}
		t.Skip("SKIPPED: pdftohtml is not installed (make tools)")
	}
	p, err := report.Leaflet(inputs(t)[0], "es", 2)
	if err != nil {
		t.Fatal(err)
	}
	raw, pages := write(t, p, A4)
	if pages != 2 {
		t.Errorf("the leaflet takes %d pages", pages)
	}
	if !bytes.Contains(raw, []byte("/Lang (es)")) {
		t.Error("the language is not told")
	}
	name := filepath.Join(t.TempDir(), "x.pdf")
	if err := os.WriteFile(name, raw, 0o600); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithTimeout(context.Background(), time.Minute)
	defer stop()
	out, err := exec.CommandContext(ctx, tool, "-xml", "-i", "-stdout", name).Output()
	if err != nil {
		t.Fatal(err)
	}
	_, outline, _ := strings.Cut(string(out), "<outline>")
	want := []string{p.Title}
	for _, b := range p.Blocks {
		if h, ok := b.(report.Heading); ok {
			want = append(want, h.Text)
		}
	}
	for _, w := range want {
		i := strings.Index(outline, ">"+w+"<")
		if i < 0 {
			t.Fatalf("%q is not in the list, or not in order", w)
		}
		outline = outline[i:]
	}
	if len(want) < 8 {
		t.Errorf("only %d headings", len(want))
	}
}

// The leaflets are in large print, in both languages, without birth date and number.
func TestLeaflets(t *testing.T) {
	in := inputs(t)[0]
	for lang, want := range map[string]string{"en": "bright red blood", "es": "sangre de color rojo vivo"} {
		p, err := report.Leaflet(in, lang, 2)
		if err != nil {
			t.Fatal(err)
		}
		raw, _ := write(t, p, A4)
		got := textOf(t, raw)
		if !strings.Contains(got, want) || !strings.Contains(got, in.Review.Person.Name) {
			t.Errorf("%s: the leaflet does not say it", lang)
		}
		if born := in.Review.State.Registered().Body.Born; strings.Contains(got, in.Review.Person.Record) || born != "" && strings.Contains(got, born) {
			t.Errorf("%s: the leaflet tells too much", lang)
		}
	}
	if _, err := report.Leaflet(in, "xx", 2); err == nil {
		t.Error("a leaflet in no language was written")
	}
}

func TestSameBytes(t *testing.T) {
	in := inputs(t)[3]
	for _, p := range papers(in) {
		a, _ := write(t, p, A4)
		b, _ := write(t, p, A4)
		if !bytes.Equal(a, b) {
			t.Errorf("%s: two files of one paper differ", p.Kind)
		}
		if c, _ := write(t, p, Letter); bytes.Equal(a, c) {
			t.Errorf("%s: A4 and Letter are the same", p.Kind)
		}
	}
	if _, _, err := Write(report.Handover(in), "A3"); err == nil {
		t.Error("A3 was taken")
	}
}

// Visit notes of the whole invented caseload take one page, progress reports, handover sheets and messages two, on both
// sizes of paper; and nothing is lost for it: every finding of the levels Act now and Today stands in each with its
// headline, and with what to do.
func TestPagesOfTheCaseload(t *testing.T) {
	most := map[string]int{"visit-note": 1, "progress": 2, "handover": 2, "prescriber-message": 2, "payer-month": 2}
	seen := map[string]int{}
	for _, in := range inputs(t) {
		for _, p := range papers(in) {
			seen[p.Kind]++
			for _, size := range []Size{A4, Letter} {
				if _, pages := write(t, p, size); pages > most[p.Kind] {
					t.Errorf("%s of %s on %s: %d pages", p.Kind, in.Review.Person.Name, size, pages)
				}
			}
			if p.Kind == "payer-month" {
				continue
			}
			all := strings.Join(said(p), "\n")
			if p.Kind == "visit-note" && !strings.Contains(all, "Open now") {
				continue
			}
			for _, f := range in.Review.Findings {
				if f.Level == rule.ActNow || f.Level == rule.Today {
					if !strings.Contains(all, f.Headline) {
						t.Errorf("%s of %s does not tell %s", p.Kind, in.Review.Person.Name, f.Rule)
					}
				}
			}
			for _, s := range in.Review.Plan {
				if (s.Level == rule.ActNow || s.Level == rule.Today) && p.Kind != "prescriber-message" && !strings.Contains(all, s.Do) {
					t.Errorf("%s of %s does not tell to do: %s", p.Kind, in.Review.Person.Name, s.Do)
				}
			}
			for i := range in.Review.State.WoundRecords() {
				if w := &in.Review.State.WoundRecords()[i]; w.Count.Open() && p.Kind != "visit-note" && p.Kind != "prescriber-message" && !strings.Contains(all, "the count does not add up") {
					t.Errorf("%s of %s does not tell the open count of wound %s", p.Kind, in.Review.Person.Name, w.Name)
				}
			}
		}
	}
	if seen["progress"] < 20 || seen["visit-note"] < 20 {
		t.Errorf("only %v", seen)
	}
}

// hostile is a case with long names, twelve wounds, words from the right and signs that no typeface here has.
func hostile(t testing.TB) report.Input {
	at := time.Date(2026, 2, 1, 9, 0, 0, 0, time.UTC)
	var entries []casebook.Entry
	add := func(b casebook.Body) {
		entries = append(entries, casebook.Entry{ID: "01950000-0000-7000-8000-0000000000" + fmt.Sprintf("%02d", len(entries)),
			Case: "c", Kind: b.Kind(), Version: casebook.Version(b.Kind()), At: at.Add(time.Duration(len(entries)) * 12 * time.Hour), Recorded: at, Author: "n", Body: b})
	}
	add(casebook.PersonRegistered{Name: "Wilhelmina-Anastasia Featherstonehaugh-O’", Place: "home", Zone: "Asia/Jerusalem", Record: "שלום 12", Address: "شارع محمد ٥, 漢字 <script>alert(1)</script>"})
	for i := range 12 {
		w := string([]byte{'W', 'o', 'u', 'n', 'd', 'n', 'a', 'm', 'e', '1', '0' + byte(i/10), '0' + byte(i%10)})
		add(casebook.WoundFound{Wound: w, Site: strings.Repeat("very long description of a site ", 3), Type: "surgical"})
		for k := range 3 {
			long, wide, deep := 5-float64(k)/2, 3-float64(k)/4, 1.5-float64(k)/4
			add(casebook.WoundMeasured{Wound: w, LengthCm: &long, WidthCm: &wide, DepthCm: &deep, Method: "ruler"})
		}
	}
	add(casebook.NoteWritten{Text: strings.Repeat("unbrokenword", 800)})
	base := inputs(t)[0]
	base.Review = review.Of(state.Of(casebook.Fold("c", entries), base.Rules, base.Equipment, nil, demoNow), base.Rules)
	return base
}

func TestCheckHostile(t *testing.T) {
	in := hostile(t)
	p := report.Handover(in)
	raw, pages := write(t, p, A4)
	got := textOf(t, raw)
	for _, want := range []string{"Wilhelmina-Anastasia Featherstonehaugh-O’", "Woundname111", "Woundname100"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not in the file", want)
		}
	}
	if pages > 20 {
		t.Errorf("%d pages", pages)
	}
	// no word lies outside of the page: pdftotext of the printable area alone finds as many words
	inside := textOf(t, raw, "-x", "30", "-y", "20", "-W", "540", "-H", "810")
	if a, b := len(strings.Fields(got)), len(strings.Fields(inside)); a != b {
		t.Errorf("%d words, but %d within the margins", a, b)
	}
}

func TestPrintable(t *testing.T) {
	for _, c := range []struct {
		in, want string
		lacks    bool
	}{
		{"plain", "plain", false},
		{"Ωmega é", "Ωmega é", false},
		{"שלום", "םולש", false},
		{"A שלום 12", "A 12 םולש", false},
		{"漢", "□", true},
		{"a\tb\x07", "a b", false},
		// beh, meem: initial and final; then alef, which joins only to the letter before it
		{"بم", "ﻢﺑ", false},
		{"با", "ﺎﺑ", false},
		{"اب", "ﺏﺍ", false},
	} {
		got, lacks := printable(c.in)
		if got != c.want || lacks != c.lacks {
			t.Errorf("%q: %q %v, want %q %v", c.in, got, lacks, c.want, c.lacks)
		}
	}
}

// Lines with words from the right are printed as GNU FriBidi orders them.
func TestCheckBidi(t *testing.T) {
	raw, err := os.ReadFile("testdata/ref/fribidi/lines.tsv")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, line := range strings.Split(strings.TrimSpace(string(raw)), "\n") {
		in, want, ok := strings.Cut(line, "\t")
		if got := visual(in); !ok || got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
		n++
	}
	if n < 15 {
		t.Errorf("only %d lines", n)
	}
}

func BenchmarkProgress(b *testing.B) {
	in := inputs(b)[0]
	for b.Loop() {
		if _, _, err := Write(report.Progress(in), A4); err != nil {
			b.Fatal(err)
		}
	}
}

// A hundred progress reports of the whole invented caseload on as many cores as there are; the budget is 5 s on two.
func BenchmarkHundredProgress(b *testing.B) {
	all := inputs(b)
	for b.Loop() {
		var wg sync.WaitGroup
		next := make(chan report.Input)
		for range runtime.GOMAXPROCS(0) {
			wg.Go(func() {
				for in := range next {
					if _, _, err := Write(report.Progress(in), A4); err != nil {
						b.Error(err)
					}
				}
			})
		}
		for i := range 100 {
			next <- all[i%len(all)]
		}
		close(next)
		wg.Wait()
	}
}
