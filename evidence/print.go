package evidence

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// Print writes the results as the page docs/evidence.md and returns how many rows do not hold.
func Print(out io.Writer, results []Result) (failed int, err error) {
	w := bufio.NewWriter(out)
	fmt.Fprint(w, "# Evidence\n\nEvery row compares a number that Lowtide computes with one that it did not make. Made by `make gen`; do not edit. Times beside SciPy are no rows, because they depend on the machine; they stand [at the end](#how-fast-the-pressure-path-is).\n")
	path := ""
	for _, r := range results {
		if r.Table.Path != path {
			path = r.Table.Path
			fmt.Fprintf(w, "\n## %s\n\n%s. Source: %s; %s. Tolerance: %s.\n\n| figure | case | expected | got | tolerance | holds |\n|---|---|---|---|---|---|\n",
				path, upperFirst(r.Table.Kind), cell(r.Table.Source), cell(r.Table.Locator), cell(r.Table.Tolerance))
		}
		holds := "yes"
		if !r.OK() {
			failed++
			holds = "NO"
		}
		got := digits(r.Got, r.Row.Tol)
		if r.Err != nil {
			got = cell(r.Err.Error())
		}
		fmt.Fprintf(w, "| %s | %s | %s | %s | %s | %s |\n", r.Row.Figure, cell(r.Row.Name), strconv.FormatFloat(r.Row.Want, 'g', -1, 64), got, strconv.FormatFloat(r.Row.Tol, 'g', 3, 64), holds)
	}
	fmt.Fprintf(w, "\n%d rows, %d do not hold.\n", len(results), failed)
	return failed, w.Flush()
}

// digits prints a result one digit finer than its tolerance, so that the page does not change with the last bits
// of another machine.
func digits(x, tol float64) string {
	if math.IsNaN(x) {
		return "NaN"
	}
	places := 6
	if tol > 0 {
		places = min(15, max(0, int(math.Ceil(-math.Log10(tol)))+1))
	}
	s := strconv.FormatFloat(x, 'f', places, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		s = "0"
	}
	return s
}

func upperFirst(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func cell(s string) string { return strings.ReplaceAll(strings.ReplaceAll(s, "|", "\\|"), "\n", " ") }
