package casebook_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/casebook/storetest"
)

// liar passes on what a sound store says, with one answer bent.
type liar struct {
	casebook.Store
	feed   func([]casebook.Link) []casebook.Link
	inCase func([]casebook.Link) []casebook.Link
	cases  func([]casebook.CaseHead) []casebook.CaseHead
	hashes func([]string) []string
	blob   func([]byte) ([]byte, error)
}

func (l liar) Feed(ctx context.Context, after int64, limit int) ([]casebook.Link, error) {
	links, err := l.Store.Feed(ctx, after, limit)
	if l.feed != nil {
		links = l.feed(links)
	}
	return links, err
}

func (l liar) Case(ctx context.Context, id string) ([]casebook.Link, error) {
	links, err := l.Store.Case(ctx, id)
	if l.inCase != nil {
		links = l.inCase(links)
	}
	return links, err
}

func (l liar) Cases(ctx context.Context) ([]casebook.CaseHead, error) {
	heads, err := l.Store.Cases(ctx)
	if l.cases != nil {
		heads = l.cases(heads)
	}
	return heads, err
}

func (l liar) BlobHashes(ctx context.Context) ([]string, error) {
	hashes, err := l.Store.BlobHashes(ctx)
	if l.hashes != nil {
		hashes = l.hashes(hashes)
	}
	return hashes, err
}

func (l liar) Blob(ctx context.Context, hash string) ([]byte, error) {
	content, err := l.Store.Blob(ctx, hash)
	if err == nil && l.blob != nil {
		return l.blob(content)
	}
	return content, err
}

// soundStore has five records in two cases and two photos.
func soundStore(t *testing.T) casebook.Store {
	t.Helper()
	ctx := context.Background()
	s := memory.New()
	photo, err := s.PutBlob(ctx, []byte("photo"))
	if err == nil {
		_, err = s.PutBlob(ctx, []byte("second photo"))
	}
	heads := map[string]string{}
	for i := 0; i < 5 && err == nil; i++ {
		c := []string{"a", "b"}[i%2]
		heads[c], err = s.Append(ctx, c, heads[c], storetest.NewRecord(c, fmt.Sprintf("e%d", i), "text", photo))
	}
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestVerifySound(t *testing.T) {
	s := soundStore(t)
	report, err := casebook.Verify(context.Background(), s)
	if err != nil {
		t.Fatal(err)
	}
	feed, _ := s.Feed(context.Background(), 0, 10)
	want := casebook.Report{Records: 5, Cases: 2, Blobs: 2, BlobBytes: 17, Unread: 5, Head: feed[4].Hash, Defects: []string{}}
	if fmt.Sprintf("%+v", report) != fmt.Sprintf("%+v", want) || !report.Sound() {
		t.Errorf("%+v, want %+v", report, want)
	}
	raw, err := json.Marshal(report)
	if err != nil || !strings.Contains(string(raw), `"records":5,"cases":2,"blobs":2,"blob_bytes":17,"unread":5,"head":"`+report.Head+`","defects":[]`) {
		t.Errorf("as JSON: %s, %v", raw, err)
	}
}

func TestVerifyFindsLies(t *testing.T) {
	cut := func(seq int64) func([]casebook.Link) []casebook.Link {
		return func(l []casebook.Link) []casebook.Link {
			return slices.DeleteFunc(l, func(link casebook.Link) bool { return link.Seq == seq })
		}
	}
	bend := func(at int, change func(*casebook.Link)) func([]casebook.Link) []casebook.Link {
		return func(l []casebook.Link) []casebook.Link {
			if len(l) > at {
				change(&l[at])
			}
			return l
		}
	}
	for _, c := range []struct {
		name string
		liar liar
		want string
	}{
		{"a byte of a record", liar{feed: bend(2, func(l *casebook.Link) { l.Bytes[5] ^= 1 })}, `record 3 (entry "e2" of case "a"): its hash is`},
		{"a hash", liar{feed: bend(1, func(l *casebook.Link) { l.Hash = l.Hash[1:] + "0" })}, `record 2 (entry "e1"`},
		{"a case", liar{feed: bend(4, func(l *casebook.Link) { l.Case = "b" })}, "but its bytes say"},
		{"the first record gone", liar{feed: cut(1)}, "record 2 stands where 1 belongs"},
		{"a middle record gone", liar{feed: cut(3)}, "record 4 stands where 3 belongs"},
		{"the last record gone", liar{feed: cut(5)}, `case "a" is listed with 3 entries; the feed has 2`},
		{"two records swapped", liar{feed: func(l []casebook.Link) []casebook.Link {
			if len(l) > 3 {
				l[2], l[3] = l[3], l[2]
			}
			return l
		}}, "record 4 stands where 3 belongs"},
		{"a case reads short", liar{inCase: cut(3)}, `case "a" reads as 2 entries; the feed has 3`},
		{"a case reads otherwise", liar{inCase: bend(0, func(l *casebook.Link) { l.Bytes[5] ^= 1 })}, `case "a" reads otherwise than in the feed`},
		{"a case out of order", liar{inCase: func(l []casebook.Link) []casebook.Link { l[0], l[1] = l[1], l[0]; return l }}, `case "a" reads otherwise`},
		{"a case not listed", liar{cases: func(h []casebook.CaseHead) []casebook.CaseHead { return h[1:] }}, `case "a" has 3 entries but is not in the list`},
		{"a case too many", liar{cases: func(h []casebook.CaseHead) []casebook.CaseHead {
			return append(h, casebook.CaseHead{Case: "c", Head: "x", Count: 1})
		}}, `case "c" is listed with 1 entries; the feed has 0`},
		{"cases out of order", liar{cases: func(h []casebook.CaseHead) []casebook.CaseHead { h[0], h[1] = h[1], h[0]; return h }}, "the list of cases is out of order"},
		{"a case of no entries", liar{cases: func(h []casebook.CaseHead) []casebook.CaseHead {
			return append(h, casebook.CaseHead{Case: "c"})
		}}, `case "c" is listed with 0 entries`},
		{"a wrong head", liar{cases: func(h []casebook.CaseHead) []casebook.CaseHead { h[0].Head = h[1].Head; return h }}, `case "a": its head is listed as`},
		{"a wrong count", liar{cases: func(h []casebook.CaseHead) []casebook.CaseHead { h[1].Count--; return h }}, `case "b"`},
		{"a photo changed", liar{blob: func(b []byte) ([]byte, error) { b[0] ^= 1; return b, nil }}, "it was changed"},
		{"a photo listed but not there", liar{blob: func([]byte) ([]byte, error) { return nil, casebook.ErrNotFound }}, "not found"},
		{"a photo not listed", liar{hashes: func([]string) []string { return nil }}, `entry "e0" names blob`},
		{"photos out of order", liar{hashes: func(h []string) []string { h[0], h[1] = h[1], h[0]; return h }}, "the list of blobs is out of order"},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.liar.Store = soundStore(t)
			report, err := casebook.Verify(context.Background(), c.liar)
			if err != nil {
				t.Fatal(err)
			}
			if all := strings.Join(report.Defects, "\n"); !strings.Contains(all, c.want) {
				t.Errorf("no defect says %q among:\n%s", c.want, all)
			}
		})
	}
}

func TestVerifyReadsEntries(t *testing.T) {
	ctx := context.Background()
	note := func(id, inCase, rest string) casebook.Record {
		return casebook.Record{ID: id, Case: "a", Bytes: []byte(fmt.Sprintf(
			`{"id":%q,"case":%q,"at":"2026-03-02T08:30:00+01:00","recorded":"2026-03-02T08:31:00+01:00","author":"x",%s}`, id, inCase, rest))}
	}
	version := casebook.Version(casebook.KindNoteWritten)
	for _, c := range []struct {
		record casebook.Record
		want   string // "" for no defect
		unread int
	}{
		{note("e", "a", fmt.Sprintf(`"kind":"note.written","version":%d,"body":{}`, version)), "", 0},
		{note("e", "a", `"kind":"from.the.future","version":1,"body":{"x":1}`), "", 1},
		{note("e", "a", `"kind":"note.written","version":99,"body":{"x":1}`), "", 1},
		{note("e", "a", fmt.Sprintf(`"kind":"note.written","version":%d,"body":[1,2]`, version)), "its body does not read as note.written", 0},
		{note("e", "b", `"kind":"from.the.future","version":1,"body":{}`), `its bytes say entry "e" of case "b"`, 1},
		{note("e", "a", `"version":1`), "has no kind", 1},
		{casebook.Record{ID: "e", Case: "a", Bytes: []byte("sealed")}, "does not read as an entry", 0},
		{casebook.Record{ID: "e", Case: "a"}, "does not read as an entry", 0},
	} {
		s := memory.New()
		if _, err := s.Append(ctx, "a", "", c.record); err != nil {
			t.Fatal(err)
		}
		report, err := casebook.Verify(ctx, s)
		if err != nil {
			t.Fatal(err)
		}
		if report.Unread != c.unread || report.Sound() != (c.want == "") || !strings.Contains(strings.Join(report.Defects, "\n"), c.want) {
			t.Errorf("%s: %d unread, defects %q; want %d, %q", c.record.Bytes, report.Unread, report.Defects, c.unread, c.want)
		}
	}
}

// A feed that stands still, an error and an ended context end the check with an error, never with "sound".
func TestVerifyCannotFinish(t *testing.T) {
	stuck := liar{Store: soundStore(t)}
	first, _ := stuck.Store.Feed(context.Background(), 0, 1)
	stuck.feed = func([]casebook.Link) []casebook.Link { return first }
	if _, err := casebook.Verify(context.Background(), stuck); !errors.Is(err, casebook.ErrBroken) {
		t.Errorf("a feed that stands still: %v", err)
	}
	broken := errors.New("the disk is gone")
	if _, err := casebook.Verify(context.Background(), liar{Store: soundStore(t), blob: func([]byte) ([]byte, error) { return nil, broken }}); !errors.Is(err, broken) {
		t.Errorf("a disk that is gone: %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := casebook.Verify(ctx, soundStore(t)); !errors.Is(err, context.Canceled) {
		t.Errorf("an ended context: %v", err)
	}
}

// growing appends after every answer of the store, to an old case and to a new one: the worst moments for
// somebody who is reading on. It stops after a while, so that the feed has an end.
type growing struct {
	casebook.Store
	t *testing.T
	n int
}

func (g *growing) grow() {
	if g.n >= 60 {
		return
	}
	ctx := context.Background()
	for _, c := range []string{"a", fmt.Sprintf("new %d", g.n)} {
		links, err := g.Store.Case(ctx, c)
		head := ""
		if len(links) > 0 {
			head = links[len(links)-1].Hash
		}
		var photo string
		if err == nil {
			photo, err = g.PutBlob(ctx, []byte(fmt.Sprint("photo ", g.n, c)))
		}
		if err == nil {
			_, err = g.Append(ctx, c, head, storetest.NewRecord(c, fmt.Sprintf("g%d %s", g.n, c), "text", photo))
		}
		if err != nil {
			g.t.Fatal(err)
		}
	}
	g.n++
}

func (g *growing) Feed(ctx context.Context, after int64, _ int) ([]casebook.Link, error) {
	defer g.grow()
	return g.Store.Feed(ctx, after, 3)
}

func (g *growing) Case(ctx context.Context, id string) ([]casebook.Link, error) {
	defer g.grow()
	return g.Store.Case(ctx, id)
}

func (g *growing) Cases(ctx context.Context) ([]casebook.CaseHead, error) {
	defer g.grow()
	return g.Store.Cases(ctx)
}

func (g *growing) BlobHashes(ctx context.Context) ([]string, error) {
	defer g.grow()
	return g.Store.BlobHashes(ctx)
}

// A store may grow while it is verified; that is no defect.
func TestVerifyWhileWriting(t *testing.T) {
	for _, already := range []int{0, 20, 40, 56, 59} {
		g := &growing{Store: soundStore(t), t: t, n: already}
		report, err := casebook.Verify(context.Background(), g)
		if err != nil || !report.Sound() {
			t.Errorf("%v, %v", err, report.Defects)
		}
		if want := int64(5 + 2*(60-already)); g.n != 60 || report.Records < 7 || report.Records > want {
			t.Errorf("%d records verified, %d are kept", report.Records, want)
		}
	}
}
