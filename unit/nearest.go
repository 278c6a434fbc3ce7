package unit

import "strings"

// longestWord bounds the work for a suggestion: no known word is longer.
const longestWord = 48

// Nearest returns the word that was most likely meant, or "" when none is near: equal but for case and
// separators, or at most a third of the letters away.
func Nearest(word string, known []string) string {
	best, bestD := "", 1<<30
	w := Plain(word)
	if w == "" || len(w) > longestWord {
		return ""
	}
	for _, k := range known {
		p := Plain(k)
		if p == w {
			return k
		}
		d := distance(w, p)
		if d < bestD && d <= min(len(w), len(p))/3 {
			best, bestD = k, d
		}
	}
	return best
}

// Plain drops what people vary: case, spaces, underscores, hyphens.
func Plain(s string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case ' ', '_', '-', '.', '/':
			return -1
		}
		return r
	}, strings.ToLower(s))
}

// distance counts the letters to insert, delete, change or swap (restricted Damerau-Levenshtein distance).
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	var before []int
	last := make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		row := make([]int, len(y)+1)
		row[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last = last, row
	}
	return last[len(y)]
}
