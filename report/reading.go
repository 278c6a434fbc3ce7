package report

import (
	"strings"
	"unicode"
)

// ReadingLevel is how hard a text is to read, by a published formula.
type ReadingLevel struct {
	Words, Sentences, Syllables int
	// Value is a US school grade for English and a score for Spanish, where more is easier.
	Value           float64
	Formula, Source string
}

// Reading measures a text. English: Flesch-Kincaid grade level, 0.39 words/sentences + 11.8 syllables/words - 15.59
// (Kincaid, Fishburne, Rogers and Chissom 1975). Spanish: Fernández Huerta's readability (1959) with words a sentence,
// 206.84 - 60 syllables/words - 1.02 words/sentences; 80 to 90 is "easy".
func Reading(lang, text string) ReadingLevel {
	r := ReadingLevel{}
	syllables := englishSyllables
	if lang == "es" {
		syllables = spanishSyllables
	}
	for _, w := range strings.FieldsFunc(text, func(c rune) bool { return !unicode.IsLetter(c) && c != '\'' && c != '’' }) {
		r.Words++
		r.Syllables += syllables(strings.ToLower(w))
	}
	for _, f := range strings.Fields(text) {
		if strings.ContainsAny(f[len(f)-1:], ".!?") {
			r.Sentences++
		}
	}
	if r.Words == 0 || r.Sentences == 0 {
		return r
	}
	perSentence, perWord := float64(r.Words)/float64(r.Sentences), float64(r.Syllables)/float64(r.Words)
	if lang == "es" {
		r.Value = 206.84 - 60*perWord - 1.02*perSentence
		r.Formula, r.Source = "Fernández Huerta readability, 206.84 - 60 S/W - 1.02 W/Z", "Fernández Huerta 1959, with the sentence term as corrected by later authors (from memory)"
		return r
	}
	r.Value = 0.39*perSentence + 11.8*perWord - 15.59
	r.Formula, r.Source = "Flesch-Kincaid grade level, 0.39 W/Z + 11.8 S/W - 15.59", "Kincaid, Fishburne, Rogers and Chissom 1975"
	return r
}

// englishSyllables counts groups of vowels, without a silent e at the end. Counting by letters is right for most words
// and a little off for some.
func englishSyllables(w string) int {
	w = strings.Trim(w, "'’")
	n, inVowel := 0, false
	for _, c := range w {
		v := strings.ContainsRune("aeiouy", c)
		if v && !inVowel {
			n++
		}
		inVowel = v
	}
	if n > 1 && strings.HasSuffix(w, "e") && !strings.HasSuffix(w, "le") && !strings.HasSuffix(w, "ee") {
		n--
	}
	if n > 1 && strings.HasSuffix(w, "es") && !strings.HasSuffix(w, "ses") && !strings.HasSuffix(w, "ces") && !strings.HasSuffix(w, "ches") && !strings.HasSuffix(w, "ies") {
		n--
	}
	if n > 1 && strings.HasSuffix(w, "ed") && !strings.HasSuffix(w, "ted") && !strings.HasSuffix(w, "ded") {
		n--
	}
	return max(1, n)
}

// spanishSyllables counts vowels, with weak vowels joined to their neighbours: that is how Spanish is divided.
func spanishSyllables(w string) int {
	n := 0
	strong := func(c rune) bool { return strings.ContainsRune("aeoáéíóú", c) }
	weak := func(c rune) bool { return strings.ContainsRune("iuü", c) }
	rs := []rune(w)
letters:
	for i := 0; i < len(rs); i++ {
		// the u of que, qui, gue and gui is not spoken
		if rs[i] == 'u' && i > 0 && i+1 < len(rs) && (rs[i-1] == 'q' || rs[i-1] == 'g') && strings.ContainsRune("eiéí", rs[i+1]) {
			continue
		}
		y := rs[i] == 'y' && (i == len(rs)-1 || i == 0 && len(rs) == 1)
		switch {
		case strong(rs[i]):
			n++
			// a weak vowel behind it belongs to it
			if i+1 < len(rs) && (weak(rs[i+1]) || rs[i+1] == 'y' && i+1 == len(rs)-1) {
				i++
			}
		case weak(rs[i]) || y:
			if i+1 < len(rs) && (strong(rs[i+1]) && !strings.ContainsRune("íú", rs[i+1]) || weak(rs[i+1])) {
				continue // it belongs to the one behind it, which counts
			}
			if i == len(rs)-2 && rs[i+1] == 'y' {
				n++
				break letters // as in muy
			}
			n++
		}
	}
	return max(1, n)
}
