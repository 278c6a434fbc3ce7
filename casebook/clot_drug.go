package casebook

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// ClotDrugs are names of drugs against clotting: group B01A (antithrombotic agents) of the ATC index of the WHO
// Collaborating Centre for Drug Statistics Methodology, by their international names. The groups were read there; the names
// under AC, AE and AF are from memory. Trade names are not in it: a text that uses one is not recognised.
var ClotDrugs = []string{
	// AA vitamin K antagonists
	"warfarin", "phenprocoumon", "acenocoumarol", "phenindione", "fluindione", "dicoumarol",
	// AB heparins
	"heparin", "dalteparin", "enoxaparin", "nadroparin", "tinzaparin", "certoparin", "reviparin", "bemiparin", "parnaparin", "danaparoid",
	// AC platelet inhibitors
	"clopidogrel", "prasugrel", "ticagrelor", "ticlopidine", "dipyridamole", "cilostazol", "cangrelor", "eptifibatide", "tirofiban", "abciximab", "acetylsalicylic", "aspirin",
	// AD enzymes
	"alteplase", "tenecteplase", "urokinase", "streptokinase", "reteplase",
	// AE and AF direct inhibitors
	"dabigatran", "bivalirudin", "argatroban", "rivaroxaban", "apixaban", "edoxaban",
	// AX others
	"fondaparinux", "defibrotide",
	// and what a note calls them without a name
	"anticoagulant", "anticoagulation", "blood thinner", "thinner",
}

// ClotDrugIn returns the first of [ClotDrugs] that the text names, empty when none. A name counts at the start of a word, so
// that "heparins" and "apixaban5mg" are found and "xheparin" is not.
func ClotDrugIn(text string) string {
	text = strings.ToLower(text)
	best, at := "", len(text)
	for _, name := range ClotDrugs {
		for from := 0; ; {
			i := strings.Index(text[from:], name)
			if i < 0 {
				break
			}
			i += from
			if before, _ := utf8.DecodeLastRuneInString(text[:i]); !unicode.IsLetter(before) {
				if i < at {
					best, at = name, i
				}
				break
			}
			from = i + len(name)
		}
	}
	return best
}
