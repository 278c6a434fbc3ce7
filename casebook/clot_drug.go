package casebook

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// ClotDrugs are beginnings of names of drugs against clotting: group B01A (antithrombotic agents) of the ATC index of the
// WHO Collaborating Centre for Drug Statistics Methodology, by their international names. The groups were read there; the
// names under AC, AE and AF, and all names in other languages than English, are from memory. They stand without accents,
// as a text is read. Trade names are not in it: a text that uses one is not recognised.
var ClotDrugs = []string{
	// AA vitamin K antagonists
	"warfarin", "phenprocoumon", "acenocoumarol", "phenindione", "fluindione", "dicoumarol",
	"varfarin", "fenprocum", "fenprocoum", "acenocumarol", "acenokumarol", "fluindion", "dicumarol", "dikumarol",
	// AB heparins
	"heparin", "dalteparin", "enoxaparin", "nadroparin", "tinzaparin", "certoparin", "reviparin", "bemiparin", "parnaparin", "danaparoid",
	"eparin", "daltheparin", "enoksaparin",
	// AC platelet inhibitors
	"clopidogrel", "prasugrel", "ticagrelor", "ticlopidin", "dipyridamol", "cilostazol", "cangrelor", "eptifibatid", "tirofiban", "abciximab", "acetylsalicylic", "aspirin",
	"klopidogrel", "dipiridamol", "acetilsalicil", "acetylsalicyl", "acetylosalicyl", "acetylsalizyl",
	// AD enzymes
	"alteplas", "tenecteplas", "urokinas", "streptokinas", "reteplas",
	"uroquinas", "estreptoquinas", "streptochinas",
	// AE and AF direct inhibitors
	"dabigatran", "bivalirudin", "argatroban", "rivaroxaban", "apixaban", "edoxaban",
	"rivaroksaban", "apiksaban", "edoksaban",
	// AX others
	"fondaparinux", "defibrotid",
	// and what a note calls them without a name: English, Spanish, Portuguese, French, Italian, German, Dutch, Polish
	"anticoagul", "blood thinner", "thinner", "anticoag", "antiplatelet", "antiagreg", "antiaggreg", "antiplaquet", "antikoagul", "blutverdunn", "gerinnungshemm",
	"antistolling", "bloedverdunn", "antytrombot", "przeciwzakrzep", "rozrzedzaj", "antithromb", "antitromb",
}

// ClotDrugIn returns what the text calls the first of [ClotDrugs] that it names, in small letters, empty when none. A name
// counts at the start of a word, with or without its accents, so that "heparins", "rivaroxabán" and "apixaban5mg" are found
// and "xheparin" is not.
func ClotDrugIn(text string) string {
	text = strings.ToLower(text)
	plain, from := withoutAccents(text)
	at, length := len(plain), 0
	for _, name := range ClotDrugs {
		if i := startOfWord(plain, name); i >= 0 && (i < at || i == at && len(name) > length) {
			at, length = i, len(name)
		}
	}
	if length == 0 {
		return ""
	}
	end := from[at+length]
	for _, r := range text[end:] {
		if !unicode.IsLetter(r) && !unicode.Is(unicode.Mn, r) {
			break
		}
		end += utf8.RuneLen(r)
	}
	return text[from[at]:end]
}

// startOfWord returns where the name first stands in the text with no letter before it, or -1.
func startOfWord(text, name string) int {
	for from := 0; ; {
		i := strings.Index(text[from:], name)
		if i < 0 {
			return -1
		}
		i += from
		if before, _ := utf8.DecodeLastRuneInString(text[:i]); !unicode.IsLetter(before) {
			return i
		}
		from = i + len(name)
	}
}

// withoutAccents returns the text with the accents taken off, and for each of its bytes, and for its end, where it came
// from.
func withoutAccents(text string) (plain string, from []int) {
	var out strings.Builder
	for i, r := range text {
		for _, d := range norm.NFD.String(string(r)) {
			if !unicode.Is(unicode.Mn, d) {
				for range utf8.RuneLen(d) {
					from = append(from, i)
				}
				out.WriteRune(d)
			}
		}
	}
	return out.String(), append(from, len(text))
}
