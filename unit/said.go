package unit

import (
	"fmt"
	"math"
	"strconv"
)

// This file says numbers as a nurse says them: no finer than they are known. Exact figures stand under Why.

// HowSure is how often the interval of a forecast holds the truth, on every page and paper. Each model's interval runs
// from its 10 % point to its 90 % point.
const HowSure = "four times in five"

// Z80 is the half width of such an interval of a normal law, in standard errors: its quantile at 0.9.
const Z80 = 1.2815515655446004

// chances are the words for a chance up to a share; those above an even one mirror those below it.
var chances = []struct {
	upTo       float64
	words, not string
}{
	{0.01, "less than one in a hundred", "more than ninety-nine in a hundred"}, {0.035, "one in fifty", "forty-nine in fifty"},
	{0.075, "one in twenty", "nineteen in twenty"}, {0.15, "one in ten", "nine in ten"}, {0.225, "one in five", "four in five"},
	{0.29, "one in four", "three in four"}, {0.42, "one in three", "two in three"}, {0.5, "even", "even"},
}

// Chance says a chance between 0 and 1: "one in ten", "even", "four in five". Nearly never and nearly always are not
// said as never and always.
func Chance(p float64) string {
	if math.IsNaN(p) {
		return "cannot tell"
	}
	for _, c := range chances {
		switch {
		case p < c.upTo:
			return c.words
		case 1-p < c.upTo:
			return c.not
		}
	}
	return "even"
}

// Rough prints x to two digits that count and at most so many decimals: what a forecast or a leak is known to.
func Rough(x float64, decimals int) string {
	if x != 0 && !math.IsNaN(x) && !math.IsInf(x, 0) {
		step := math.Pow(10, math.Floor(math.Log10(math.Abs(x)))-1)
		x = math.Round(x/step) * step
	}
	return Number(x, decimals)
}

// Between says the ends of an interval that holds the truth four times in five.
func Between(low, high float64, decimals int, u string) string {
	from, to := Rough(low, decimals), Rough(high, decimals)
	if from == to {
		return HowSure + " about " + from + " " + u
	}
	return HowSure + " between " + from + " and " + to + " " + u
}

// Span says a measured value with the span that its standard error gives it, to the digits that it has.
func Span(v, se float64, u string) string {
	return Number(v, spanDecimals(se)) + " " + u + ", " + HowSure + " between " + Within(v, se, u)
}

// Within says the span alone: "3.6 and 4.3 cm²".
func Within(v, se float64, u string) string {
	d := spanDecimals(se)
	return Number(math.Max(0, v-Z80*se), d) + " and " + Number(v+Z80*se, d) + " " + u
}

// spanDecimals are two for what is known to a twentieth of its unit, else one.
func spanDecimals(se float64) int {
	if se < 0.05 {
		return 2
	}
	return 1
}

// Fall says a share of a size that is gone, as a change: "11 % smaller", "83 % larger".
func Fall(share float64) string {
	switch pct := Number(math.Abs(share)*100, 0); {
	case pct == "0":
		return "the same"
	case share > 0:
		return pct + " % smaller"
	default:
		return pct + " % larger"
	}
}

// small are the numbers that are said as words.
var small = []string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"}

// Word says a whole number, up to twelve in letters.
func Word(n int) string {
	if n >= 0 && n < len(small) {
		return small[n]
	}
	return strconv.Itoa(n)
}

// Times says by how much something is more: "half as much again", "twice as much", "about twenty times as much". x is the
// new amount over the old one, at least 1.
func Times(x float64) string {
	switch {
	case math.IsNaN(x):
		return "cannot tell how much"
	case x < 1.15:
		return "as much"
	case x < 1.4:
		return "a third more"
	case x < 1.75:
		return "half as much again"
	case x < 2.5:
		return "twice as much"
	case x < 12.5:
		return Word(int(math.Round(x))) + " times as much"
	case x < 100:
		return "about " + Rough(math.Round(x/10)*10, 0) + " times as much"
	}
	return "more than a hundred times as much"
}

// sizes are the words for a size and for a depth beside an earlier one, by the largest share that they are right for. The
// steps are as fine as a ruler is: two nurses who measure one wound differ by a tenth and more.
var sizes = []struct {
	upTo       float64
	size, deep string
}{
	{0.005, "closed", "level with the skin"}, {0.1, "nearly closed", "nearly level with the skin"}, {0.2, "a sixth of its size", "a sixth as deep"},
	{0.29, "a quarter of its size", "a quarter as deep"}, {0.42, "a third of its size", "a third as deep"}, {0.58, "half as large", "half as deep"},
	{0.70, "a third smaller", "a third less deep"}, {0.80, "a quarter smaller", "a quarter less deep"}, {0.9, "a little smaller", "a little less deep"},
	{1.1, "the same size", "as deep as then"}, {1.2, "a little larger", "a little deeper"}, {1.4, "a third larger", "a third deeper"},
	{1.7, "half as large again", "half as deep again"}, {2.4, "twice as large", "twice as deep"}, {3.5, "three times as large", "three times as deep"},
}

// Size says how large something is beside what it was: share is the size now over the size then, not negative.
func Size(share float64) string {
	for _, s := range sizes {
		if share <= s.upTo {
			return s.size
		}
	}
	return "many times as large"
}

// Deep says how deep something is beside what it was: share is the depth now over the depth then, not negative.
func Deep(share float64) string {
	for _, s := range sizes {
		if share <= s.upTo {
			return s.deep
		}
	}
	return "many times as deep"
}

// Count says how many: "1 row", "2 rows".
func Count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
