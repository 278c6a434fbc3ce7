package main

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"lowtide/rule"
	"lowtide/unit"
)

// numberWords are numbers as sentences write them.
var numberWords = map[string]float64{"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "ten": 10, "twelve": 12}

// unitWords are units as sentences write them.
var unitWords = map[string]string{"h": "h", "hour": "h", "hours": "h", "d": "d", "day": "d", "days": "d", "week": "wk", "weeks": "wk", "month": "month", "months": "month", "min": "min", "minutes": "min",
	"%": "%", "mmHg": "mmHg", "°C": "°C", "mL": "mL", "mL a day": "mL/d", "mL/d": "mL/d", "mL/h": "mL/h", "years": "a", "year": "a"}

// phrase finds a number with a unit, or a range with one: "2 h", "48 to 72 h", "two weeks", "90 mL a day".
var phrase = regexp.MustCompile(`(?i)(?:\b(\d+(?:\.\d+)?|one|two|three|four|five|six|seven|eight|nine|ten|twelve)(?: ?(?:to|and|or|-|–) ?))?\b(?:(\d+(?:\.\d+)?) ?|(one|two|three|four|five|six|seven|eight|nine|ten|twelve)[ -])(mL a day|mL/d|mL/h|hours?|days?|weeks?|months?|years?|minutes|min|mmHg|mL|°C|h|d|%)(?:[^A-Za-z/]|$)`)

// quantity is a number in the base unit of its dimension.
type quantity struct {
	dim unit.Dimension
	x   float64
}

func quantityOf(x float64, u string) (quantity, bool) {
	if u == "month" { // as payers count
		x, u = 30*x, "d"
	}
	c, ok := unit.Find(u)
	if !ok {
		return quantity{}, false
	}
	return quantity{c.Dim, math.Round((x*c.Factor+c.Offset)*1e6) / 1e6}, true
}

// quantitiesIn are all numbers with units of a sentence.
func quantitiesIn(text string) (out []quantity, words []string) {
	text = regexp.MustCompile(`\{[^{}]*\}`).ReplaceAllString(text, "{}")
	for i := 0; i < len(text); {
		m := phrase.FindStringSubmatchIndex(text[i:])
		if m == nil {
			break
		}
		get := func(k int) string {
			if m[2*k] < 0 {
				return ""
			}
			return text[i+m[2*k] : i+m[2*k+1]]
		}
		for _, k := range []int{1, 2, 3} {
			w := strings.ToLower(get(k))
			x, isWord := numberWords[w]
			if !isWord {
				var err error
				if x, err = strconv.ParseFloat(w, 64); err != nil {
					continue
				}
			}
			u := get(4)
			if v, ok := unitWords[u]; ok {
				u = v
			} else if v, ok := unitWords[strings.ToLower(u)]; ok {
				u = v
			}
			if q, ok := quantityOf(x, u); ok {
				out, words = append(out, q), append(words, strings.TrimRight(strings.TrimSpace(get(0)), ".,:;<\"')"))
			}
		}
		i += m[1]
	}
	return out, words
}

// suffixes are how names of numbers end with their unit.
var suffixes = []struct{ end, unit string }{{"Hours", "h"}, {"H", "h"}, {"Days", "d"}, {"D", "d"}, {"Weeks", "wk"}, {"Wk", "wk"}, {"Min", "min"}, {"Pct", "%"}, {"Percent", "%"}, {"MmHg", "mmHg"}, {"MLD", "mL/d"}}

// found is a quantity in the source of the program.
type found struct {
	at, words string
	q         quantity
}

// goQuantities are the quantities in the string literals of a Go file, in its lengths of time, and in numbers that are given
// to a name which ends in a unit.
func goQuantities(t *testing.T, file string) (out []found) {
	set := token.NewFileSet()
	f, err := parser.ParseFile(set, file, nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	at := func(n ast.Node) string { return fmt.Sprintf("%s:%d", file, set.Position(n.Pos()).Line) }
	named := func(name string, x ast.Expr) {
		v, ok := constant(x)
		for _, s := range suffixes {
			if ok && strings.HasSuffix(name, s.end) {
				q, _ := quantityOf(v, s.unit)
				out = append(out, found{at(x), name + " = " + strconv.FormatFloat(v, 'g', -1, 64), q})
				return
			}
		}
	}
	ast.Inspect(f, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.ImportSpec:
			return false
		case *ast.Field:
			return n.Tag == nil
		case *ast.BasicLit:
			if n.Kind == token.STRING {
				s, _ := strconv.Unquote(n.Value)
				q, words := quantitiesIn(s)
				for i := range q {
					out = append(out, found{at(n), words[i], q[i]})
				}
			}
		case *ast.BinaryExpr:
			if d, ok := duration(n); ok {
				q, _ := quantityOf(d.Hours(), "h")
				out = append(out, found{at(n), d.String(), q})
				return false
			}
		case *ast.ValueSpec:
			for i := range n.Values {
				named(n.Names[i].Name, n.Values[i])
			}
		case *ast.KeyValueExpr:
			if k, ok := n.Key.(*ast.Ident); ok {
				named(k.Name, n.Value)
			}
		case *ast.AssignStmt:
			for i := range n.Lhs {
				if k, ok := n.Lhs[i].(*ast.Ident); ok && i < len(n.Rhs) {
					named(k.Name, n.Rhs[i])
				}
			}
		}
		return true
	})
	return out
}

// constant is the value of a number, or of a product of numbers.
func constant(x ast.Expr) (float64, bool) {
	switch x := x.(type) {
	case *ast.BasicLit:
		v, err := strconv.ParseFloat(x.Value, 64)
		return v, err == nil && x.Kind != token.STRING
	case *ast.UnaryExpr: // a span back
		return constant(x.X)
	case *ast.BinaryExpr:
		a, ok := constant(x.X)
		b, ok2 := constant(x.Y)
		return a * b, ok && ok2 && x.Op == token.MUL
	}
	return 0, false
}

// duration is the length of a product with one of time's units.
func duration(x ast.Expr) (time.Duration, bool) {
	switch x := x.(type) {
	case *ast.SelectorExpr:
		if p, ok := x.X.(*ast.Ident); ok && p.Name == "time" {
			d := map[string]time.Duration{"Hour": time.Hour, "Minute": time.Minute}[x.Sel.Name]
			return d, d > 0
		}
	case *ast.BinaryExpr:
		if x.Op != token.MUL {
			return 0, false
		}
		for _, s := range [][2]ast.Expr{{x.X, x.Y}, {x.Y, x.X}} {
			d, ok := duration(s[0])
			n, ok2 := constant(s[1])
			if ok && ok2 {
				return time.Duration(n * float64(d)), true
			}
		}
	}
	return 0, false
}

// elsewhere lists where a number is found that means something else: the rule and its key, or the file and how what is found
// begins.
var elsewhere = []struct{ in, why string }{
	{"CAN-LOSS-01 statement", "what a study found"},
	{"ORD-DECIMAL-01 statement", "the span of usual orders, by arithmetic"},
	{"ORD-DENSE-01 statement", "what was found on the bench"},
	{"ORD-GAUZE-01 statement", "what was used in a published series"},
	{"ORD-KPA-01 statement", "the span of usual orders, by arithmetic"},
	{"ORD-MEAN-01 statement", "what a trial allowed"},
	{"PAY-MEASURE-01 statement", "the payer's own text"},
	{"SGN-COLD-01 statement", "the published score"},
	{"SGN-COLD-02 statement", "the published score"},
	{"SGN-DYSREF-01 statement", "the definition as published"},
	{"SGN-FEVER-03 statement", "the published definition of fever in a child"},
	{"SGN-LOWBP-02 statement", "its value is a change and has a sign"},
	{"STP-PROGRESS-01 statement", "what the source says"},
	{"STP-STALL-01 statement", "what the source says"},
	{"axis.go: 168h", "the next visit is drawn when it is within a week"},
	{"fill.go: 24h", "a step of the chart"},
	{"fluid_output.go: 100 mL", "what a study found"},
	{"week_show.go: weekDays = 7", "the days of a calendar's week"},
	{"week_show.go: aloneDays = 3", "how many days the list of one who works alone shows"},
	{"VIS-OFF-06 headline: \"24 hours\"", "a day, of which the hours with suction are counted"},
	{"suction.go: 24 h", "a day, of which the hours without suction are counted"},
	{"case.go: 24 hours", "a day, of which the hours without suction are counted"},
	{"size.go: 72h", "the narrowest range that is drawn"},
	{"backup.go: 24h", "how often a backup is made"},
	{"fluid.go: three days", "how far the command forecasts"},
	{"listen.go: 336h", "the renewal of a certificate"},
	{"stores.go: 14 days", "the period of the stores' list"},
	{"week.go: 2d", "a format of Go"},
	{"law.go: driftMemoryD", "a constant of the model of output"},
	{"law.go: walkMemoryD", "a constant of the model of output"},
	{"predict.go: oldD", "a constant of the model of output"},
	{"milestone.go: bracketDays", "how far apart two sizes may be to tell one between them"},
	{"milestone.go: DueDays", "the published day of a marker"},
	{"milestone.go: 2 to 4 weeks", "what the source says"},
	{"milestone.go: 20 to 40 %", "what the source says"},
	{"ageing.go: leastDropPercent", "the least discharge from which ageing is told"},
	{"battery.go: 336h", "the end of a log over which a battery is judged"},
	{"habit.go: habitDays", "a constant of the judge of logs"},
	{"order.go: BandMmHg", "the band of the judge of logs"},
	{"order.go: NightFromH", "an hour of the clock"},
	{"order.go: OffBelowMmHg", "the suction under which a log counts as off"},
	{"pattern.go: patternDays", "a constant of the judge of logs"},
	{"tables.go: 12h", "noon"},
	{"decision_criteria.go: two to three weeks", "what the source says"},
	{"decision.go: 2 h", "what the source says"},
	{"bench.go: benchTraceHours", "the length of a drawing"},
	{"canister.go: 24h", "a day, over which an output is best told"},
	{"clock.go: 2h", "up to where a span prints in minutes"},
	{"fluid_output.go: 24 h", "what a source measured over"},
	{"fluid_full.go: 12h", "a step of the forecast"},
	{"healing_facts.go: two weeks", "a published definition"},
	{"battery.go: 12h", "how long a straight line of the battery is believed"},
	{"healing.go: leastBarePct", "how finely a share of the bed is judged by eye"},
	{"healing_facts.go: 12h", "noon"},
	{"healing_grew.go: 12h", "noon"},
	{"healing_words.go: one day", "a count of days"},
	{"healing_words.go: one day", "a count of days"},
	{"log.go: recentDays", "the end of a log over which findings are told"},
	{"log.go: differDays", "over how much of the end of a log its suction is compared"},
	{"needs.go: outputAheadD", "how far an output is forecast for supplies"},
	{"asked.go: 2h", "how far apart two entries may be and still be of one time"},
	{"suction.go: 24h", "a day, over which hours of suction are counted"},
	{"small.go: 24h", "the day that a small picture draws"},
	{"glance.go: 24h", "the day that a small picture draws"},
	{"rounds_row.go: 24 h", "the day that a small picture draws"},
	{"week.go: 2h", "how far from a change an entry still belongs to that visit"},
	{"needs.go: 168h", "the period of a list"},
	{"needs.go: 336h", "the period of a list"},
	{"week.go: madeDays", "how far back visits are kept"},
	{"week_plan.go: mostWeekDays", "the longest plan"},
	{"week.go: four weeks", "how far back visits are kept"},
	{"healing.go: aheadDays", "the range of a chart"},
	{"healing.go: four weeks", "the range of a chart"},
	{"progress.go: four weeks", "the range of a chart"},
	{"outline_change.go: 120h", "how far apart two photos are for the advance of an edge"},
	{"case_show.go: tideDays", "the range of a chart"},
	{"case_supplies.templ: 14 days", "the head of a table"},
	{"case_supplies.templ: 7 days", "the head of a table"},
	{"edge.go: two days", "a count of days"},
	{"form_hints.go: two days", "an example of what to type"},
	{"rounds.go: 3days", "a filter of Rounds"},
	{"rounds_order.go: 3days", "a filter of Rounds"},
	{"rounds_parts.go: 3", "a filter of Rounds"},
	{"stores.templ: 14 days", "the head of a table"},
	{"stores.templ: 7 days", "the head of a table"},
	{"aboard.go: 2h", "how long a phone goes on without a warning"},
	{"phone.templ: three days", "how long a phone keeps a list without its server"},
	{"phone_admin.go: three days", "how long a phone keeps a list without its server"},
	{"stores.templ: two weeks", "how long an order is to last"},
	{"progress.go: fallWk", "the time over which the published rates are stated"},
}

// textsOf are the sentences of a rule.
func textsOf(r *rule.Rule) map[string]string {
	return map[string]string{"title": r.Title, "statement": r.Statement, "headline": r.Headline, "cannot_tell": r.CannotTell, "do": r.Do, "clears": r.Clears}
}

// TestSharedValuesStandOnce: a number that stands under rule/value stands nowhere else: no sentence, no length of time and no
// named number of the program has it. What is the same number and means something else is listed below, with its reason.
func TestSharedValuesStandOnce(t *testing.T) {
	set, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	shared := map[quantity][]string{}
	for _, v := range set.Shared() {
		x, _ := v.Value.Value.(float64)
		if q, ok := quantityOf(x, v.Unit); ok && !v.Unset && v.Unit != "1" {
			shared[q] = append(shared[q], v.Name)
		}
	}
	var all []found
	for _, r := range append(set.Rules(), set.Withdrawn()...) {
		for key, text := range textsOf(r) {
			q, words := quantitiesIn(text)
			for i := range q {
				all = append(all, found{r.ID + " " + key, words[i], q[i]})
			}
		}
	}
	for _, room := range []string{"review", "state", "caseload", "report", "wording", "web", "chart", "supply", "payer", "trouble", "healing", "pumplog", "power", "fluid", "cli"} {
		if _, err := os.Stat(room); err != nil {
			continue
		}
		err := filepath.WalkDir(room, func(p string, d fs.DirEntry, err error) error {
			switch {
			case err != nil || d.IsDir() && d.Name() != "testdata":
				return err
			case d.IsDir():
				return filepath.SkipDir
			case strings.HasSuffix(p, "_test.go") || strings.HasSuffix(p, "_templ.go"):
			case strings.HasSuffix(p, ".go"):
				all = append(all, goQuantities(t, p)...)
			case strings.HasSuffix(p, ".templ"), strings.HasSuffix(p, ".toml"):
				raw, err := os.ReadFile(p)
				if err != nil {
					return err
				}
				for i, line := range strings.Split(string(raw), "\n") {
					if strings.HasPrefix(strings.TrimSpace(line), "#") || strings.HasPrefix(strings.TrimSpace(line), "//") {
						continue
					}
					q, words := quantitiesIn(line)
					for k := range q {
						all = append(all, found{fmt.Sprintf("%s:%d", p, i+1), words[k], q[k]})
					}
				}
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	var lines []string
	for _, r := range set.Rules() {
		own := map[quantity]string{}
		for _, v := range r.Values {
			if x, ok := v.Value.(float64); ok && !v.Shared {
				q, _ := quantityOf(math.Abs(x), v.Unit)
				own[q] = v.Name
			}
		}
		for key, text := range textsOf(r) {
			qs, words := quantitiesIn(text)
			for i, q := range qs {
				if own[q] != "" {
					lines = append(lines, fmt.Sprintf("%s %s: %q is its own value %s", r.ID, key, strings.TrimRight(words[i], ".,:;"), own[q]))
				}
			}
		}
	}
	for _, f := range all {
		if ids := shared[f.q]; len(ids) > 0 {
			lines = append(lines, fmt.Sprintf("%s: %q is %s", f.at, f.words, strings.Join(ids, ", ")))
		}
	}
	slices.Sort(lines)
	used := map[string]bool{}
	for _, l := range lines {
		ok := false
		for _, e := range elsewhere {
			file, words, _ := strings.Cut(e.in, ": ")
			if strings.HasPrefix(l, e.in) || words != "" && strings.Contains(l, "/"+file+":") && strings.Contains(l, "\""+words) {
				ok, used[e.in] = true, true
			}
		}
		if !ok {
			t.Error(l + "; take it from there, or list it in this test with the reason why it means something else")
		}
	}
	for _, e := range elsewhere {
		if !used[e.in] {
			t.Errorf("nothing is found for %q any more: take it off the list", e.in)
		}
	}
}
