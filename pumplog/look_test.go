package pumplog

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
	"unicode/utf16"
)

// dialect is one way to write the same five minutes: 125, 124, 0, 80.5 and 125 mmHg from 13 March 2026 10:00 UTC.
type dialect struct {
	name, text string
	known      Known
	zone       string
	answer     string // what a person answers where the file does not tell
	tolerance  float64
}

var dialects = []dialect{
	{name: "own layout", text: "time,suction_mmHg,battery_pct\n2026-03-13T10:00:00Z,125,90\n2026-03-13T10:01:00Z,124,90\n2026-03-13T10:02:00Z,0,90\n2026-03-13T10:03:00Z,80.5,89\n2026-03-13T10:04:00Z,125,89\n"},
	{name: "German, kPa, decimal comma, CRLF", zone: "Europe/Berlin", tolerance: 0.3, text: "Datum;Uhrzeit;Unterdruck [kPa];Akku (%)\r\n13.03.2026;11:00;-16,67;90\r\n13.03.2026;11:01;-16,53;90\r\n13.03.2026;11:02;0,00;90\r\n13.03.2026;11:03;-10,73;89\r\n13.03.2026;11:04;-16,67;89\r\n"},
	{name: "French, tab, cmH2O", zone: "Europe/Paris", tolerance: 0.5, text: "Horodatage\tDépression (cmH2O)\tBatterie\n13/03/2026 11:00:00\t170\t90\n13/03/2026 11:01:00\t169\t90\n13/03/2026 11:02:00\t0\t90\n13/03/2026 11:03:00\t109,4\t89\n13/03/2026 11:04:00\t170\t89\n"},
	{name: "American dates, quotation marks, half days", zone: "America/New_York", text: "\"Date\",\"Time\",\"Pressure, mmHg\",\"Note\"\n\"03/13/2026\",\"6:00:00 AM\",\"-125\",\"said \"\"hi\"\"\nand left\"\n\"03/13/2026\",\"6:01:00 AM\",\"-124\",\"\"\n\"03/13/2026\",\"6:02:00 AM\",\"0\",\"\"\n\"03/13/2026\",\"6:03:00 AM\",\"-80.5\",\"\"\n\"03/13/2026\",\"6:04:00 AM\",\"-125\",\"\"\n"},
	{name: "Unix seconds, no unit, order known", known: Known{OrderedMmHg: 125}, text: "ts_time|vacuum\n1773396000|125\n1773396060|124\n1773396120|0\n1773396180|80.5\n1773396240|125\n"},
	{name: "a preamble and a row of units", text: "Report of a pump\nMade on,2026-03-14\n\nTime,Suction,Flow,Battery\n,mmHg,mL/min,%\n2026-03-13 10:00,125,30,90\n2026-03-13 10:01,124,30,90\n2026-03-13 10:02,0,30,90\n2026-03-13 10:03,80.5,30,89\n2026-03-13 10:04,125,30,89\n"},
	{name: "no header", answer: "suction=2:mmHg", text: "2026-03-13T10:00:00Z,125\n2026-03-13T10:01:00Z,124\n2026-03-13T10:02:00Z,0\n2026-03-13T10:03:00Z,80.5\n2026-03-13T10:04:00Z,125\n"},
	{name: "order of day and month not told", answer: "dates=day first", text: "time,suction mmHg\n03/03/2026 10:00,125\n03/03/2026 10:01,124\n03/03/2026 10:02,0\n03/03/2026 10:03,80.5\n03/03/2026 10:04,125\n"},
}

func zoneOf(t testing.TB, name string) *time.Location {
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

func TestDialects(t *testing.T) {
	for _, d := range dialects {
		t.Run(d.name, func(t *testing.T) {
			for enc, raw := range encodings(d.text) {
				g, err := Look(bytes.NewReader(raw), d.known)
				if err != nil {
					t.Fatal(err)
				}
				m := g.Mapping
				if d.answer == "" && len(g.Ask) > 0 {
					t.Fatalf("%s: asks %q, guessed %s", enc, g.Ask, m.Print())
				}
				if d.answer != "" {
					if len(g.Ask) == 0 {
						t.Errorf("%s: does not ask", enc)
					}
					var bad []string
					if m, bad = ParseMapping(d.answer, m); len(bad) > 0 {
						t.Fatal(bad)
					}
				}
				tab, err := Read(bytes.NewReader(raw), m, Options{Zone: zoneOf(t, d.zone)})
				if err != nil {
					t.Fatal(err)
				}
				if len(tab.Logs) != 1 || len(tab.Logs[0].Samples) != 5 {
					t.Fatalf("%s: %d logs; mapping %s; %v", enc, len(tab.Logs), m.Print(), tab.Report.List)
				}
				start := time.Date(2026, 3, 13, 10, 0, 0, 0, time.UTC)
				if strings.Contains(d.text, "03/03/2026") {
					start = start.AddDate(0, 0, -10)
				}
				for i, want := range []float64{125, 124, 0, 80.5, 125} {
					s := tab.Logs[0].Samples[i]
					if got := time.UnixMilli(s.T).UTC(); !got.Equal(start.Add(time.Duration(i) * time.Minute)) {
						t.Errorf("%s: sample %d at %s", enc, i, got)
					}
					if math.Abs(float64(s.SuctionMmHg)-want) > math.Max(d.tolerance, 1e-4) {
						t.Errorf("%s: sample %d is %v mmHg, want %v", enc, i, s.SuctionMmHg, want)
					}
				}
				// What is printed says the same again.
				again, bad := ParseMapping(m.Print(), g.Mapping)
				if len(bad) > 0 || fmt.Sprint(again) != fmt.Sprint(m) {
					t.Errorf("%s: mapping does not come back: %v\n%v\n%v", enc, bad, m, again)
				}
			}
		})
	}
}

func encodings(s string) map[string][]byte {
	u := utf16.Encode([]rune(s))
	le, be := []byte{0xFF, 0xFE}, []byte{}
	for _, c := range u {
		le = append(le, byte(c), byte(c>>8))
		be = append(be, byte(c>>8), byte(c))
	}
	var latin []byte
	for _, c := range s {
		latin = append(latin, byte(c))
	}
	return map[string][]byte{"UTF-8": []byte(s), "BOM": append([]byte{0xEF, 0xBB, 0xBF}, s...), "UTF-16LE": le, "UTF-16BE without BOM": be, "Latin-1": latin}
}

func TestMeaning(t *testing.T) {
	for header, want := range map[string]Channel{
		"Zeitstempel": Time, "Datum": Date, "Uhrzeit": Clock, "Fecha": Date, "Hora": Clock, "Akkustand": Battery, "Batería (%)": Battery,
		"Suction set": Ordered, "Sollwert": Ordered, "Sog_mmHg": Suction, "Podciśnienie": Suction, "Unterdruck": Suction, "Durchfluss": Flow,
		"Débit d'air": Flow, "Leak alarm": Alarm, "Alarme": Alarm, "Motor on": Motor, "Zustand": Therapy, "Battery voltage": "", "Seriennummer": Pump,
		"Netzbetrieb": Plugged, "Elapsed (min)": Elapsed, "Bemerkung": "", "Ambient pressure": "", "": "",
	} {
		if got := meaning(header); got != want {
			t.Errorf("%q means %q, want %q", header, got, want)
		}
	}
}

// TestWrongUnits: a unit that the header claims and the order denies is asked about; no unit is taken silently.
func TestWrongUnits(t *testing.T) {
	text := func(head, v string) string {
		return head + "\n2026-01-01 00:00," + v + "\n2026-01-01 00:01," + v + "\n2026-01-01 00:02," + v + "\n"
	}
	for _, c := range []struct {
		head, v string
		ordered float64
		asks    bool
		unit    string
	}{
		{"time,suction mmHg", "16.7", 125, true, "mmHg"},
		{"time,suction kPa", "125", 125, true, "kPa"},
		{"time,suction", "16.7", 125, false, "kPa"},
		{"time,suction", "-170", 125, false, "cmH2O"},
		{"time,suction", "635", 0, true, "mmHg"},
		{"time,suction mmHg", "90", 125, false, "mmHg"},
		{"time,suction", "16.7", 0, false, "kPa"},
	} {
		g, err := Look(strings.NewReader(text(c.head, c.v)), Known{OrderedMmHg: c.ordered})
		if err != nil {
			t.Fatal(err)
		}
		if s := g.Find(Suction); s == nil || s.Unit != c.unit || (len(g.Ask) > 0) != c.asks {
			t.Errorf("%s = %s, order %v: unit %+v, asks %q", c.head, c.v, c.ordered, s, g.Ask)
		}
		if !strings.Contains(c.head, "mmHg") && !strings.Contains(c.head, "kPa") && len(g.Ask)+len(g.Doubts) == 0 {
			t.Errorf("%s = %s: a unit was assumed without a word", c.head, c.v)
		}
	}
}

// TestUnusedRows: every row that is not used is named with its line and its reason.
func TestUnusedRows(t *testing.T) {
	text := "time,suction_mmHg,alarm\n" + // 1
		"2026-01-01T00:00:00Z,125,\n" +
		"yesterday,125,\n" + // 3
		"2026-01-01T00:01:00Z,=1+1,\n" + // 4
		"2026-01-01T00:02:00Z,900,\n" + // 5
		"2026-01-01T00:03:00Z\n" + // 6
		"1970-01-01T00:00:07Z,125,\n" + // 7
		"2026-01-01T00:00:00Z,125,\n" + // 8 again
		"2026-01-01T00:00:00Z,99,\n" + // 9 contradicts
		"2026-01-01T00:04:00Z,,\n" + // 10 nothing
		"2026-01-01T00:05:00Z,,leak\n" +
		"\n" +
		"2029-01-01T00:05:00Z,120,\n" + // 13 the future
		"2026-02-30T00:05:00Z,120,\n" + // 14
		"2026-01-01T00:06:00Z,\"124\n" // 15 mark not closed
	g, err := Look(strings.NewReader(text), Known{})
	if err != nil || len(g.Ask) > 0 {
		t.Fatal(err, g.Ask)
	}
	tab, err := Read(strings.NewReader(text), g.Mapping, Options{NotAfter: time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)})
	if err != nil {
		t.Fatal(err)
	}
	want := map[int]string{3: "time cannot be read", 4: "not a number", 5: "deeper than 400", 6: "fewer fields", 7: "clock was not set", 8: "same row again", 9: "something else", 10: "nothing else", 13: "future", 14: "time cannot be read", 15: "not closed"}
	if len(tab.Report.List) != len(want) || tab.Report.NotUsed != len(want) {
		t.Errorf("%d rows not used, want %d: %v", tab.Report.NotUsed, len(want), tab.Report.List)
	}
	for _, u := range tab.Report.List {
		if !strings.Contains(u.Why, want[u.Row]) || want[u.Row] == "" {
			t.Errorf("row %d: %q, want %q", u.Row, u.Why, want[u.Row])
		}
	}
	if tab.Report.Rows != tab.Report.Used+tab.Report.NotUsed || tab.Report.Used != 2 || len(tab.Logs[0].Samples) != 2 {
		t.Errorf("%+v", tab.Report)
	}
}

// TestTwoPumps: a file of two pumps gives two logs.
func TestTwoPumps(t *testing.T) {
	var b strings.Builder
	b.WriteString("time,suction_mmHg,pump\n")
	for i := range 10 {
		fmt.Fprintf(&b, "2026-01-01T00:%02d:00Z,125,A\n2026-01-01T00:%02d:00Z,80,B\n", i, i)
	}
	g, _ := Look(strings.NewReader(b.String()), Known{})
	tab, err := Read(strings.NewReader(b.String()), g.Mapping, Options{})
	if err != nil || len(tab.Logs) != 2 || tab.Report.NotUsed != 0 || fmt.Sprint(g.Pumps) != "[A B]" {
		t.Fatal(err, g.Pumps, tab.Report)
	}
	for _, l := range tab.Logs {
		if want := map[string]float32{"A": 125, "B": 80}[l.Pump]; l.Samples[3].SuctionMmHg != want || len(l.Samples) != 10 {
			t.Errorf("pump %s: %v", l.Pump, l.Samples[3])
		}
	}
}
