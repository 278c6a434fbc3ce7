package pumplog

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"
	"time"
)

// TestHostile: nothing breaks reading, and what is shown again holds no control character.
func TestHostile(t *testing.T) {
	head := "time,suction_mmHg,alarm\n2026-01-01T00:00:00Z,125,\n"
	tail := "2026-01-01T01:00:00Z,125,\n"
	for name, c := range map[string]struct {
		middle string
		rows   int // that are used
	}{
		"formula cells":          {"=cmd|' /C calc'!A0,125,\n2026-01-01T00:01:00Z,@SUM(A1),\n2026-01-01T00:02:00Z,125,=HYPERLINK(\"x\")\n", 2},
		"a field of 10 MB":       {"2026-01-01T00:01:00Z,125," + strings.Repeat("x", 10<<20) + "\n", 2},
		"a quoted field of 3 MB": {"2026-01-01T00:01:00Z,125,\"" + strings.Repeat("x\n", 3<<19) + "\"\n", 2},
		"a mark never closed":    {"2026-01-01T00:01:00Z,\"125,\n", 2},
		"NULs":                   {"2026-01-01T00:01:00Z,12\x005,\n\x00\x00\x00\n", 2},
		"bytes of all sorts":     {"2026-01-01T00:01:00Z,125,f\xfcr \xc3\xbc \xff\xfe\u202eevil\u2028\n", 3},
		"300 fields":             {strings.Repeat("1,", 300) + "\n", 2},
		"time reversed":          {"2026-01-01T00:50:00Z,125,\n2026-01-01T00:40:00Z,125,\n2026-01-01T00:30:00Z,125,\n", 5},
		"numbers without sense":  {"2026-01-01T00:01:00Z,1e999,\n2026-01-01T00:02:00Z,NaN,\n2026-01-01T00:03:00Z,-Inf,\n2026-01-01T00:04:00Z,0x7f,\n2026-01-01T00:05:00Z,99999999999999999999999,\n", 2},
	} {
		t.Run(name, func(t *testing.T) {
			raw := head + c.middle + tail
			g, err := Look(strings.NewReader(head+tail), Known{})
			if err != nil {
				t.Fatal(err)
			}
			if _, err := Look(strings.NewReader(raw), Known{}); err != nil {
				t.Error(err)
			}
			tab, err := Read(strings.NewReader(raw), g.Mapping, Options{})
			if err != nil || len(tab.Logs) == 0 {
				t.Fatal(err)
			}
			if tab.Report.Used < c.rows {
				t.Errorf("%d rows used, want at least %d: %v", tab.Report.Used, c.rows, tab.Report.List[:min(3, len(tab.Report.List))])
			}
			for _, w := range tab.Logs[0].Words {
				clean(t, w)
			}
			for _, u := range tab.Report.List {
				clean(t, u.Why)
			}
		})
	}
}

func clean(t *testing.T, s string) {
	t.Helper()
	if len(s) > 400 {
		t.Errorf("%d bytes: %.40q…", len(s), s)
	}
	for _, c := range s {
		if c < ' ' || c == 0x7f || c == 0x202e || c == 0x2028 {
			t.Errorf("%q holds a control character", s)
		}
	}
}

// endless gives rows without end up to so many.
type endless struct {
	rows, n int
	buf     []byte
	peak    uint64
}

func (e *endless) Read(p []byte) (int, error) {
	if len(e.buf) == 0 {
		if e.n == 0 {
			e.buf = append(e.buf, "time,suction_mmHg,flow_mL_min\n"...)
		}
		for range 1000 {
			if e.n < e.rows {
				e.buf = fmt.Appendf(e.buf, "%d,125.%d,%d\n", 1_700_000_000+e.n, e.n%10, 30+e.n%3)
				e.n++
			}
		}
		if e.n%500_000 == 0 {
			var m runtime.MemStats
			runtime.GC()
			runtime.ReadMemStats(&m)
			e.peak = max(e.peak, m.HeapAlloc)
		}
		if len(e.buf) == 0 {
			return 0, io.EOF
		}
	}
	n := copy(p, e.buf)
	e.buf = e.buf[:copy(e.buf, e.buf[n:])]
	return n, nil
}

// TestMemoryIsFlat: what is held while 1 and 4 million rows (22 and 90 MB) stream past does not grow with the file.
func TestMemoryIsFlat(t *testing.T) {
	if testing.Short() {
		t.Skip("reads 112 MB")
	}
	m := Mapping{Delimiter: ",", Decimal: ".", HeaderLine: 1, Columns: []Column{{Number: 1, Means: Time, Unit: "s"}, {Number: 2, Means: Suction, Unit: "mmHg"}, {Number: 3, Means: Flow, Unit: "mL/min"}}}
	var peaks []uint64
	for _, rows := range []int{1_000_000, 4_000_000} {
		src := &endless{rows: rows}
		tab, err := Read(src, m, Options{})
		if err != nil || tab.Report.Used != rows {
			t.Fatal(err, tab.Report.Used)
		}
		l := tab.Logs[0]
		if n := len(l.Samples); n > maxSamples {
			t.Errorf("%d samples", n)
		}
		r := Judge(&l, []Order{{Stages: []Stage{{SuctionMmHg: 125, HoldMin: 1}}}}, nil, Usual, Period{})
		if got := r.AtTargetMin * 60; got < float64(rows)-600 || got > float64(rows)+600 {
			t.Errorf("%v s at target of %d", got, rows)
		}
		peaks = append(peaks, src.peak)
	}
	t.Logf("held: %d MB and %d MB", peaks[0]>>20, peaks[1]>>20)
	if peaks[1] > peaks[0]*5/4 || peaks[1] > 100<<20 {
		t.Errorf("held %d MB with 1 and %d MB with 4 million rows", peaks[0]>>20, peaks[1]>>20)
	}
}

// TestCheckRows: rows and fields are those of encoding/csv, on tables without its errors.
func TestCheckRows(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	cells := []string{"", "1", "a b", "\"q\"", "\"x,y\"", "\"l1\nl2\"", "\"dd\"\"dd\"", "\"\"", "ü", "-3.5"}
	for range 300 {
		var b strings.Builder
		for range 1 + r.IntN(8) {
			n := 1 + r.IntN(6)
			for k := range n {
				if k > 0 {
					b.WriteByte(',')
				}
				b.WriteString(cells[r.IntN(len(cells))])
			}
			b.WriteString([]string{"\n", "\r\n"}[r.IntN(2)])
		}
		want := csv.NewReader(strings.NewReader(b.String()))
		want.FieldsPerRecord = -1
		got := newRowReader(iotestOneByte(b.String(), r.IntN(2) == 0), ',')
		for {
			w, err := want.Read()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatal(err, b.String())
			}
			var f [][]byte
			for {
				var why string
				var ok bool
				if f, why, ok = got.row(); !ok || why != "" {
					t.Fatalf("row ended early (%s) in %q", why, b.String())
				}
				if !(len(f) == 1 && len(f[0]) == 0) { // encoding/csv passes over empty lines
					break
				}
				if len(w) == 1 && w[0] == "" {
					break
				}
			}
			line, _ := want.FieldPos(0)
			if line != got.line {
				t.Errorf("line %d, want %d in %q", got.line, line, b.String())
			}
			if len(f) != len(w) {
				t.Fatalf("%d fields, want %d in %q", len(f), len(w), b.String())
			}
			for i := range w {
				if string(f[i]) != w[i] {
					t.Fatalf("field %q, want %q in %q", f[i], w[i], b.String())
				}
			}
		}
	}
}

type oneByte struct{ r io.Reader }

func (o oneByte) Read(p []byte) (int, error) { return o.r.Read(p[:min(1, len(p))]) }

func iotestOneByte(s string, slow bool) io.Reader {
	if slow {
		return oneByte{strings.NewReader(s)}
	}
	return strings.NewReader(s)
}

// TestManyWordsCostLittle: a log in which every row has other alarm words is read with a bounded effort for each row:
// words are folded once, not once for each row.
func TestManyWordsCostLittle(t *testing.T) {
	text := func(rows int) string {
		var b strings.Builder
		b.WriteString("time,suction (mmHg),alarm\n")
		for i := range rows {
			fmt.Fprintf(&b, "2026-03-02 %02d:%02d:%02d,120,word number %d of many\n", i/3600, i/60%60, i%60, i)
		}
		return b.String()
	}
	few, many := text(1000), text(5000)
	read := func(s string) float64 {
		g, err := Look(strings.NewReader(s), Known{OrderedMmHg: 125})
		if err != nil {
			t.Fatal(err)
		}
		return testing.AllocsPerRun(3, func() {
			if tab, err := Read(strings.NewReader(s), g.Mapping, Options{Zone: time.UTC}); err != nil || len(tab.Logs) != 1 || len(tab.Logs[0].Words) < maxWords {
				t.Fatalf("%d logs, %v", len(tab.Logs), err)
			}
		})
	}
	if perRow := (read(many) - read(few)) / 4000; perRow > 20 {
		t.Errorf("a row costs %.0f allocations", perRow)
	}
}

// FuzzRead: any bytes give a log whose sums agree, or a reason; what is packed reads the same again.
// Slow: the same bytes are looked at, read, judged against an order, packed and read again.
func FuzzRead(f *testing.F) {
	for _, d := range dialects {
		f.Add([]byte(d.text), "dates=day first")
	}
	f.Add([]byte("\xff\xfet\x00i\x00"), "suction=1")
	zone, _ := time.LoadLocation("Europe/London")
	f.Fuzz(func(t *testing.T, raw []byte, answer string) {
		g, err := Look(bytes.NewReader(raw), Known{OrderedMmHg: 125})
		if err != nil {
			t.Fatal(err)
		}
		m, _ := ParseMapping(answer, g.Mapping)
		tab, err := Read(bytes.NewReader(raw), m, Options{Zone: zone})
		if err != nil {
			return
		}
		if r := tab.Report; r.Used < 0 || r.Rows != r.Used+r.NotUsed || len(r.List) > maxUnused {
			t.Fatalf("%+v", r)
		}
		for i := range tab.Logs {
			l := &tab.Logs[i]
			res := Judge(l, []Order{{Stages: []Stage{{SuctionMmHg: 125, HoldMin: 5}, {SuctionMmHg: 25, HoldMin: 2}}}}, zone, Usual, Period{})
			sums(t, res)
			back, err := Unpack(Pack(l))
			if err != nil || len(back.Samples) != len(l.Samples) {
				t.Fatal(err)
			}
		}
	})
}

// FuzzUnpack: any bytes give a log that packs to the same, or a refusal.
func FuzzUnpack(f *testing.F) {
	f.Add(Pack(&Log{Words: []string{""}, Samples: []Sample{{T: 5, Rows: 1}, {T: 9, Rows: 1, SuctionMmHg: nan32}}}))
	f.Fuzz(func(t *testing.T, raw []byte) {
		l, err := Unpack(raw)
		if err != nil {
			return
		}
		Judge(l, nil, nil, Usual, Period{})
		if again, err := Unpack(Pack(l)); err != nil || len(again.Samples) != len(l.Samples) {
			t.Fatal(err)
		}
	})
}
