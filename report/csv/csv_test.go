package csv

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"os"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/demo"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
)

var now = time.Date(2026, 3, 4, 7, 30, 0, 0, time.UTC)

func items(t testing.TB, entries []casebook.Entry) []Item {
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	by := map[string][]casebook.Entry{}
	var ids []string
	for _, e := range entries {
		if by[e.Case] == nil {
			ids = append(ids, e.Case)
		}
		by[e.Case] = append(by[e.Case], e)
	}
	var out []Item
	for _, id := range ids {
		c := casebook.Fold(id, by[id])
		out = append(out, Item{review.Of(state.Of(c, rules, equipment.BuiltIn(), nil, now), rules)})
	}
	return out
}

func demoItems(t testing.TB) []Item { return items(t, demo.Entries(now, 1)) }

func parsed(t *testing.T, tab Table) [][]string {
	var b bytes.Buffer
	if err := tab.WriteCSV(&b); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != len(tab.Rows)+1 {
		t.Fatalf("%s: %d lines for %d rows", tab.Name, len(rows), len(tab.Rows))
	}
	return rows
}

const hostileFile = `[
{"id":"01950000-0000-7000-8000-000000000001","case":"c","kind":"person.registered","version":1,"at":"2026-02-27T23:30:00+01:00","recorded":"2026-02-27T23:30:00+01:00","author":"+n","body":{"name":"=HYPERLINK(\"x\")","place":"home","zone":"Europe/Berlin"}},
{"id":"01950000-0000-7000-8000-000000000002","case":"c","kind":"wound.found","version":1,"at":"2026-02-27T23:31:00+01:00","recorded":"2026-02-27T23:30:00+01:00","author":"+n","body":{"wound":"A","site":"@heel,\n\"left\"","type":"pressure"}},
{"id":"01950000-0000-7000-8000-000000000003","case":"c","kind":"dressing.changed","version":1,"at":"2026-02-27T23:40:00+01:00","recorded":"2026-02-27T23:40:00+01:00","author":"-n","body":{"wounds":[{"wound":"A","none_out":true,"in":[{"filler":"foam","count":2},{"filler":"gauze","count":1}]}],"signs":["none"],"suction_mmHg":125}},
{"id":"01950000-0000-7000-8000-000000000004","case":"c","kind":"dressing.changed","version":1,"at":"2026-03-01T00:10:00+01:00","recorded":"2026-03-01T00:10:00+01:00","author":"n","body":{"wounds":[{"wound":"A","in":[{"filler":"foam","count":1}]}]}}]`

func hostile(t testing.TB) []Item {
	var entries []casebook.Entry
	if err := json.Unmarshal([]byte(hostileFile), &entries); err != nil {
		t.Fatal(err)
	}
	return items(t, entries)
}

// Cells by hand: counts, days over midnight in the patient's zone, what nobody counted stays empty, formulas are text.
func TestCellsByHand(t *testing.T) {
	at := func(rows [][]string, row int, column string) string {
		for i, c := range rows[0] {
			if c == column {
				return rows[row][i]
			}
		}
		t.Fatalf("no column %s", column)
		return ""
	}
	v := parsed(t, Visits(hostile(t)))
	for _, c := range []struct {
		row          int
		column, want string
	}{
		{1, "name", `'=HYPERLINK("x")`}, {1, "author", "'-n"}, {1, "pieces_in", "3"}, {1, "pieces_out", "0"}, {1, "signs", "0"}, {1, "suction_mmHg", "125"},
		{2, "pieces_out", ""}, {2, "pieces_in", "1"}, {2, "signs", ""}, {2, "suction_mmHg", ""}, {1, "days_since_start", "0"}, {2, "days_since_start", "2"},
	} {
		if got := at(v, c.row, c.column); got != c.want {
			t.Errorf("visit %d, %s: %q, want %q", c.row, c.column, got, c.want)
		}
	}
	w := parsed(t, Wounds(hostile(t)))
	if got := at(w, 1, "site"); got != "'@heel,\n\"left\"" {
		t.Errorf("site: %q", got)
	}
	if at(w, 1, "area_cm2") != "" || at(w, 1, "count_open") != "yes" {
		t.Errorf("an area that nobody measured, or a count that is closed: %q", w[1])
	}
	d := parsed(t, Days(hostile(t)))
	// 27 February to 4 March in Berlin: six days, and the change at ten past midnight belongs to 1 March
	if len(d) != 7 || at(d, 3, "date") != "2026-03-01" || at(d, 3, "changes") != "1" || at(d, 3, "day_of_therapy") != "3" || at(d, 2, "changes") != "0" {
		t.Errorf("days: %q", d)
	}
}

// Numbers of the table are the review's.
func TestNumbersAreTheReviews(t *testing.T) {
	its := demoItems(t)
	tab, r, compared := Wounds(its), 0, 0
	for _, it := range its {
		for i := range it.Review.State.WoundRecords() {
			for j, c := range tab.Columns {
				id, ok := strings.CutPrefix(c.Source, "figure ")
				if !ok {
					continue
				}
				f, has := it.Review.Figure(id, it.Review.State.WoundRecords()[i].Name)
				if got := tab.Rows[r][j]; has != (got != nil) || has && got != f.Value {
					t.Errorf("%s %s: %v, review %v (%v)", it.Review.Case, c.Name, got, f.Value, has)
				}
				compared++
			}
			r++
		}
	}
	if compared < 60 {
		t.Errorf("only %d numbers compared", compared)
	}
}

func TestDeidentified(t *testing.T) {
	its := demoItems(t)
	key := []byte("0123456789abcdef")
	for _, tab := range []Table{Visits(its), Wounds(its), Days(its)} {
		d := Deidentify(tab, Options{Key: key})
		if len(d.Rows) != len(tab.Rows) {
			t.Fatalf("%s: rows were lost", tab.Name)
		}
		var b bytes.Buffer
		if err := d.WriteCSV(&b); err != nil {
			t.Fatal(err)
		}
		for _, it := range its {
			if it.Review.State.Registered() == nil {
				continue
			}
			p := it.Review.State.Registered().Body
			for _, secret := range []string{p.Name, p.Record, p.Address, it.Review.Case} {
				if secret != "" && strings.Contains(b.String(), secret) {
					t.Errorf("%s tells %q", tab.Name, secret)
				}
			}
		}
		shifts := map[string]time.Duration{}
		column := map[string]int{}
		for i, c := range d.Columns {
			column[c.Name] = i
		}
		for r, row := range d.Rows {
			for i, c := range tab.Columns {
				was, isTime := tab.Rows[r][i].(time.Time)
				if !isTime {
					continue
				}
				is := row[column[c.Name]].(time.Time)
				shift := civil(was).Sub(civil(is))
				if shift < 7*24*time.Hour || shift > 52*7*24*time.Hour || was.Weekday() != is.Weekday() {
					t.Fatalf("%v became %v", was, is)
				}
				if old, ok := shifts[tab.caseOf[r]]; ok && old != shift {
					t.Fatalf("one case moved by %v and %v", old, shift)
				}
				shifts[tab.caseOf[r]] = shift
			}
		}
		for i, c := range d.Columns {
			if c.Type != "word" {
				continue
			}
			cases := map[string]map[string]bool{}
			for r, row := range d.Rows {
				if w, ok := row[i].(string); ok && w != Suppressed {
					if cases[w] == nil {
						cases[w] = map[string]bool{}
					}
					cases[w][tab.caseOf[r]] = true
				}
			}
			for w, n := range cases {
				if len(n) < DefaultFewest {
					t.Errorf("%s: %s shows %q of %d cases", tab.Name, c.Name, w, len(n))
				}
			}
		}
		other := Deidentify(tab, Options{Key: []byte("another key here")})
		if other.Rows[0][0] == d.Rows[0][0] {
			t.Errorf("%s: two keys give one name", tab.Name)
		}
	}
}

// civil is the clock as it is read, so that a change of summer time between two dates does not count.
func civil(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, t.Hour(), t.Minute(), t.Second(), 0, time.UTC)
}

// The dictionary in the handbook of formats is the one of the program.
func TestDictionaryFresh(t *testing.T) {
	var b bytes.Buffer
	if err := WriteDictionary(&b); err != nil {
		t.Fatal(err)
	}
	page, err := os.ReadFile("../../docs/format/tables.md")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasSuffix(string(page), b.String()) {
		t.Errorf("docs/format/tables.md is stale; it should end with\n%s", b.String())
	}
}

func BenchmarkDays(b *testing.B) {
	its := demoItems(b)
	for b.Loop() {
		Days(its)
	}
}
