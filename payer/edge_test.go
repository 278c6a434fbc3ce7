package payer

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// limits makes a policy with these limits and nothing else.
func limits(t *testing.T, list map[string]string) (*Policy, []Problem) {
	t.Helper()
	raw := "id = \"p\"\nname = \"a payer\"\nsource = \"its text\"\nfrom = 2024-01-01\n"
	for id, v := range list {
		raw += fmt.Sprintf("[[limit]]\nid = %q\nvalue = %s\nunit = %q\nwords = \"w\"\nlocator = \"§1\"\nsure = \"P\"\n", id, v, LimitIDs[id])
	}
	return Parse([]byte(raw))
}

func withLimits(t *testing.T, list map[string]string) *Policy {
	t.Helper()
	p, wrong := limits(t, list)
	if len(wrong) > 0 {
		t.Fatal(wrong)
	}
	return p
}

// TestDayBegins: a day is its first instant in UTC.
func TestDayBegins(t *testing.T) {
	if got := Date(2026, 3, 1).Format(time.RFC3339Nano); got != "2026-03-01T00:00:00Z" {
		t.Error(got)
	}
}

// TestWindow: the first day lies in the window, the day after the last does not.
func TestWindow(t *testing.T) {
	w := Window{Date(2026, 3, 1), Date(2026, 4, 1)}
	days := []time.Time{Date(2026, 2, 28), Date(2026, 3, 1), Date(2026, 3, 31), Date(2026, 4, 1)}
	for i, want := range []bool{false, true, true, false} {
		if w.Holds(days[i]) != want {
			t.Errorf("%s: %v", days[i], !want)
		}
	}
	if n := w.Count(days); n != 2 {
		t.Errorf("%d of the days lie in it", n)
	}
}

// TestClockWithoutAnEnd: a policy with one reading of the end has that one, with none it has none; one day and one month
// are ends too.
func TestClockWithoutAnEnd(t *testing.T) {
	start := Date(2026, 3, 1)
	for name, x := range map[string]struct {
		list                  map[string]string
		byDays, byMonths, end time.Time
	}{
		"none":      {map[string]string{}, time.Time{}, time.Time{}, time.Time{}},
		"days":      {map[string]string{"end_days": "120"}, Date(2026, 6, 29), time.Time{}, Date(2026, 6, 29)},
		"months":    {map[string]string{"end_months": "4"}, time.Time{}, Date(2026, 7, 1), Date(2026, 7, 1)},
		"one day":   {map[string]string{"end_days": "1"}, Date(2026, 3, 2), time.Time{}, Date(2026, 3, 2)},
		"one month": {map[string]string{"end_months": "1"}, time.Time{}, Date(2026, 4, 1), Date(2026, 4, 1)},
	} {
		c := withLimits(t, x.list).At(start, time.Time{}, start)
		if !c.ByDays.Equal(x.byDays) || !c.ByMonths.Equal(x.byMonths) || !c.End.Equal(x.end) || c.Differ {
			t.Errorf("%s: %+v", name, c)
		}
	}
}

// TestMonthOfTheClock: the payer's month begins with the start, and is 30 days where the policy does not say.
func TestMonthOfTheClock(t *testing.T) {
	start := Date(2026, 3, 1)
	for name, x := range map[string]struct {
		list     map[string]string
		today    time.Time
		from, to time.Time
	}{
		"not said, day 29":   {nil, Date(2026, 3, 30), start, Date(2026, 3, 31)},
		"not said, day 30":   {nil, Date(2026, 3, 31), Date(2026, 3, 31), Date(2026, 4, 30)},
		"28 days, day 27":    {map[string]string{"month_days": "28"}, Date(2026, 3, 28), start, Date(2026, 3, 29)},
		"28 days, day 28":    {map[string]string{"month_days": "28"}, Date(2026, 3, 29), Date(2026, 3, 29), Date(2026, 4, 26)},
		"one day":            {map[string]string{"month_days": "1"}, start, start, Date(2026, 3, 2)},
		"before it began":    {nil, Date(2026, 2, 1), start, Date(2026, 3, 31)},
		"one day, not begun": {map[string]string{"month_days": "1"}, Date(2026, 2, 1), start, Date(2026, 3, 2)},
	} {
		if c := withLimits(t, x.list).At(start, time.Time{}, x.today); !c.Month.From.Equal(x.from) || !c.Month.To.Equal(x.to) {
			t.Errorf("%s: %v", name, c.Month)
		}
	}
	// 30 days after 1 March are 31 March, a calendar month is 1 April; after 31 January February ends first.
	p := withLimits(t, nil)
	for last, want := range map[time.Time]time.Time{start: Date(2026, 3, 31), Date(2026, 1, 31): Date(2026, 2, 28)} {
		if got := p.MeasureBy(last); !got.Equal(want) {
			t.Errorf("measured %s: again by %s", last, got)
		}
	}
}

// TestProgressOfSmallWounds: nought is a size, and a negative number is not known.
func TestProgressOfSmallWounds(t *testing.T) {
	p := withLimits(t, nil)
	day := func(n int) time.Time { return AddDays(Date(2026, 3, 1), n) }
	for name, x := range map[string]struct {
		from, to      [2]float64
		known, better bool
	}{
		"closed before and now":    {[2]float64{0, -1}, [2]float64{0, -1}, true, false},
		"closed now":               {[2]float64{3, -1}, [2]float64{0, -1}, true, true},
		"half a cm², then less":    {[2]float64{0.5, -1}, [2]float64{0.4, -1}, true, true},
		"depth alone":              {[2]float64{-1, 0.5}, [2]float64{-1, 0.4}, true, true},
		"flat before and now":      {[2]float64{-1, 0}, [2]float64{-1, 0}, true, false},
		"only the first is known":  {[2]float64{3, -1}, [2]float64{-1, 2}, false, false},
		"larger, but not as deep":  {[2]float64{3, 2}, [2]float64{4, 1.9}, true, true},
		"the same":                 {[2]float64{3, 2}, [2]float64{3, 2}, true, false},
		"nothing is known of them": {[2]float64{-1, -1}, [2]float64{-1, -1}, false, false},
	} {
		got := p.Progress([]Sized{{day(0), x.from[0], x.from[1]}, {day(30), x.to[0], x.to[1]}})
		if got.Known != x.known || got.Better != x.better || !got.Whole {
			t.Errorf("%s: %+v", name, got)
		}
	}
	if got := p.Progress([]Sized{{day(0), 3, 2}, {day(29), 2, 2}}); got.Whole || !got.Better {
		t.Errorf("29 days: %+v", got)
	}
}

// TestLimitsAreChecked: above 0 and up to 10,000; what counts days or months is whole.
func TestLimitsAreChecked(t *testing.T) {
	for _, x := range []struct {
		id, value string
		ok        bool
	}{
		{"kits", "0", false}, {"kits", "0.5", true}, {"kits", "10000", true}, {"kits", "10001", false}, {"kits", "9000", true}, {"kits", "nan", false},
		{"high_output", "2.5", true},
		{"end_months", "4", true}, {"end_months", "4.5", false}, {"month_days", "30.5", false}, {"end_days", "120.5", false}, {"trial_days", "14", true}, {"trial_days", "14.5", false},
	} {
		if _, wrong := limits(t, map[string]string{x.id: x.value}); (len(wrong) == 0) != x.ok {
			t.Errorf("%s = %s: %v", x.id, x.value, wrong)
		}
	}
}

// TestCodesNeedBoth: a code without words, and words without a code, are each refused.
func TestCodesNeedBoth(t *testing.T) {
	for raw, ok := range map[string]bool{
		"[[code]]\ncode = \"X1\"\nwords = \"a pump\"\n": true, "[[code]]\ncode = \"X1\"\n": false, "[[code]]\nwords = \"a pump\"\n": false,
	} {
		if _, wrong := Parse([]byte(strings.TrimSpace(small) + "\n" + raw)); (len(wrong) == 0) != ok || len(wrong) > 1 {
			t.Errorf("%q: %v", raw, wrong)
		}
	}
}
