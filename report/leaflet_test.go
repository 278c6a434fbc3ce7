package report

import (
	"math"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/review"
	"lowtide/state"
)

// Every language says everything, with the same places to fill in, and no key is left over.
func TestLeafletIsWhole(t *testing.T) {
	place := regexp.MustCompile(`\{[a-z]+\}`)
	used := map[string]bool{}
	for _, part := range leafletOrder {
		used[part.heading] = true
		for _, k := range part.points {
			used[k] = true
		}
	}
	for k := range leafletWords["en"] {
		used[k] = used[k] || strings.HasPrefix(k, "role.") || slices.Contains([]string{"title", "caution", "page", "of", "call", "set", "set.change", "hour", "hours", "point"}, k)
		if !used[k] {
			t.Errorf("%s is not shown anywhere", k)
		}
	}
	for k := range used {
		for _, lang := range LeafletLanguages {
			w, ok := leafletWords[lang][k]
			if !ok || strings.TrimSpace(w) == "" {
				t.Errorf("%s: %s has no words", lang, k)
			}
			if a, b := place.FindAllString(leafletWords["en"][k], -1), place.FindAllString(w, -1); !slices.Equal(a, b) {
				t.Errorf("%s: %s has places %v, English has %v", lang, k, b, a)
			}
			if lang != "en" && w == leafletWords["en"][k] {
				t.Errorf("%s: %s is still English", lang, k)
			}
		}
	}
	for _, lang := range LeafletLanguages {
		for k := range leafletWords[lang] {
			if !used[k] {
				t.Errorf("%s: %s is in no other language", lang, k)
			}
		}
	}
	for _, role := range []string{"carer", "prescriber", "nurse on call", "pump supplier", "other"} {
		if leafletWords["en"]["role."+role] == "" {
			t.Errorf("role %s has no words", role)
		}
	}
}

// Syllables of words that are divided in dictionaries, and the formulas by hand.
func TestSyllables(t *testing.T) {
	for w, n := range map[string]int{"pump": 1, "dressing": 2, "battery": 3, "little": 2, "wound": 1, "emergency": 4, "pulled": 1, "needed": 2, "make": 1, "tree": 1, "pieces": 2, "takes": 1, "nurse": 1, "nurses": 2, "the": 1} {
		if got := englishSyllables(w); got != n {
			t.Errorf("%s: %d, want %d", w, got, n)
		}
	}
	for w, n := range map[string]int{"bomba": 2, "herida": 3, "aire": 2, "líquido": 3, "día": 2, "sangre": 2, "quite": 2, "noche": 2, "enfermera": 4, "emergencias": 4, "médico": 3, "fiebre": 2, "enseguida": 4, "ciudad": 2, "país": 2, "muy": 1, "y": 1, "agua": 2, "rey": 1, "oído": 3} {
		if got := spanishSyllables(w); got != n {
			t.Errorf("%s: %d, want %d", w, got, n)
		}
	}
	// two sentences, six words of one syllable each
	r := Reading("en", "The pump is on. Call me.")
	if r.Words != 6 || r.Sentences != 2 || r.Syllables != 6 {
		t.Errorf("%+v", r)
	}
	if want := 0.39*3 + 11.8*1 - 15.59; math.Abs(r.Value-want) > 1e-9 {
		t.Errorf("%v, want %v", r.Value, want)
	}
}

// Plain language: at most grade 6 in English (the reading level that the US National Institutes of Health ask for in
// material for patients is 6 to 7; from memory), "easy" or better in Spanish.
func TestLeafletIsEasy(t *testing.T) {
	en, es := Reading("en", LeafletText("en")), Reading("es", LeafletText("es"))
	t.Logf("en %+v", en)
	t.Logf("es %+v", es)
	if en.Value > 6 {
		t.Errorf("grade %.1f", en.Value)
	}
	if es.Value < 80 {
		t.Errorf("score %.1f", es.Value)
	}
}

// Every word of the leaflet beside the counts of an independent tool (npm's syllable 5): single words may differ, the sum
// may not by more than one in fifty, which moves the grade by a quarter.
func TestCheckSyllables(t *testing.T) {
	raw, err := os.ReadFile("testdata/ref/syllable/leaflet.tsv")
	if err != nil {
		t.Fatal(err)
	}
	ours, theirs, words := 0, 0, 0
	for _, line := range strings.Split(strings.TrimSpace(string(raw)), "\n") {
		w, n, ok := strings.Cut(line, "\t")
		count, err := strconv.Atoi(n)
		if !ok || err != nil {
			t.Fatal(line)
		}
		ours += englishSyllables(w)
		theirs += count
		words++
	}
	if words < 150 || math.Abs(float64(ours-theirs)) > float64(theirs)/50 {
		t.Errorf("%d words: %d syllables, the tool counts %d", words, ours, theirs)
	}
}

// A limit of the local protocol is told as it is: whole, halves with the language's own sign, one hour in the singular,
// and never more than it is.
func TestLeafletLimit(t *testing.T) {
	for h, want := range map[float64][2]string{2: {"2 hours", "2 horas"}, 1: {"1 hour ", "1 hora,"}, 1.5: {"1.5 hours", "1,5 horas"}, 1.96: {"1.9 hours", "1,9 horas"}} {
		for i, lang := range LeafletLanguages {
			p, err := Leaflet(Input{Review: &review.Review{State: &state.State{Case: &casebook.Case{Zone: time.UTC}}}}, lang, h)
			if err != nil {
				t.Fatal(err)
			}
			all := ""
			for _, b := range p.Blocks {
				if l, ok := b.(List); ok {
					all += strings.Join(l.Items, " ") + " "
				}
			}
			if !strings.Contains(all, want[i]) || strings.Contains(all, "{") {
				t.Errorf("%s, %g h: %q is not in %s", lang, h, want[i], all)
			}
		}
	}
}
