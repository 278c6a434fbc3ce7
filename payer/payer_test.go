package payer

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

const small = `
id = "p"
name = "a payer"
source = "its text of 2024"
from = 2024-01-01
hospital_counts = true
[[limit]]
id = "month_days"
value = 30
unit = "d"
words = "a month"
locator = "§1"
sure = "P"
[[limit]]
id = "end_days"
value = 120
unit = "d"
words = "the end"
locator = "§1"
sure = "P"
[[limit]]
id = "end_months"
value = 4
unit = "months"
words = "the end"
locator = "§1"
sure = "P"
[[criterion]]
id = "moist"
words = "moist dressings"
locator = "§2"
sure = "P2"
[[criterion]]
id = "turning"
words = "turned"
types = ["pressure"]
locator = "§2"
sure = "M"
`

func parsed(t *testing.T, raw string) *Policy {
	t.Helper()
	p, wrong := Parse([]byte(raw))
	if len(wrong) > 0 {
		t.Fatal(wrong)
	}
	return p
}

// TestClock: both readings of the end, hospital days, and the months.
func TestClock(t *testing.T) {
	p := parsed(t, small)
	mar1 := Date(2026, 3, 1)
	c := p.At(mar1, time.Time{}, Date(2026, 4, 5))
	// 5 April is day 35 (30 days to 31 March): the second month of 30 days, 31 March to 29 April.
	if c.Day != 35 || !c.Differ || !c.End.Equal(Date(2026, 6, 29)) || !c.ByMonths.Equal(Date(2026, 7, 1)) ||
		!c.Month.From.Equal(Date(2026, 3, 31)) || !c.Month.To.Equal(Date(2026, 4, 30)) || !c.Calendar.From.Equal(Date(2026, 4, 1)) || !c.Calendar.To.Equal(Date(2026, 5, 1)) {
		t.Errorf("%+v", c)
	}
	if c := p.At(Date(2026, 2, 18), mar1, mar1); !c.End.Equal(Date(2026, 6, 18)) || c.Day != 11 {
		t.Errorf("hospital counts: %+v", c)
	}
	home := parsed(t, strings.Replace(small, "hospital_counts = true", "hospital_counts = false", 1))
	if c := home.At(Date(2026, 2, 18), mar1, mar1); !c.Start.Equal(mar1) || !c.End.Equal(Date(2026, 6, 29)) {
		t.Errorf("hospital does not count: %+v", c)
	}
	// From 1 January 2025, 120 days are 1 May and four months are 1 May: they agree.
	if c := p.At(Date(2025, 1, 1), time.Time{}, Date(2025, 1, 1)); c.Differ || !c.End.Equal(Date(2025, 5, 1)) {
		t.Errorf("%+v", c)
	}
}

// TestMeasureBy: a month of 30 days, or the calendar month where that is shorter.
func TestMeasureBy(t *testing.T) {
	p := parsed(t, small)
	for from, want := range map[time.Time]time.Time{
		Date(2026, 3, 4):  Date(2026, 4, 3),
		Date(2026, 1, 31): Date(2026, 2, 28),
		Date(2028, 1, 31): Date(2028, 2, 29),
		Date(2026, 4, 10): Date(2026, 5, 10),
	} {
		if got := p.MeasureBy(from); !got.Equal(want) {
			t.Errorf("%s: %s, want %s", from.Format(time.DateOnly), got.Format(time.DateOnly), want.Format(time.DateOnly))
		}
	}
}

// TestProgress: a smaller product or a smaller depth is progress; what was not measured is not.
func TestProgress(t *testing.T) {
	p := parsed(t, small)
	at := func(d int, product, depth float64) Sized { return Sized{Date(2026, 3, d), product, depth} }
	for _, x := range []struct {
		name                string
		sizes               []Sized
		better, known, long bool
	}{
		{"one size", []Sized{at(1, 20, 2)}, false, false, false},
		{"area smaller", []Sized{at(1, 20, 2), at(31, 19, 2)}, true, true, true},
		{"depth smaller", []Sized{at(1, 20, 2), at(31, 20, 1.8)}, true, true, true},
		{"neither", []Sized{at(1, 20, 2), at(31, 20, 2)}, false, true, true},
		{"larger, deeper", []Sized{at(1, 20, 2), at(31, 22, 2.5)}, false, true, true},
		{"a month is not over", []Sized{at(10, 20, 2), at(31, 20, 2)}, false, true, false},
		{"the newest that is a month older counts, not the first", []Sized{{Date(2026, 1, 1), 40, 3}, at(1, 18, 2), at(31, 20, 2)}, false, true, true},
		{"one has no area, the other no depth", []Sized{at(1, 20, -1), at(31, -1, 2)}, false, false, true},
	} {
		got := p.Progress(x.sizes)
		if got.Better != x.better || got.Known != x.known || got.Whole != x.long {
			t.Errorf("%s: %+v", x.name, got)
		}
	}
}

// TestAsks: criteria of other wounds are not asked.
func TestAsks(t *testing.T) {
	p := parsed(t, small)
	if n := len(p.Asks([]string{"surgical"})); n != 1 {
		t.Errorf("surgical: %d", n)
	}
	if n := len(p.Asks([]string{"surgical", "pressure"})); n != 2 {
		t.Errorf("with a pressure wound: %d", n)
	}
}

// TestParseNamesEveryProblem in one go.
func TestParseNamesEveryProblem(t *testing.T) {
	p, wrong := Parse([]byte(`
id = "p"
colour = "blue"
[[limit]]
id = "kits"
value = -1
unit = "d"
sure = "X"
[[limit]]
id = "kits"
value = 3
unit = "per wound and month"
words = "w"
locator = "l"
sure = "P"
[[limit]]
id = "wishes"
[[bar]]
id = "b"
words = "w"
locator = "l"
sure = "P"
`))
	if p != nil {
		t.Fatal("taken")
	}
	all := ""
	for _, w := range wrong {
		all += w.Key + " " + w.What + "; " + w.Do + "\n"
	}
	for _, want := range []string{"colour is not known", "name is missing", "source is missing", "from is missing", `has the unit "d"`, "is -1", "no words or no locator", `sure = "X"`, "stands twice", "limit wishes is not a limit", "names no screening question"} {
		if !strings.Contains(all, want) {
			t.Errorf("%q is not among\n%s", want, all)
		}
	}
}

// TestLawDays: adding days and counting them agree; a month later is never more than 31 days later and never in the
// month after the next.
func TestLawDays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := AddDays(Date(1990, 1, 1), rapid.IntRange(0, 60000).Draw(t, "from"))
		n := rapid.IntRange(0, 500).Draw(t, "n")
		if Days(from, AddDays(from, n)) != n {
			t.Fatalf("%s and %d days", from, n)
		}
		m := rapid.IntRange(0, 24).Draw(t, "m")
		later := AddMonths(from, m)
		if got := (later.Year()-from.Year())*12 + int(later.Month()) - int(from.Month()); got != m || later.Day() > from.Day() {
			t.Fatalf("%s and %d months: %s", from, m, later)
		}
		p := Policy{Limits: []Limit{{ID: "month_days", Value: 30}, {ID: "end_days", Value: 120}, {ID: "end_months", Value: 4}}}
		today := AddDays(from, n)
		c := p.At(from, time.Time{}, today)
		if !c.Month.Holds(today) || !c.Calendar.Holds(today) || Days(c.Month.From, c.Month.To) != 30 {
			t.Fatalf("%+v", c)
		}
		if c.End.After(c.ByDays) || c.End.After(c.ByMonths) || Days(c.ByDays, c.ByMonths) < 0 || Days(c.ByDays, c.ByMonths) > 3 {
			t.Fatalf("%+v", c)
		}
	})
}

// FuzzParse: any text gives a policy or problems, never both and never neither.
func FuzzParse(f *testing.F) {
	f.Add([]byte(small))
	f.Add([]byte("id = 3\n[[limit]]"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		if p, wrong := Parse(raw); (p == nil) == (len(wrong) == 0) {
			t.Error("neither a policy nor a problem, or both")
		}
	})
}
